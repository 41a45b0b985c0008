"""What the program is made from and what it reaches: locked versions, no code from data, weights by digest, no network while it runs."""
import ast
import importlib.util
import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from killing import small_session
from packaging.requirements import Requirement

from debrief.errors import ModelError
from debrief.hearing.models import BASE_FILES, REQUIREMENTS, find_model

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = sorted((ROOT / "debrief").rglob("*.py"))
FORBIDDEN_MODULES = {"pickle", "cPickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "torch", "code", "codeop", "ctypes"}
FORBIDDEN_CALLS = {"eval", "exec", "compile", "__import__"}
STARTS_PROGRAMS = {"models.py"}
"""Only pip is started, with a fixed command, when a person asks for weights."""


def locked() -> dict[str, str]:
    lines = (ROOT / ".ci" / "lock.txt").read_text(encoding="utf-8").splitlines()
    return dict(line.split("==") for line in lines if not line.startswith("#"))


def test_every_dependency_has_a_range_and_a_locked_version_within_it():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [Requirement(text) for text in (*project["dependencies"], *(item for name in ("test", "lint")
                                                                         for item in project["optional-dependencies"][name]))]
    assert len(wanted) > 20
    versions = locked()
    for item in wanted:
        assert item.specifier, f"{item.name} has no range"
        assert item.specifier.contains(versions[item.name.lower()]), f"{item.name} {versions[item.name.lower()]} is not within {item.specifier}"
    assert all(re.fullmatch(r"[0-9][0-9A-Za-z.+]*", version) for version in versions.values())


@pytest.fixture(scope="module")
def audit():
    spec = importlib.util.spec_from_file_location("audit", ROOT / ".ci" / "audit.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules["audit"] = module
    spec.loader.exec_module(module)
    return module


FAULT = {"id": "PYSEC-0000-1", "fix_versions": ["2.1"], "aliases": [], "description": ""}


@pytest.mark.parametrize(("packages", "explained", "code", "says"), [
    ([{"name": "a", "version": "2.0", "vulns": []}, {"name": "b", "version": "1", "vulns": []}], {}, 0, "2 of 2 packages asked about, 0 known faults"),
    ([{"name": "a", "version": "2.0", "vulns": [FAULT]}, {"name": "b", "version": "1", "vulns": []}], {}, 1, "a 2.0: PYSEC-0000-1, mended in 2.1"),
    ([{"name": "a", "version": "2.0", "vulns": [FAULT]}, {"name": "b", "version": "1", "vulns": []}], {"PYSEC-0000-1": "never called"}, 0,
     "a 2.0: PYSEC-0000-1, mended in 2.1 (explained: never called)"),
    ([{"name": "a", "skip_reason": "not found"}, {"name": "b", "version": "1", "vulns": []}], {}, 0,
     "!! KNOWN FAULTS NOT ASKED ABOUT: 1 of 2 packages; no advisory source answered for"),
    (None, {}, 0, "!! KNOWN FAULTS NOT ASKED ABOUT: 2 of 2 packages; no advisory source answered for")])
def test_a_package_nobody_was_asked_about_is_not_called_free_of_faults(audit, monkeypatch, packages, explained, code, says):
    monkeypatch.setattr(audit, "EXPLAINED", explained)
    found = audit.Found()
    found.add("" if packages is None else json.dumps({"dependencies": packages, "fixes": []}))
    told = audit.verdict(found, {"a", "b"})
    assert told[0] == code
    assert says in told[1]


def imports_and_calls(path: Path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name.split(".")[0], "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield (node.module or "").split(".")[0], ""
        elif isinstance(node, ast.Call):
            called = node.func.id if isinstance(node.func, ast.Name) else ""
            keywords = {word.arg: getattr(word.value, "value", None) for word in node.keywords}
            yield "", called if not keywords.get("allow_pickle") and not keywords.get("shell") else "unsafe keyword"


@pytest.mark.parametrize("path", PACKAGE, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_code_comes_from_data(path):
    for module, called in imports_and_calls(path):
        assert module not in FORBIDDEN_MODULES
        assert called not in FORBIDDEN_CALLS | {"unsafe keyword"}
        assert module != "subprocess" or path.name in STARTS_PROGRAMS


def test_the_scan_sees_what_it_forbids(tmp_path):
    (tmp_path / "bad.py").write_text("import pickle\nfrom marshal import loads\neval('1')\nnp.load(x, allow_pickle=True)\nrun('x', shell=True)\n")
    assert set(imports_and_calls(tmp_path / "bad.py")) == {("pickle", ""), ("marshal", ""), ("", "eval"), ("", "unsafe keyword")}


def test_weights_come_by_digest_from_a_file_that_lies_in_the_package():
    text = REQUIREMENTS.read_text(encoding="utf-8")
    pins = [line for line in text.splitlines() if "==" in line]
    assert pins
    assert all("--hash=sha256:" in line or line.rstrip().endswith("\\") for line in pins)
    assert all(re.fullmatch(r"[0-9a-f]{63,64}", digest) for digest in BASE_FILES.values())


WATCHED = """
import socket, sys
def watch(event, arguments):
    if event in ("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto"):
        print("REACHED", event, arguments[-1:], file=sys.stderr, flush=True)
        raise OSError("no network here")
    if event == "socket.__new__" and arguments[1] in (socket.AF_INET, socket.AF_INET6):
        print("REACHED", event, arguments[1:], file=sys.stderr, flush=True)
        raise OSError("no network here")
sys.addaudithook(watch)
"""


def watched(*arguments: str, before: str = "") -> "subprocess.CompletedProcess[str]":
    """The command line in a process in which every internet socket is refused and told."""
    program = f"{WATCHED}\n{before}\nfrom debrief import cli\nsys.argv = {['debrief', *arguments]!r}\ncli.main()"
    return subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=300)


def test_the_watch_sees_a_socket():
    ended = watched("--help", before="socket.create_connection(('localhost', 9))")
    assert "REACHED" in ended.stderr
    assert ended.returncode


def test_reading_a_transcript_opens_no_socket(tmp_path):
    (tmp_path / "talk.jsonl").write_text(json.dumps({"t": 1, "speaker": "A", "text": "Tank pressure is five bar."}) + "\n", encoding="utf-8")
    ended = watched("harvest", str(tmp_path / "talk.jsonl"), "--out", str(tmp_path / "out"))
    assert (ended.returncode, "REACHED" in ended.stderr) == (0, False), ended.stderr
    assert "5" in (tmp_path / "out" / "readouts.csv").read_text(encoding="utf-8")


@pytest.mark.model
def test_hearing_opens_no_socket(tmp_path):
    """With the real weights where they are, else with the steady recogniser."""
    small_session(tmp_path / "session", seconds=12, first_sheet=False)
    before = ""
    try:
        find_model()
    except ModelError:
        before = (f"sys.path.insert(0, {str(Path(__file__).parent)!r})\nfrom steady_recogniser import SteadyRecogniser\n"
                  "from debrief.hearing import models\nmodels.load_recogniser = lambda *_, **__: SteadyRecogniser()")
    ended = watched("run", str(tmp_path / "session"), "--out", str(tmp_path / "out"), "--questions", "1", before=before)
    assert (ended.returncode, "REACHED" in ended.stderr) == (0, False), ended.stderr
    assert (tmp_path / "out" / "sheet.html").exists()
