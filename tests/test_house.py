"""The house keeps its shape: who imports whom, who prints, how long files are, and what every dependency is for."""
import ast
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "debrief"
ROOMS = ("hearing", "wording", "harvest", "checks", "store", "desk", "archive")
HALL = {"records", "errors", "unseen", "timebase", "units", "session", "session_model", "session_lines", "session_merge", "session_faults",
        "session_cards", "session_template", "session_check", "small_files", "demo_files"}
FILES = sorted(PACKAGE.rglob("*.py"))


def imported_parts(path: Path) -> set[str]:
    """First name below debrief of every import in a file, relative ones resolved."""
    package = path.relative_to(PACKAGE).parts[:-1]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            if node.level:
                base = package[:len(package) - node.level + 1]
                name = (*base, *(node.module or "").split(".")) if node.module else base
                found |= {name[0]} if name and name[0] else {alias.name for alias in node.names}
            elif (node.module or "").startswith("debrief."):
                found.add(node.module.split(".")[1])
        elif isinstance(node, ast.Import):
            found |= {alias.name.split(".")[1] for alias in node.names if alias.name.startswith("debrief.")}
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_room_imports_only_from_rooms_above_it_and_from_the_hall(path):
    room = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    allowed = {name for name in HALL if (PACKAGE / name).exists() or (PACKAGE / f"{name}.py").exists()}
    if room in ROOMS:
        allowed |= set(ROOMS[: ROOMS.index(room) + 1])
    elif room not in HALL:
        return
    assert imported_parts(path) <= allowed | {"__version__"}


def test_the_import_test_sees_imports():
    assert "session" in imported_parts(PACKAGE / "pipeline.py")
    assert "records" in imported_parts(PACKAGE / "harvest" / "talk.py")


def test_hearing_knows_no_lexicon_and_only_whisper_py_imports_the_recogniser():
    recogniser = re.compile(r"^\s*(from|import) (faster_whisper|ctranslate2)", re.M)
    users = [path for path in FILES if recogniser.search(path.read_text("utf-8"))]
    assert {path.name for path in users} <= {"whisper.py", "weigher.py", "together.py"}
    assert not [path for path in (PACKAGE / "hearing").rglob("*.py") if "lexicon" in imported_parts(path)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_stay_under_400_lines(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) < 400


def functions():
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield path, node


def test_no_function_is_longer_than_60_lines():
    long = [f"{path.name}:{node.name}" for path, node in functions() if node.end_lineno - node.body[0].lineno >= 60]
    assert not long


def test_only_the_command_line_prints_and_exits():
    offenders = [path.name for path in FILES if not path.name.startswith("cli") and
                 re.search(r"^\s*(print\(|sys\.exit|typer\.echo)", path.read_text(encoding="utf-8"), re.M)]
    assert not offenders


def test_nothing_in_the_package_opens_the_network_by_itself():
    """The review page binds a socket and a named download is asked for; nothing else may import network clients."""
    allowed = {"models.py", "review_app.py", "workers.py", "cli_review.py"}
    network = re.compile(r"^\s*(import|from) (socket|urllib\.request|http\.client|requests|httpx|aiohttp)", re.M)
    assert not [path.name for path in FILES if path.name not in allowed and network.search(path.read_text("utf-8"))]


def test_every_dependency_earns_its_place_in_one_line():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = [re.split(r"[><=\[ ]", item)[0] for item in project["dependencies"]]
    for extra in project["optional-dependencies"].values():
        names += [re.split(r"[><=\[ ]", item)[0] for item in extra]
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    missing = [name for name in names if not re.search(rf"^\| `{re.escape(name)}` \|", text, re.M)]
    assert not missing


def test_the_repository_has_the_agreed_top_level():
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    build_leftovers = {"dist", "build", "debrief.egg-info"}
    assert names - build_leftovers <= {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "debrief", "lexicon", "tests",
                                       "demo_audio"}
