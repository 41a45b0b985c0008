"""Sound-alike correction: what it mends, what it leaves, why; and that numbers are never touched."""
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from debrief.records.sound import Segment, Word
from debrief.session import Session
from debrief.timebase import Span
from debrief.wording.correction import Corrector, read_all, read_as
from debrief.wording.lexicon import load_lexicon
from debrief.wording.protected import is_number_word
from debrief.wording.vocabulary import active_packs, build_vocabulary, plain_words

PLAN = Session.model_validate({
    "stations": [{"name": "Harbour"}, {"name": "Lodestar"}, {"name": "Marlin"}, {"name": "Kestrel Four"}],
    "cards": [{"id": "1", "title": "Mooring trial", "steps": [{"id": "1a", "text": "capstan brake release"}],
               "ratings": [{"axes": ["rudder feel", "workload"]}],
               "readouts": [{"what": "bollard load"}, {"what": "umbilical tension"}, {"what": "CHT left"}]}],
    "lexicon": ["diving", "flight_test"],
})


def segment(text: str, probability: float | None = 0.6) -> Segment:
    words = tuple(Word(word, Span(i * 8000, i * 8000 + 7000), probability) for i, word in enumerate(text.split()))
    return Segment("r1.0.000001", words)


@pytest.fixture(scope="module")
def corrector() -> Corrector:
    return Corrector(build_vocabulary(load_lexicon(), PLAN))


@pytest.mark.parametrize(("heard", "read"), [
    ("Low star, how do you read?", "Lodestar, how do you read?"),
    ("Marlen is go.", "Marlin is go."),
    ("The net ring is latched.", "The neck ring is latched."),
    ("umbillicle tension 14", "umbilical tension 14"),
    ("First the pole.", "First the poll."),
    ("HT left one eight zero.", "CHT left one eight zero."),
    ("UNH one zero one six.", "QNH one zero one six."),
])
def test_sound_alikes_are_mended(corrector, heard, read):
    assert " ".join(token.text for token in read_as(segment(heard), corrector)) == read


@pytest.mark.parametrize("text", [
    "We pull the line and the children look at the harbor wall.",
    "I read to four and a half, for two, won by ate.",
    "Let me see what the other crew has to say about that.",
    "Kestrel Four, Harbour, rudder feel is a three.",
    "Go ahead with the break of the capstan brakes.",
    "The HT is in the other room.",
    "THE HT LEFT ONE EIGHT ZERO.",
    "RNH one zero one six.",
    "The US has four of them.",
])
def test_what_is_right_is_left(corrector, text):
    assert [token.text for token in read_as(segment(text, None), corrector)] == text.split()


def test_every_change_says_why_and_keeps_what_was_heard(corrector):
    token = read_as(segment("Marlen is go."), corrector)[0]
    assert (token.text, token.heard) == ("Marlin", "Marlen")
    assert token.why.startswith("'marlen' read as 'Marlin': sounds like it (")
    assert token.why.endswith("from the session file, the plan has it, stands where stations are named")


def test_two_words_for_one_keep_their_sound(corrector):
    changed = read_as(segment("the net ring here"), corrector)
    assert [(t.text, t.heard) for t in changed] == [("the", "the"), ("neck", "net"), ("ring", "ring"), ("here", "here")]
    tokens = read_as(segment("Low star, how"), corrector)
    assert (tokens[0].text, tokens[0].heard, tokens[0].span) == ("Lodestar,", "Low star,", Span(0, 15000))


def test_without_a_corrector_words_stay_and_no_words_give_none():
    assert [token.text for token in read_as(segment("net ring"))] == ["net", "ring"]
    assert read_as(Segment("r1.0.000002", ())) == ()
    assert read_all((), PLAN) == {}


def test_pieces_of_a_word_are_joined():
    pieces = ("20", ".7", "percent", "at", "o", "'clock", "1", ",900.")
    words = tuple(Word(text, Span(i * 800, i * 800 + 700)) for i, text in enumerate(pieces))
    assert [token.text for token in read_as(Segment("s", words))] == ["20.7", "percent", "at", "o'clock", "1,900."]
    typed = tuple(Word(text) for text in ("about", "1", "-about", "1"))
    assert [token.text for token in read_as(Segment("s", typed))] == ["about", "1", "-about", "1"]


def test_a_pack_speaks_only_where_its_trade_is_recognised():
    lexicon = load_lexicon()
    assert active_packs(lexicon, Session()) == {"core"}
    assert active_packs(lexicon, PLAN) == {"core", "diving", "flight_test"}
    heard = [plain_words(text) for text in ("pneumo on the neck dam", "umbilical clear", "bubble check", "side block", "wet bell")]
    assert "diving" in active_packs(lexicon, Session(), heard)


WORDS = st.lists(st.sampled_from("to too for won ate two four eleven 3.5 12 point oh net ring pole marlen low star neck go no goal umbillicle "
                                 "the fours thirty-five bowling load tension".split()), min_size=1, max_size=12)


@settings(max_examples=150)
@given(WORDS, st.sampled_from([None, 0.1, 0.6, 0.99]))
def test_no_correction_writes_changes_or_deletes_a_number_word(corrector, words, probability):
    tokens = read_as(segment(" ".join(words), probability), corrector)
    assert [w for token in tokens for w in token.text.split() if is_number_word(w)] == [w for w in words if is_number_word(w)]
    assert " ".join(token.heard for token in tokens) == " ".join(words)


def test_seven_hundred_turns_take_well_under_half_a_second_of_processor_time_each_hundred(corrector):
    """A guard against a slip in speed, not a benchmark: 700 turns of ten words within 5 s of processor time."""
    lines = ["Lodestar, bollard load is 14 and the net ring holds", "Marlen copies 14, rudder feel a three over there now"] * 350
    before = time.process_time()
    for line in lines:
        read_as(segment(line), corrector)
    assert time.process_time() - before < 5
