"""Models tried on a user's own minutes: the same sound, the same talk found in it, the same hint as a run gives, the same counting for each.

Counting: words without case and punctuation; a spoken number, however written or said, is one word by its value ('four point three', '4.3').
Truth is a saved transcript with times that holds all that was said in those minutes; what it leaves out counts as inserted.
"""
import re
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from rapidfuzz.distance import Levenshtein

from .errors import InputError, ModelError
from .hearing.recogniser import Hints, Recogniser, Sound
from .hearing.recording import check_path, duration_samples, probe, read_span
from .hearing.saved_transcript import read_transcript
from .hearing.speech_spans import talk_spans
from .hearing.windows import cut_windows
from .records.sound import Source, Stretch
from .session import Session
from .timebase import HEARING_RATE_HZ, Span
from .wording.hint_text import hint_text
from .wording.spoken_numbers import read_numbers

_MARKS = re.compile(r"[^\w']+")


@dataclass(frozen=True, slots=True)
class Minutes:
    """The marked minutes: windows of their talk (16 kHz), their whole length, and the true words, numbers as values ('#4.3')."""

    windows: tuple[Sound, ...]
    seconds: float
    truth: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """One model's counts over the true words; numbers: said, numbers_right: heard with their value in their place; problem: why not tried."""

    model: str
    words: int = 0
    wrong: int = 0
    deleted: int = 0
    inserted: int = 0
    numbers: int = 0
    numbers_right: int = 0
    work_s: float = 0.0
    seconds: float = 0.0
    problem: str = ""

    @property
    def word_error(self) -> float:
        return (self.wrong + self.deleted + self.inserted) / max(1, self.words)


def marked_minutes(sound: Path, truth: Path, channel: int = 0, minutes: float = 3.0, from_s: float | None = None) -> Minutes:
    """The minutes from from_s (else from the first true line) on. Raises InputError: nothing true lies in them, lines without times."""
    info = probe(check_path(sound))
    info.stream_of(channel)
    lines = [(segment.span, segment.text) for segment in read_transcript(truth, Source("r1", channel))]
    timed = [(span, text) for span, text in lines if span is not None]
    if len(timed) < len(lines):
        raise InputError(f"{len(lines) - len(timed)} of {len(lines)} lines have no times", str(truth), "give start_s and end_s for every line")
    begin = min(span.start for span, _ in timed) if from_s is None else round(from_s * HEARING_RATE_HZ)
    begin = max(0, begin - (HEARING_RATE_HZ // 2 if from_s is None else 0))
    end = min(begin + round(minutes * 60 * HEARING_RATE_HZ), duration_samples(info) or begin + round(minutes * 60 * HEARING_RATE_HZ))
    inside = [text for span, text in sorted(timed) if begin <= span.start < end]
    if not inside or end <= begin:
        raise InputError("no true line lies in these minutes", str(truth), "give --from the second at which your marked minutes begin")
    heard = read_span(sound, channel, Span(begin, end))
    return Minutes(_windows(heard, channel), len(heard) / HEARING_RATE_HZ, counted(" ".join(inside)))


def try_models(names: Sequence[str], minutes: Minutes, load: Callable[[str], Recogniser], session: Session | None = None) -> list[Tried]:
    """Each model on the same minutes, one after the other; one that cannot be loaded is told with its problem, the others go on.

    session: whose words stand in the hint; without one it is the style of radio alone, as in a run with an empty session file.
    """
    hints = Hints(prompt=hint_text(session or Session()))
    return [_try(name, minutes, load, hints) for name in names]


def counted(text: str) -> tuple[str, ...]:
    """The words of a text as they are counted."""
    said = text.split()
    numbers = {number.start: number for number in read_numbers(said)}
    words: list[str] = []
    at = 0
    while at < len(said):
        number = numbers.get(at)
        if number is not None:
            words.append(f"#{number.value.normalize():f}")
        else:
            words += [part for part in _MARKS.sub(" ", said[at].lower()).split() if part]
        at = number.end if number is not None else at + 1
    return tuple(words)


def compare(truth: Sequence[str], heard: Sequence[str]) -> Tried:
    """Counts of one alignment with the fewest edits (rapidfuzz). A number is right where the alignment keeps it."""
    edits = Levenshtein.editops(truth, heard)
    touched = {edit.src_pos for edit in edits if edit.tag in ("replace", "delete")}
    numbers = [index for index, word in enumerate(truth) if word.startswith("#")]
    tags = [edit.tag for edit in edits]
    return Tried("", len(truth), tags.count("replace"), tags.count("delete"), tags.count("insert"), len(numbers),
                 sum(index not in touched for index in numbers))


def _try(name: str, minutes: Minutes, load: Callable[[str], Recogniser], hints: Hints) -> Tried:
    try:
        recogniser = load(name)
    except ModelError as error:
        return Tried(name, problem=error.what)
    began = time.perf_counter()
    texts = [segment.text for window in minutes.windows for segment in recogniser.hear(window, hints) if not segment.set_aside]
    spent = time.perf_counter() - began
    return replace(compare(minutes.truth, counted(" ".join(texts))), model=name, work_s=spent, seconds=minutes.seconds)


def _windows(sound: Sound, channel: int) -> tuple[Sound, ...]:
    stretches = [Stretch(Source("r1", channel), span, "speech") for span in talk_spans(sound)]
    return tuple(np.concatenate([sound[piece.start:piece.end] for piece in window.pieces]) for window in cut_windows(stretches))
