"""What a fleet's work will cost, before it starts: hours of sound by the headers, talk by samples, speed by a minute on this machine."""
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..hearing.recogniser import NO_HINTS, Recogniser, Sound
from ..hearing.recording import read_span
from ..hearing.speech_spans import talk_spans
from ..timebase import HEARING_RATE_HZ, Span
from .jobs import Job

SAMPLE_S = 30.0
SAMPLES = 16
MEASURED_S = 60.0
WINDOW_S = 29
CANDIDATES = ("four", "five", "nine", "four point one", "four point two", "five point one", "five point two", "nine point one",
              "go", "no go", "stand by", "copy", "mark", "negative", "affirmative", "say again")


@dataclass(frozen=True, slots=True)
class Estimate:
    """sound_s: all channels; talk_share: of it, by samples; *_x: seconds of work of one worker for a second of it; weigh_s: for a question."""

    sound_s: float
    talk_share: float
    sampled_s: float
    find_x: float
    hear_x: float
    weigh_s: float
    questions_per_minute: float
    workers: int

    @property
    def work_s(self) -> float:
        """Seconds of work of one worker."""
        talk_s = self.sound_s * self.talk_share
        return self.sound_s * self.find_x + talk_s * (self.hear_x + self.questions_per_minute / 60 * self.weigh_s)

    @property
    def waiting_s(self) -> float:
        """Seconds until all is done, every worker busy to the end."""
        return self.work_s / max(1, self.workers)


def estimate(jobs: Sequence[Job], recogniser: Recogniser, workers: int, questions_per_minute: float) -> Estimate:
    """Samples the jobs' sound at even distances (the same jobs give the same places) and measures this machine on a minute of talk."""
    began = time.perf_counter()
    samples = [(sound, [sound[span.start:span.end] for span in talk_spans(sound)]) for sound in _samples(jobs)]
    spent = time.perf_counter() - began
    sampled = sum(len(sound) for sound, _ in samples) / HEARING_RATE_HZ
    talk = [piece for _, pieces in samples for piece in pieces]
    share = sum(map(len, talk)) / HEARING_RATE_HZ / sampled if sampled else 0.0
    minute = _minute(talk or [sound for sound, _ in samples])
    hear_x, weigh_s = _speed(minute, recogniser, questions_per_minute) if len(minute) else (0.0, 0.0)
    return Estimate(sum(job.sound_s for job in jobs), share, sampled, spent / sampled if sampled else 0.0, hear_x, weigh_s,
                    questions_per_minute, workers)


def _samples(jobs: Sequence[Job]) -> Iterator[Sound]:
    """Pieces from the middle of SAMPLES equal parts of all sound, channel after channel."""
    tracks = [(path, channel, seconds) for job in jobs for path, channels, seconds in job.sounds for channel in range(channels) if seconds > 0]
    whole = sum(seconds for _, _, seconds in tracks)
    for number in range(SAMPLES if tracks else 0):
        at = whole * (number + 0.5) / SAMPLES
        for path, channel, seconds in tracks:
            if at < seconds:
                start = max(0.0, min(at, seconds - SAMPLE_S))
                yield read_span(Path(path), channel, Span.of_seconds(start, min(seconds, start + SAMPLE_S)))
                break
            at -= seconds


def _minute(pieces: Sequence[Sound]) -> Sound:
    return np.concatenate([*pieces, np.zeros(0, np.float32)])[:round(MEASURED_S * HEARING_RATE_HZ)]


def _speed(minute: Sound, recogniser: Recogniser, questions: float) -> tuple[float, float]:
    size = WINDOW_S * HEARING_RATE_HZ
    began = time.perf_counter()
    for first in range(0, len(minute), size):
        recogniser.hear(minute[first:first + size], NO_HINTS)
    heard_s = time.perf_counter() - began
    weigh_s = 0.0
    if questions:
        recogniser.weigh(minute[:3 * HEARING_RATE_HZ], CANDIDATES, "roger")  # the first question of a run learns what later ones know
        began = time.perf_counter()
        recogniser.weigh(minute[-3 * HEARING_RATE_HZ:], CANDIDATES, "roger that")
        weigh_s = time.perf_counter() - began
    return heard_s / (len(minute) / HEARING_RATE_HZ), weigh_s
