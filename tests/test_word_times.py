"""Words begin where the level rises and end where it falls; segments are cut at pauses; hints and their echo."""
import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from debrief.hearing.guards import guard_failures, judged, longest_shared
from debrief.hearing.recogniser import HeardSegment, HeardWord
from debrief.hearing.whisper import _with_little_left
from debrief.hearing.word_times import at_the_sound, cut_at_pauses
from debrief.session import Session
from debrief.wording.hint_text import LONGEST_CHARACTERS, STYLE, hint_text

S = 16_000


def bursts(*spans: tuple[float, float], seconds: float = 6.0) -> np.ndarray:
    """Noise of the radio band's level in spans, forty decibels less between them."""
    sound = np.random.default_rng(7).standard_normal(round(seconds * S))
    level = np.full(len(sound), 0.001)
    for start, end in spans:
        level[round(start * S):round(end * S)] = 0.1
    return (sound * level).astype(np.float32)


def word(text: str, start_s: float, end_s: float) -> HeardWord:
    return HeardWord(text, start_s, end_s, 0.9)


def test_a_word_that_was_given_the_pause_before_it_begins_at_its_sound():
    first, second = at_the_sound([word("Mark.", 1.0, 1.5), word("Plus", 1.5, 3.4)], bursts((1.0, 1.5), (3.0, 3.5)))
    assert first.start_s == pytest.approx(1.0, abs=0.02)
    assert second.start_s == pytest.approx(3.0, abs=0.04)
    assert second.end_s == pytest.approx(3.5, abs=0.04)


def test_a_word_without_sound_keeps_a_short_end_and_no_sound_moves_nothing():
    [word_over_silence] = at_the_sound([word("you", 2.0, 3.0)], bursts((0.5, 1.0)))
    assert 2.0 <= word_over_silence.start_s <= word_over_silence.end_s == 3.0
    assert at_the_sound([], bursts((1, 2))) == ()
    same = (word("you", 0.0, 0.01),)
    assert at_the_sound(same, np.zeros(100, np.float32)) == same


@settings(max_examples=40)
@given(st.lists(st.tuples(st.floats(0, 0.8), st.floats(0.02, 1.2)), min_size=1, max_size=8))
def test_order_is_kept_and_no_word_is_lost(lengths):
    at_s, words = 0.0, []
    for pause_s, length_s in lengths:
        words.append(word(f"w{len(words)}", at_s + pause_s, at_s + pause_s + length_s))
        at_s += pause_s + length_s
    moved = at_the_sound(words, bursts((0.5, 1.0), (2.0, 4.0)))
    assert [item.text for item in moved] == [item.text for item in words]
    assert all(item.start_s <= item.end_s for item in moved)
    assert all(one.start_s <= other.start_s for one, other in itertools.pairwise(moved))
    assert [item for run in cut_at_pauses(moved) for item in run] == list(moved)


def test_segments_end_at_pauses_and_sooner_behind_a_sentence():
    words = [word("Roger.", 0, 1), word("Depth", 1.3, 2), word("nine", 2.3, 3), word("go", 3.5, 4)]
    assert [[item.text for item in run] for run in cut_at_pauses(words)] == [["Roger."], ["Depth", "nine"], ["go"]]
    assert list(cut_at_pauses([])) == []


def heard(text: str) -> tuple[HeardSegment, ...]:
    return (HeardSegment(tuple(word(item, i, i + 1) for i, item in enumerate(text.split())), -0.3, 0.0, 1.0),)


def test_a_hearing_that_echoes_its_hint_loses_to_one_without():
    echo, other = heard("copy go ahead stand by say again ready now"), heard("come on go ahead")
    assert guard_failures(echo, STYLE) == ("the text echoes the hint",)
    assert guard_failures(heard("stand by say again"), STYLE) == ()
    assert guard_failures(echo) == ()
    used = [segment.text for segment in judged(echo, other, STYLE) if not segment.set_aside]
    assert used == ["come on go ahead"]
    assert longest_shared([], ["a"]) == 0


def test_a_doubted_piece_of_the_hint_is_set_aside_and_a_clear_one_is_not():
    doubted = HeardSegment(heard("That is a three.")[0].words, -1.4, 0.3, 1.0)
    clear = HeardSegment(heard("That is a three.")[0].words, -0.4, 0.3, 1.0)
    [first], [second], [third] = (judged((item,), (), hint) for item, hint in ((doubted, STYLE), (clear, STYLE), (doubted, "")))
    assert first.set_aside.startswith("likely an echo of the hint")
    assert not second.set_aside
    assert not third.set_aside


def test_the_little_that_is_left_of_a_window_is_not_decoded_by_itself():
    def decoded(*ends_s):
        for end_s in ends_s:
            pulled.append(end_s)
            yield SimpleNamespace(words=[SimpleNamespace(end=end_s)])

    pulled: list[float] = []
    assert len(list(_with_little_left(decoded(9.0, 10.0), 10.0))) == 1
    assert pulled == [9.0]
    assert len(list(_with_little_left(decoded(5.0, 9.5, 10.0), 10.0))) == 2


def test_the_hint_names_the_sessions_words_and_never_its_values():
    session = Session.model_validate({
        "stations": [{"name": "Deck"}, {"name": "Mast"}, {"name": "Guide", "commentary": True}],
        "cards": [{"id": "1", "readouts": [{"what": "boom angle"}], "ratings": [{"axes": ["effort"]}]}],
        "limits": [{"what": "wind", "high": 37.5}], "clocks": [{"name": "lift"}]})
    text = hint_text(session)
    assert text.startswith("Mast, Deck. Roger.")
    assert all(term in text for term in ("Effort ", "Boom angle ", "Wind ", "Lift "))
    assert not any(held in text for held in ("Guide", "37", "three seven"))
    assert hint_text(Session()) == STYLE


def test_the_hint_names_call_signs_besides_the_names_of_stations():
    session = Session.model_validate({"stations": [
        {"name": "Deck", "aliases": ["Deck Two", "Boss", "lead two"]}, {"name": "Pilot", "aliases": ["Kestrel Two", "Two"]},
        {"name": "Guide", "aliases": ["Loudspeaker"], "commentary": True}]})
    assert hint_text(session).startswith("Pilot, Deck. Deck, Kestrel Two. Roger.")


def test_a_hint_is_cut_to_what_a_recogniser_takes():
    cards = [{"id": str(i), "readouts": [{"what": f"pressure of vessel {chr(97 + i)}"}]} for i in range(26)] * 3
    assert len(hint_text(Session.model_validate({"cards": cards}))) <= LONGEST_CHARACTERS
