"""Are there known faults in the locked versions? Asks pip-audit, and says loudly which packages nobody could be asked about.

    python .ci/audit.py        in an environment that holds pip-audit; --help for more

pip-audit calls a list free of faults whose packages its source does not know at all, as behind a mirror without advisories. Here only a
package that was answered for counts as asked. Ends with 1 for a fault that nothing below explains, with 0 for none, also where none could
be asked about: then the lines at the end say so, and the same command belongs on a machine that reaches an advisory source.
"""
import argparse
import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

EXPLAINED: dict[str, str] = {}
"""Advisory -> why it does not reach anybody who uses this program."""
SOURCES = ("pypi", "osv")


@dataclass
class Found:
    """asked: packages that a source answered for; faults: (package, version, advisory, versions that mend it)."""

    asked: set[str] = field(default_factory=set)
    faults: set[tuple[str, str, str, str]] = field(default_factory=set)

    def add(self, report: str) -> None:
        """What a report of pip-audit in JSON says; one that is none says nothing."""
        try:
            packages = json.loads(report)["dependencies"]
        except (ValueError, KeyError, TypeError):
            return
        for item in packages:
            if "vulns" in item:
                self.asked.add(item["name"])
                self.faults |= {(item["name"], item["version"], fault["id"], ", ".join(fault["fix_versions"]) or "none yet") for fault in item["vulns"]}


def verdict(found: Found, packages: set[str]) -> tuple[int, list[str]]:
    """(exit code, lines to print) for what was found about the packages of the lock."""
    lines, code = [], 0
    for name, version, advisory, mended in sorted(found.faults):
        why = EXPLAINED.get(advisory)
        code = code if why else 1
        lines.append(f"{name} {version}: {advisory}, mended in {mended}" + (f" (explained: {why})" if why else ""))
    silent = sorted(packages - found.asked)
    if silent:
        lines += ["!" * 78, f"!! KNOWN FAULTS NOT ASKED ABOUT: {len(silent)} of {len(packages)} packages; no advisory source answered for",
                  f"!! {', '.join(silent[:6])}{' ...' if len(silent) > 6 else ''}. Run .ci/audit.py where one can be reached.", "!" * 78]
    lines.append(f"{len(found.asked)} of {len(packages)} packages asked about, {len(found.faults)} known faults")
    return code, lines


def ask(lock: Path, source: str, limit_s: int) -> str:
    """The report of one source; empty where it cannot be had."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.json"
        command = [sys.executable, "-m", "pip_audit", "--vulnerability-service", source, "--requirement", str(lock), "--no-deps", "--disable-pip",
                   "--format", "json", "--output", str(report), "--progress-spinner", "off", "--timeout", "10"]
        try:
            ended = subprocess.run(command, capture_output=True, text=True, check=False, timeout=limit_s)
        except subprocess.TimeoutExpired:
            print(f"{source}: no answer within {limit_s} s")
            return ""
        if report.exists():
            return report.read_text(encoding="utf-8")
        print(f"{source}: {(ended.stderr.strip().splitlines() or ['no report'])[-1][:200]}")
        return ""


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--lock", type=Path, default=Path(__file__).with_name("lock.txt"))
    given.add_argument("--limit", type=int, default=120, help="seconds granted to each source")
    options = given.parse_args()
    packages = {line.split("==")[0] for line in options.lock.read_text(encoding="utf-8").splitlines() if "==" in line}
    found = Found()
    for source in SOURCES:
        if packages - found.asked:
            found.add(ask(options.lock, source, options.limit))
    code, lines = verdict(found, packages)
    print("\n".join(lines), flush=True)
    sys.exit(code)


if __name__ == "__main__":
    main()
