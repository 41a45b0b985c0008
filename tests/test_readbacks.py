"""Read-backs by meaning: invented pairs, right and wrong, and how a wrong one is put right."""
from dataclasses import replace
from pathlib import Path

import pytest
from test_conversation import spoken

from debrief.checks.readback_check import readback_check
from debrief.checks.review import Review
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session
from debrief.wording.correction import read_as

PAIRS = [tuple(item.strip() for item in line.split("|"))
         for line in (Path(__file__).parent / "golden/readbacks/pairs.txt").read_text(encoding="utf-8").splitlines()
         if line.strip() and not line.startswith("#")]


def talk_of(*lines, session=None):
    """Turns of lines 'Station: words'."""
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in line.split(": ", 1)[1].split()), Source("r1"),
                        speaker=line.split(": ", 1)[0],
                        line_index=i) for i, line in enumerate(lines)]
    session = session or Session()
    return Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, session), session)


def told(*lines):
    return [row for row in harvest(talk_of(*lines)) if row.kind == "readbacks"]


def verdict(said, back):
    rows = told(f"Alder: {said}", f"Birch: {back}")
    return str(rows[0].get("verdict")) if rows else "none"


def test_the_pairs_are_many_and_of_every_sort():
    assert len(PAIRS) >= 40
    assert {pair[0] for pair in PAIRS} == {"right", "wrong", "partial", "none"}


def test_wrong_pairs_are_found_and_right_ones_are_not_accused():
    found = {pair: verdict(*pair[1:]) for pair in PAIRS}
    wrong = [pair for pair in PAIRS if pair[0] == "wrong"]
    fine = [pair for pair in PAIRS if pair[0] != "wrong"]
    missed = [pair for pair in wrong if not found[pair].startswith("wrong")]
    accused = [pair for pair in fine if found[pair].startswith("wrong")]
    assert len(missed) <= 0.1 * len(wrong), missed
    assert len(accused) < 0.1 * len(fine), accused


def test_right_pairs_are_found_and_bare_answers_are_no_pairs():
    found = {pair: verdict(*pair[1:]) for pair in PAIRS}
    right = [pair for pair in PAIRS if pair[0] == "right"]
    assert sum(found[pair] == "right" for pair in right) >= 0.9 * len(right), [p for p in right if found[p] != "right"]
    assert [pair for pair in PAIRS if pair[0] == "none" and found[pair] != "none"] == []
    assert [pair for pair in PAIRS if pair[0] == "partial" and found[pair] != "partial"] == []


def test_a_wrong_read_back_is_put_right_by_the_one_who_said_it():
    row, again = told("Alder: Suit at three point five.", "Birch: Copy, five point three.", "Alder: Negative, three point five.",
                      "Birch: Three point five, roger.")
    assert (row.get("match"), row.get("corrected"), row.get("verdict")) == (False, True, "wrong, then corrected by Alder")
    assert [part.role for part in row.evidence] == ["read back", "said", "correction"]
    assert (again.get("match"), again.get("said_line"), again.get("readback_line")) == (True, 2, 3)


def test_a_wrong_read_back_that_nobody_corrects_stands():
    row, = told("Alder: Load is two point three tonnes.", "Birch: Three point two, thank you.", "Birch: Ready for card two.")
    assert (row.get("match"), row.get("corrected"), row.get("verdict")) == (False, False, "wrong")


def test_one_station_alone_reads_nothing_back():
    assert told("Alder: Load is two point three tonnes.", "Alder: Two point three.") == []


def test_the_check_tells_what_is_wrong_and_leaves_right_ones_alone():
    talk = talk_of("Alder: Load is two point three tonnes.", "Birch: Three point two, thank you.", "Alder: Depth is eleven metres.",
                   "Birch: Eleven metres, copy.")
    rows = tuple(harvest(talk))
    found = readback_check(Review(rows, talk))
    assert [result.says for result in found.results] == ["wrong: 3.2 for 2.3 t"]
    assert [result.serious for result in found.results] == [True]
    assert [rows[i].kind for i in found.changed] == ["readbacks"]


@pytest.mark.parametrize(("behind", "pairs"), [("Thank you.", ["wrong"]), ("At the stern.", [])])
def test_thanks_behind_a_changed_value_take_it_for_read_back(behind, pairs):
    segments = [replace(segment, segment=f"r1.0.{i:06d}") for i, segment in enumerate([
        *spoken("Peak at the bow is eight point four g."), *spoken(f"Four point eight g. {behind}", start_s=4.0)])]
    talk = Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, Session()), Session())
    assert [row.get("verdict") for row in harvest(talk) if row.kind == "readbacks"] == pairs


def test_no_talk_no_read_backs():
    assert told() == []


@pytest.mark.parametrize("form", ["Copy.", "Roger, thank you."])
def test_values_given_by_name_and_only_acknowledged_are_told(form):
    session = Session.model_validate({"stations": [{"name": "Alder"}, {"name": "Birch"}]})
    talk = talk_of("Alder: Birch, Alder, main bank pressure is one nine five bar.", f"Birch: {form}", session=session)
    found = readback_check(Review(tuple(harvest(talk)), talk))
    assert [result.says for result in found.results] == ["acknowledged by Birch without being read back"]


OTHER = [tuple(item.strip() for item in line.split("|"))
         for line in (Path(__file__).parent / "golden/readbacks/other_trades.txt").read_text(encoding="utf-8").splitlines()
         if line.strip() and not line.startswith("#")]


def found_wrong(said, back):
    """Whether the check tells of a wrong read-back."""
    talk = talk_of(f"Alder: {said}", f"Birch: {back}")
    return any(result.serious for result in readback_check(Review(tuple(harvest(talk)), talk)).results)


def test_pairs_of_ten_other_trades_are_judged_as_well():
    wrong, fine = [p for p in (*OTHER, *PAIRS) if p[0] == "wrong"], [p for p in (*OTHER, *PAIRS) if p[0] != "wrong"]
    missed = [pair for pair in wrong if not found_wrong(*pair[1:])]
    accused = [pair for pair in fine if found_wrong(*pair[1:])]
    assert len(wrong) + len(fine) >= 80
    assert len(missed) <= 0.1 * len(wrong), missed
    assert len(accused) < 0.1 * len(fine), accused


def test_signs_changed_about_are_a_wrong_read_back():
    assert verdict("Weight is 212,400, trims pitch plus 0.4, left yaw minus 5.7, right yaw 5.7.",
                   "Weight 212,400, pitch 0.4, left yaw 5.7, right yaw minus 5.7.").startswith("wrong")
    assert verdict("Trims left yaw minus 5.7, right yaw 5.7.", "Left yaw minus 5.7, right yaw 5.7.") == "right"


def test_who_is_ready_to_copy_reads_nothing_back():
    assert told("Base: Osprey, Base, with your numbers when you're ready.", "Birch: Ready to copy.") == []
