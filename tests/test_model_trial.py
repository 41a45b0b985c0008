"""Models tried on marked minutes: counting by hand-made cases, the minutes that are cut, and models that are not here."""
import json
import wave

import jiwer
import numpy as np
import pytest
from typer.testing import CliRunner

from debrief.cli import app
from debrief.cli_hear import channel_of, table
from debrief.demo_files import demo_folder
from debrief.errors import InputError, ModelError, RecordingError
from debrief.hearing.recogniser import HeardSegment, HeardWord
from debrief.hearing.recording import read_span
from debrief.model_trial import Minutes, Tried, compare, counted, marked_minutes, try_models
from debrief.session import load_session
from debrief.timebase import HEARING_RATE_HZ, Span
from debrief.wording.hint_text import STYLE, hint_text


@pytest.mark.parametrize(("text", "words"), [
    ("Cabin pressure four point three psi.", ["cabin", "pressure", "#4.3", "psi"]),
    ("CABIN pressure, 4.3 psi", ["cabin", "pressure", "#4.3", "psi"]),
    ("That's a no-go, Winch!", ["that's", "a", "no", "go", "winch"]),
    ("one two zero", ["#120"]), ("", []), ("... -- ?", []),
])
def test_words_as_they_are_counted(text, words):
    assert list(counted(text)) == words


def test_a_perfect_hearing_and_none_at_all():
    truth = counted("Line tension twelve point five kilonewtons. Cabin is at 40 metres.")
    perfect, nothing = compare(truth, truth), compare(truth, ())
    assert (perfect.word_error, perfect.numbers_right, perfect.numbers) == (0.0, 2, 2)
    assert (nothing.word_error, nothing.deleted, nothing.numbers_right) == (1.0, len(truth), 0)


def test_a_hand_made_case():
    tried = compare(counted("Cabin pressure four point three, temperature two one."), counted("Cabin fresh 4.3 the temperature 31"))
    assert (tried.words, tried.wrong, tried.deleted, tried.inserted) == (5, 2, 0, 1)
    assert (tried.numbers, tried.numbers_right) == (2, 1)
    assert tried.word_error == pytest.approx(0.6)


def test_the_counts_are_those_of_a_scorer_from_outside():
    """jiwer's word error on the same words."""
    truth, heard = counted("go for the next step slowly when the winch is clear"), counted("go for a next step when winch is is clear now")
    theirs, ours = jiwer.process_words(" ".join(truth), " ".join(heard)), compare(truth, heard)
    assert ours.word_error == pytest.approx(theirs.wer)
    assert ours.wrong + ours.deleted + ours.inserted == theirs.substitutions + theirs.deletions + theirs.insertions


