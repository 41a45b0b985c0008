"""Questions for the second pass and what their answers change."""
from dataclasses import replace
from decimal import Decimal

import pytest

from debrief.harvest.answers import AGREED, MARGIN, OWN_MARGIN, RULE, decide, frame_of, reread, with_witnesses
from debrief.harvest.conversation import cut_turns
from debrief.harvest.pieces import pieces_of
from debrief.harvest.questions import MOST_CANDIDATES, ask, value_of
from debrief.harvest.talk import Talk
from debrief.hearing.recogniser import Weighed
from debrief.records.questions import Question
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session
from debrief.timebase import Span
from debrief.wording.correction import corrector_for, read_as
from debrief.wording.lexicon import load_lexicon
from debrief.wording.say_numbers import cardinal, ways_to_say

SOURCE = Source("r1", 0)
PLAN = Session.model_validate({
    "loops": [{"name": "Bench"}],
    "stations": [{"name": "Harbour"}, {"name": "Marlin", "rates": True}],
    "scales": [{"name": "feel", "low": 1, "high": 5}],
    "cards": [{"id": "1", "title": "Mooring", "steps": [{"id": "1a", "text": "slack away"}],
               "ratings": [{"axes": ["rudder feel"], "scale": "feel", "by": ["Marlin"]}],
               "readouts": [{"what": "bollard load", "unit": "t"}]}],
})


def segment(number: int, start_s: float, text: str) -> Segment:
    words = tuple(Word(word, Span.of_seconds(start_s + i * 0.4, start_s + i * 0.4 + 0.35), 0.5) for i, word in enumerate(text.split()))
    return Segment(f"r1.0.{number:06d}", words, SOURCE, Span.of_seconds(start_s, start_s + 0.4 * len(words)))


def talk_of(*lines: str):
    segments = [segment(i, 6.0 * i, line) for i, line in enumerate(lines)]
    corrector = corrector_for(segments, PLAN)
    tokens = {item.segment: read_as(item, corrector) for item in segments}
    return Talk(cut_turns(segments, tokens, PLAN), PLAN), tokens, corrector


def asked(*lines: str) -> tuple[Question, ...]:
    talk, _, corrector = talk_of(*lines)
    return ask(talk, load_lexicon(), corrector)


def values_for(heard: str, *lines: str) -> set[str]:
    return {value for question in asked(*lines) if heard in question.heard for value in question.values}


@pytest.mark.parametrize(("lines", "heard", "value"), [
    (["Bollard load 1, 0.40 on the gauge now."], "Bollard", "104"),
    (["Bollard load is five point two tonnes."], "Bollard", "9.2"),
    (["Back up to zero eight."], "Back", "208"),
    (["Rudder eel the corner four."], "Rudder", "5"),
    (["Set the winch to 45 please.", "Copy, 49 on the winch."], "Copy", "45"),
    (["Go no go for slack away, Marlin.", "Marlin is gold."], "gold", "no go"),
])
def test_the_true_value_stands_among_the_candidates(lines, heard, value):
    assert value in values_for(heard, *lines)


def test_a_question_has_sound_values_and_who_asks():
    question = next(q for q in asked("Bollard load is five point two tonnes.") if q.kind == "readouts")
    assert question.source == SOURCE
    assert 0 < question.span.duration_s < 15
    assert len(question.candidates) == len(question.values) == len(set(question.candidates)) <= MOST_CANDIDATES
    assert question.values == tuple(value_of(text) for text in question.candidates)
    assert "the heard frame with other digits" in question.asked_by
    assert question.heard not in question.candidates


def test_no_number_is_asked_about_without_a_frame_and_no_talk_gives_no_question():
    assert asked() == ()
    assert all("heard frame" not in question.asked_by for question in asked("14."))
    assert ask(Talk((), PLAN), load_lexicon(), talk_of("x")[2]) == ()


def test_a_budget_keeps_the_worthiest():
    talk, _, corrector = talk_of("Bollard load is 14.", "The neck rings", "Rudder feel is a three.")
    every = ask(talk, load_lexicon(), corrector)
    assert ask(talk, load_lexicon(), corrector, 1) == every[:1]
    assert every[0].kind in ("readouts", "ratings")


def test_pieces_hold_every_word_once_and_never_cut_a_number():
    talk, _, _ = talk_of("Bollard load is one hundred forty. Rudder feel, a three, and the rest is fine over here now. Slack away.")
    held = [(piece.turn.index, i) for piece in pieces_of(talk) for i in range(piece.start, piece.end)]
    assert held == [(turn.index, i) for turn in talk.turns for i in range(len(turn.tokens))]
    assert sum(len(piece.numbers) for piece in pieces_of(talk)) == sum(map(len, talk.numbers))


def test_ways_to_say_a_number():
    assert ways_to_say("3.49") == ("three point four nine",)
    assert ways_to_say("115") == ("one one five", "one hundred fifteen", "one fifteen")
    assert ways_to_say("014") == ("zero one four",)
    assert ways_to_say("-2") == ("minus two",)
    assert ways_to_say("two") == ()
    assert cardinal(120_340) == "one hundred twenty thousand three hundred forty"


# Answers ------------------------------------------------------------------------------------------------------------------

