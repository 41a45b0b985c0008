"""Certainty: witnesses kept apart, no sound no 'repeated', and questions for the crew."""
from dataclasses import replace
from decimal import Decimal

from debrief.checks.certainty import NO_SOUND, calibration, certainty, witness_numbers
from debrief.checks.crew_questions import crew_questions
from debrief.checks.review import Review
from debrief.harvest.talk import Talk
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Source
from debrief.timebase import Span


def readout(turn, value, *, probability=None, margin=None, level="clear", at_s=None):
    at_s = 10.0 * turn if at_s is None else at_s
    where = Part("value", str(value), source=Source("r1"), span=Span.of_seconds(at_s, at_s + 1), start_s=at_s)
    fields = {"parameter": Field("hoist load"), "value": Field(Decimal(str(value)), certainty=level), "unit": Field("kN")}
    witnesses = {name: item for name, item in (("word probability", probability), ("weighing margin", margin)) if item is not None}
    return Row("readouts", fields, (where,), turn=turn, witnesses=witnesses)


def judged(*rows, sound=True):
    found = certainty(Review(rows, Talk(()), sound=sound))
    return [found.changed.get(position, row) for position, row in enumerate(rows)]


def test_a_text_row_is_at_best_clear_however_often_repeated_and_says_that_no_sound_stands_behind_it():
    one, two = judged(readout(1, 5), readout(2, 5), sound=False)
    assert {one.certainty, two.certainty} == {"clear"}
    assert one.witnesses["sound"] == NO_SOUND


def test_a_value_heard_well_in_two_turns_is_repeated_and_says_how_often():
    one, two = judged(readout(1, 5, probability=0.99), readout(2, 5, probability=0.98))
    assert one.fields["value"].certainty == two.fields["value"].certainty == "repeated"
    assert one.fields["value"].why == ("the same value in 1 other turn",)


def test_the_same_sound_twice_is_no_repetition():
    one, two = judged(readout(1, 5, probability=0.99, at_s=10), readout(2, 5, probability=0.99, at_s=10.4))
    assert "repeated" not in {one.certainty, two.certainty}


def test_a_badly_heard_value_is_doubtful_and_says_why():
    (row,) = judged(readout(1, 5, probability=0.05))
    assert row.certainty == "doubtful"
    assert row.fields["value"].why[-1].startswith("the witnesses give it ")


def test_what_grammar_doubts_stays_doubtful_however_well_it_was_heard():
    rows = judged(readout(1, 5, probability=1.0, level="doubtful"), readout(2, 5, probability=1.0))
    assert rows[0].certainty == "doubtful"


def test_what_a_person_heard_stays():
    (row,) = judged(readout(1, 5, probability=0.01, level="heard by a person"))
    assert row.fields["value"].certainty == "heard by a person"


def test_more_probability_and_more_margin_never_lower_the_chance():
    known = calibration()
    chances = [known.chance_right(readout(1, 5, probability=p)) for p in (0.1, 0.5, 0.9)]
    assert chances == sorted(chances)
    margins = [known.chance_right(readout(1, 5, probability=0.5, margin=m)) for m in (0.0, 2.0, 6.0)]
    assert margins == sorted(margins)


def test_witnesses_are_kept_apart():
    numbers = witness_numbers(replace(readout(1, 5, probability=0.7, margin=2.5), witnesses={
        "word probability": 0.7, "weighing margin": 2.5, "calibration": "1"}))
    assert numbers["word probability"] == 0.7
    assert numbers["weighing margin"] == 2.5
    assert "calibration" not in numbers


def row(kind, *, by=None, **fields):
    return Row(kind, {name: Field(value) for name, value in fields.items()}, (Part("text", "words", start_s=1.0),), station=by)


def test_questions_for_the_crew_name_whom_to_ask():
    rows = [row("open_items", what="book the crane", owner="Winch"), row("open_items", what="done", owner="Winch", closed_s=5.0),
            row("readbacks", by="Panel", match=False, corrected=False, said="12", readback="21"),
            row("polls", station="Medic", answer="none", question="lift"), row("polls", station="Winch", answer="GO", question="lift"),
            row("coverage", item="rating", what="seat", subject="Ash", card="2", state="not asked")]
    says = [result.says for result in crew_questions(Review(rows, Talk(()))).results]
    assert says == ["Winch: is this done: book the crane?", "Panel: was it 12 or 21?", "Medic: what was your answer to lift?",
                    "Ash: your rating of seat on card 2?"]
