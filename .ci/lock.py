"""Writes .ci/lock.txt: the exact versions of everything that the tests of this environment were run with, as constraints for pip.

    python .ci/lock.py        in an environment in which all tests pass

Only what the project needs, directly or through others, is listed; pyproject.toml keeps the ranges that users get.
"""
import tomllib
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

EXTRAS = ("test", "lint")
ALSO = ("pandas-stubs",)


def needed() -> dict[str, str]:
    """Name -> version of the project's dependencies, all the way down."""
    found: dict[str, str] = {}
    project = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    own = [*project["dependencies"], *(text for name in EXTRAS for text in project["optional-dependencies"][name]), *ALSO]
    waiting = [Requirement(text) for text in own]
    while waiting:
        wanted = waiting.pop()
        name = wanted.name.lower().replace("_", "-")
        extras = wanted.extras or {""}
        if wanted.marker and not any(wanted.marker.evaluate({"extra": extra}) for extra in ("", *EXTRAS)):
            continue
        try:
            known = distribution(name)
        except PackageNotFoundError:
            continue
        if name not in found:
            found[name] = known.version
            waiting += [item for item in map(Requirement, known.requires or ())
                        if not item.marker or any(item.marker.evaluate({"extra": extra}) for extra in extras)]
    return dict(sorted(found.items()))


if __name__ == "__main__":
    head = "# The versions that the tests were last run with; written by .ci/lock.py, used by .ci/run as constraints.\n"
    Path(__file__).with_name("lock.txt").write_text(head + "".join(f"{name}=={version}\n" for name, version in needed().items()), encoding="utf-8")
