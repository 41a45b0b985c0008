"""The words people see: the table in DEVELOPERS.md holds exactly those that the program shows, each with its source in the trade or 'ours'."""
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
import typer

from debrief.checks.registry import CHECKS
from debrief.cli import app
from debrief.demo_files import demo_folder
from debrief.desk.columns import columns_of
from debrief.pipeline import harvest_transcripts
from debrief.records.kinds import KINDS, WORDS
from debrief.records.rows import Certainty, Origin, Role
from debrief.records.sound import Account
from debrief.session import load_session

ROOT = Path(__file__).resolve().parent.parent
TEMPLATES = sorted((ROOT / "debrief").rglob("templates/*.html"))
HEADED = re.compile(r"<(h[1-4]|button|th|label|summary|legend|option|a)\b[^<>]*>(?P<text>[^<>{}]*[A-Za-z][^<>{}]*)</\1>")
TITLED = re.compile(r"(?:grouped|listed)\('(?P<text>[^']+)'")


def commands(command: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    if hasattr(command, "commands"):
        for sub, inner in command.commands.items():
            yield from commands(inner, f"{name} {sub}".strip())
    else:
        yield name, command


def shown() -> dict[str, set[str]]:
    """Every word the program shows, by where it is shown."""
    verbs = dict(commands(typer.main.get_command(app)))
    options = {name for verb in verbs.values() for item in verb.params for name in (*item.opts, *item.secondary_opts) if name.startswith("--")}
    texts = "".join(path.read_text(encoding="utf-8") for path in TEMPLATES)
    headings = {" ".join(match["text"].split()) for pattern in (HEADED, TITLED) for match in pattern.finditer(texts)}
    return {"command": set(verbs), "option": options - {"--help"}, "table": {kind.title for kind in KINDS.values()},
            "column": {column.name for table in KINDS for column in columns_of(table)},
            "state": {word for words in WORDS.values() for word in words} | set(get_args(Certainty)) | set(get_args(Origin))
            | set(get_args(Account)), "evidence": set(get_args(Role)), "check": {check.name for check in CHECKS}, "heading": headings}


def listed() -> dict[str, list[str]]:
    """The table of DEVELOPERS.md: where -> its words, in code marks."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("\n## Words people see\n")[1].split("\n## ")[0]
    found: dict[str, list[str]] = {}
    for where, words, source in re.findall(r"^\| (\w+) \| (.+?) \| (.+?) \|$", section, re.M):
        if where != "where":
            assert source.strip(), words
            found.setdefault(where, []).extend(re.findall(r"`([^`]+)`", words))
    return found


@pytest.mark.parametrize("where", sorted(shown()))
def test_the_table_of_words_equals_the_code(where):
    table = listed().get(where, [])
    assert {"not in DEVELOPERS.md": sorted(shown()[where] - set(table)), "not in the program": sorted(set(table) - shown()[where])} == {
        "not in DEVELOPERS.md": [], "not in the program": []}
    assert len(table) == len(set(table))


def test_closed_columns_hold_only_their_words(tmp_path):
    said = tmp_path / "said.jsonl"
    lines = [json.loads(line) for line in (demo_folder() / "truth.jsonl").read_text(encoding="utf-8").splitlines()]
    said.write_text("".join(json.dumps({key: line[key] for key in ("start_s", "end_s", "loop", "text")}) + "\n" for line in lines), encoding="utf-8")
    rows = harvest_transcripts([str(said)], load_session(demo_folder())[0], tmp_path / "out", demo_folder())
    seen = set()
    for place, words in WORDS.items():
        table, column = place.split(".")
        values = [str(row.get(column)) for row in rows if row.kind == table and row.get(column)]
        assert all(value in words or value.startswith("wrong, then corrected by ") for value in values), place
        seen |= {place} if values else set()
    assert len(seen) > 8
