"""Captions: times, speakers, and text that breaks no format. Forms: W3C WebVTT; NIST SCTK for CTM."""
from debrief.desk.captions import ctm, subrip, webvtt
from debrief.records.sound import Recording, Source
from debrief.records.talk import Token, Turn
from debrief.timebase import Span


def turn(index: int, text: str, start_s: float | None = 11.0, station: str | None = "Rigger", **more) -> Turn:
    tokens = tuple(Token(word, word, "s", i, Span.of_seconds(11 + i, 11.5 + i), 0.5) for i, word in enumerate(text.split()))
    return Turn(index, tokens, station, start_s=start_s, end_s=None if start_s is None else start_s + 2, source=Source("r1", 0), **more)


def test_the_example_of_the_standard():
    assert webvtt([turn(0, "We are in New York City", station="Roger Bingham")]) == \
        "WEBVTT\n\n00:00:11.000 --> 00:00:13.000\n<v Roger Bingham>We are in New York City</v>\n\n"


def test_subrip():
    assert subrip([turn(0, "car one down", 3725.25)]) == "1\n01:02:05,250 --> 01:02:07,250\nRigger: car one down\n\n"


def test_ctm_has_the_words_of_the_recording():
    words = ctm([turn(0, "car one")], [Recording("r1", "my wire.flac", "", 1, 8000, 1)])
    assert words == "my_wire 1 11.000 0.500 car 0.500\nmy_wire 1 12.000 0.500 one 0.500\n"


def test_markup_and_arrows_in_talk_break_nothing():
    text = webvtt([turn(0, "<script> a --> b & c", station="<b>")], "a --> b")
    assert text.splitlines()[0] == "WEBVTT a -> b"
    assert "<v &lt;b&gt;>&lt;script&gt; a --&gt; b &amp; c</v>" in text
    assert subrip([turn(0, "a --> b")]).count("-->") == 1


def test_turns_without_time_are_counted_and_copies_left_out():
    text = webvtt([turn(0, "one", None), turn(1, "two", set_aside="a copy"), turn(2, "three", 1.0, None)])
    assert "NOTE 1 turns have no time" in text
    assert text.count("-->") == 1
    assert "<v Unknown>three</v>" in text


def test_no_turns():
    assert (webvtt([]), subrip([]), ctm([])) == ("WEBVTT\n\n", "", "")
