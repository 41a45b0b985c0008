"""The lexicon verbs: what they print."""
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from debrief.cli_lexicon import explain, lexicon_app
from debrief.errors import LexiconError
from debrief.records.sound import Segment, Word
from debrief.session import Session
from debrief.wording.lexicon import load_lexicon
from debrief.wording.proposals import propose
from debrief.wording.vocabulary import build_vocabulary

PLAN = Session.model_validate({"stations": [{"name": "Lodestar"}], "lexicon": ["diving"]})


def test_check_counts_the_terms_of_every_pack():
    result = CliRunner().invoke(lexicon_app, ["check"])
    assert result.exit_code == 0
    names = [line.split(":")[0] for line in result.output.splitlines()]
    assert names == ["core", "diving", "flight_test", "spaceflight_history", "suit_trial"]


def test_check_raises_every_fault(tmp_path: Path):
    bad = tmp_path / "mine.toml"
    bad.write_text('pack.name = "mine"\npack.about = "x"\nparts = [\n  { term = "a", source = "gone" },\n]\n', encoding="utf-8")
    result = CliRunner().invoke(lexicon_app, ["check", str(bad)])
    assert isinstance(result.exception, LexiconError)
    assert "line 4 mine.toml parts[0]: source 'gone' does not stand under [sources]" in str(result.exception)


def test_why_tells_what_was_done_and_what_was_not():
    lines = explain("Low star, the net ring and the nick ram", PLAN, None)
    assert lines[0] == "packs that speak here: core, diving"
    assert lines[1].startswith("read as: ")
    assert "  'net ring' read as 'neck ring': listed as a sound-alike, from the pack diving, part of it was heard" in lines
    assert any(line.startswith("  not done: ") for line in lines)
    assert explain("And so.", PLAN, None)[-1] == "  nothing here sounds like a term that is not written already"


def test_propose_prints_lines_for_a_pack(tmp_path: Path):
    talk = tmp_path / "talk.jsonl"
    talk.write_text("".join(json.dumps({"t": i, "speaker": "A", "text": "The zorbex holds."}) + "\n" for i in range(3)), encoding="utf-8")
    result = CliRunner().invoke(lexicon_app, ["propose", str(talk)])
    entry = '{ term = "zorbex", source = "common" },'
    assert f"   3  {entry}  # a rare word, said often, that no pack or plan has" in result.output.splitlines()


@pytest.mark.parametrize(("fixes", "terms"), [
    ([], []),
    ([("zor beck", "zorbex")], []),
    ([("zor beck", "zorbex"), ("Zor beck", "Zorbex")],
     [("zorbex", 2, '{ term = "zorbex", source = "common", sound_alikes = ["zor beck"] },')]),
    ([("for", "four"), ("for", "four")], []),
])
def test_fixes_of_people_that_recur_are_proposed_and_numbers_never(fixes, terms):
    segments = [Segment("s", (Word("nothing"), Word("here")))]
    found = propose(segments, build_vocabulary(load_lexicon(), PLAN), fixes)
    assert [(item.term, item.count, item.entry) for item in found] == terms