def question(*texts: str, heard: str = "Load is 14.") -> Question:
    return Question("r1.0.000000.0", SOURCE, Span.of_seconds(0, 2), "readouts", texts, tuple(map(value_of, texts)), heard, "a test")


def weighed(*sums: float) -> Weighed:
    return Weighed(sums[:-1], sums[-1], sums, (0.0,) * len(sums))


def test_frames_leave_numbers_out():
    assert frame_of("Load is one four, over.") == frame_of("load is 14 over") == "load is # over"


@pytest.mark.parametrize(("sums", "best", "margin"), [
    ((-5.0, -9.0, -8.0), 0, 3.0),       # another value, better than heard and than any third by more than the margin
    ((-7.0, -9.0, -8.0), None, -1.0),   # better, but not by enough: what was heard stands, against a better value
    ((-9.0, -9.5, -5.0), None, 4.0),    # what was heard is best
    ((-5.0, -5.5, -8.0), None, -3.0),   # two others too close to one another
])
def test_values_inside_a_heard_frame(sums, best, margin):
    answer = decide(question("Load is 40.", "Load is 44."), weighed(*sums))
    assert (answer.best, answer.margin) == (best, margin)


def test_another_wording_with_another_value_needs_more():
    ask_it = question("Bollard load 40.")
    assert decide(ask_it, weighed(-8.0 + RULE.frame_gain - 0.1, -8.0)).best is None
    assert decide(ask_it, weighed(-8.0 + RULE.frame_gain + 0.1, -8.0)).best == 0


def test_another_wording_with_the_same_value_needs_less():
    assert decide(question("Bollard load 14."), weighed(-8.0 + RULE.words_gain, -8.0)).best == 0


def test_accepted_words_replace_those_heard_and_keep_them():
    _, tokens, _ = talk_of("Load is 14 tonnes.")
    ask_it = replace(question("Load is four zero tonnes.", heard="Load is 14 tonnes."), span=Span.of_seconds(0, 1.7))
    new = reread(tokens, [ask_it], [decide(ask_it, weighed(-1.0, -9.0))])["r1.0.000000"]
    assert [(t.text, t.heard) for t in new] == [("Load", "Load"), ("is", "is"), ("four", "14"), ("zero", ""), ("tonnes.", "tonnes.")]
    assert new[2].why == "weighed against the sound: a test; margin 8.0"
    assert [(t.span.start, t.span.end) for t in new[2:4] if t.span] == [(12800, 15600), (15600, 18400)]
    assert reread(tokens, [ask_it], [decide(ask_it, weighed(-9.0, -1.0))]) == {name: tuple(row) for name, row in tokens.items()}


def row(span: Span) -> Row:
    return Row("readouts", {"value": Field(Decimal(40))}, (Part("value", "40", source=SOURCE, span=span),))


def two_numbers(value: int) -> Row:
    return Row("readouts", {"value": Field(Decimal(value))}, (Part("value", str(value), source=SOURCE, span=Span.of_seconds(0.5, 1)),))


def test_each_number_of_a_piece_has_its_own_margin():
    ask_it = question("Load is 40 at 12.", "Load is 14 at 17.", "Load is 16 at 17.", heard="Load is 14 at 12.")
    answer = decide(ask_it, weighed(-9.0, -6.0, -4.5, -5.0))
    own = [row.witnesses.get(OWN_MARGIN) for row in with_witnesses([two_numbers(14), two_numbers(12), two_numbers(99)], [ask_it], [answer])]
    assert own == [4.0, 1.0, None]  # against 40 at 12; against 14 at 17; not a number of this piece


def test_a_number_that_the_sound_speaks_against_has_a_margin_below_nothing():
    ask_it = question("Load is 40.", heard="Load is 14.")
    (seen,) = with_witnesses([two_numbers(14)], [ask_it], [decide(ask_it, weighed(-4.5, -5.0))])
    assert seen.witnesses[OWN_MARGIN] == -0.5


def test_a_rating_of_two_things_is_asked_about_in_the_plural_and_words_like_digits_as_the_digits_they_are():
    assert any("threes" in text for question in asked("Rudder feel is both three.") for text in question.candidates)
    assert any("three point four nine" in text for question in asked("Bollard load three point for nine.") for text in question.candidates)


def test_rows_are_told_the_margin_and_whether_free_hearing_agreed():
    here = Span.of_seconds(0.5, 1)
    same = question("Load is 40.", "Load is 44.")
    (seen,) = with_witnesses([row(here)], [same], [decide(same, weighed(-1.0, -9.0, -8.0))])
    assert seen.witnesses == {MARGIN: 7.0, OWN_MARGIN: 7.0, AGREED: 0.5}
    assert seen.doubt == ()
    other = question("pressure holds at 40.", heard="Fresh her Old Sat.")
    (seen,) = with_witnesses([row(here)], [other], [decide(other, weighed(-1.0, -19.0))])
    assert seen.witnesses[AGREED] == 0.0
    assert seen.doubt == ("weighing alone heard it: its frame was not heard freely",)
    assert seen.certainty == "doubtful"
    kept = row(Span.of_seconds(9, 10))
    assert with_witnesses([kept], [same], [decide(same, weighed(-1.0, -9.0, -8.0))]) == [kept]