@pytest.fixture(scope="module")
def minutes(tmp_path_factory):
    """Forty seconds of the demo's talk on the second channel of a file, and a truth of three lines."""
    folder = tmp_path_factory.mktemp("minutes")
    talk = read_span(demo_folder() / "line_and_cabin.opus", 0, Span.of_seconds(385, 425))
    both = np.stack([np.zeros_like(talk), talk], axis=1)
    with wave.open(str(folder / "loop.wav"), "wb") as file:
        file.setparams((2, 2, HEARING_RATE_HZ, 0, "NONE", ""))
        file.writeframes((np.clip(both, -1, 1) * 32767).astype("<i2").tobytes())
    lines = [{"start_s": 2.0, "end_s": 4.0, "text": "Cabin, go."}, {"start_s": 12.5, "end_s": 14.0, "text": "Line tension four."},
             {"start_s": 35.0, "end_s": 37.0, "text": "Roger that."}]
    (folder / "truth.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    return folder


def test_the_minutes_hold_the_lines_that_begin_in_them(minutes):
    all_of_it = marked_minutes(minutes / "loop.wav", minutes / "truth.jsonl", channel=1)
    assert all_of_it.seconds == pytest.approx(38.5)
    assert all_of_it.truth == ("cabin", "go", "line", "tension", "#4", "roger", "that")
    assert all_of_it.windows
    part = marked_minutes(minutes / "loop.wav", minutes / "truth.jsonl", channel=1, minutes=0.25, from_s=10)
    assert (part.seconds, part.truth) == (15.0, ("line", "tension", "#4"))
    silent = marked_minutes(minutes / "loop.wav", minutes / "truth.jsonl", channel=0)
    assert silent.windows == ()


def test_what_cannot_be_tried_is_refused(minutes, tmp_path):
    with pytest.raises(InputError, match="no true line lies in these minutes"):
        marked_minutes(minutes / "loop.wav", minutes / "truth.jsonl", from_s=20, minutes=0.1)
    (tmp_path / "untimed.jsonl").write_text('{"text": "Cabin, go."}\n{"start_s": 2, "text": "Roger."}\n', encoding="utf-8")
    with pytest.raises(InputError, match="1 of 2 lines have no times"):
        marked_minutes(minutes / "loop.wav", tmp_path / "untimed.jsonl")
    with pytest.raises(RecordingError, match="channel 5 asked for, but the file has 2"):
        marked_minutes(minutes / "loop.wav", minutes / "truth.jsonl", channel=5)


class Saying:
    """Says the same words of every window."""

    def __init__(self, text):
        self._text = text

    def hear(self, sound, hints):
        words = tuple(HeardWord(word, index, index + 1, 0.9) for index, word in enumerate(self._text.split()))
        aside = HeardSegment((HeardWord("nonsense", 0, 1, 0.1),), -2, 0.9, 1, set_aside="likely no speech")
        return (HeardSegment(words, -0.1, 0.1, 1.0), aside)


def test_each_model_hears_the_same_and_one_that_is_missing_stops_none():
    def load(name):
        if name == "gone":
            raise ModelError("no weights called 'gone' on this machine")
        return Saying({"good": "Cabin go", "bad": "Cabin oh no"}[name])

    tried = try_models(["good", "gone", "bad"], Minutes((np.zeros(16_000, np.float32),), 30.0, ("cabin", "go")), load)
    assert [(item.model, item.word_error, item.problem) for item in tried] == [
        ("good", 0.0, ""), ("gone", 0.0, "no weights called 'gone' on this machine"), ("bad", 1.0, "")]


class Noting(Saying):
    """Keeps the hints it was given."""

    def __init__(self):
        super().__init__("Cabin go")
        self.given = []

    def hear(self, sound, hints):
        self.given.append(hints)
        return super().hear(sound, hints)


def test_each_model_is_helped_as_in_a_run():
    noting, minutes = Noting(), Minutes((np.zeros(16_000, np.float32),), 30.0, ("cabin", "go"))
    try_models(["one"], minutes, lambda _: noting)
    planned = load_session(demo_folder() / "session.toml")[0]
    try_models(["one"], minutes, lambda _: noting, planned)
    assert [hints.prompt for hints in noting.given] == [STYLE, hint_text(planned)]
    assert planned.stations[0].name in noting.given[1].prompt


def test_the_table():
    rows = [Tried("base", 50, 5, 4, 1, 8, 6, 10.0, 180.0), Tried("small.en", problem="no weights called 'small.en' on this machine")]
    assert table(rows) == [
        "model     word error  left out   added  numbers right  x real time",
        "base          20.0 %     8.0 %   2.0 %         6 of 8         18.0",
        "small.en  not tried: no weights called 'small.en' on this machine"]


def test_the_verb_needs_to_be_told_what_to_do(minutes):
    result = CliRunner().invoke(app, ["hear", "base", "--sound", str(minutes / "loop.wav"), "--truth", str(minutes / "truth.jsonl")])
    assert isinstance(result.exception, InputError)
    assert str(result.exception).startswith("say what to do with these models")


def test_the_verb_compares_models_that_are_not_here_and_says_so(minutes):
    result = CliRunner().invoke(app, ["hear", "--try", "no-such-model", "--sound", f"{minutes / 'loop.wav'}:1", "--truth",
                                      str(minutes / "truth.jsonl"), "--minutes", "1"])
    assert result.exit_code == 0
    assert result.output.splitlines()[0] == "0.6 min of sound, 7 true words"
    assert result.output.splitlines()[2] == "no-such-model  not tried: no weights called 'no-such-model' on this machine"


def test_a_channel_is_named_behind_a_colon(minutes):
    assert channel_of(minutes / "loop.wav") == (minutes / "loop.wav", 0)
    assert channel_of(minutes / "loop.wav:1") == (minutes / "loop.wav", 1)
