"""Guards against what small recognisers make up: loops, repetition, text over no speech. Both hearings of a window are kept."""
import re
import zlib
from collections.abc import Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from .recogniser import HeardSegment

COMPRESSION_LIMIT = 2.4
"""Text that compresses better than this repeats itself (the limit that the recogniser's own authors use)."""
LOG_PROBABILITY_LIMIT = -1.0
NO_SPEECH_LIMIT = 0.6
LOOP_REPEATS = 4
ECHO_WORDS = 7
"""So many words of the hint in a row are an echo: nobody says a made-up sample of talk word for word."""


def guard_failures(heard: Sequence[HeardSegment], hint: str = "") -> tuple[str, ...]:
    """What makes a hearing untrustworthy, in words; empty when nothing does. hint: the text it was to go on from."""
    text = " ".join(segment.text for segment in heard)
    failures = []
    if compression(text) > COMPRESSION_LIMIT:
        failures.append("the text repeats itself")
    if longest_loop(text.lower().split()) >= LOOP_REPEATS:
        failures.append("the same words run in a loop")
    if hint and longest_shared(_plain(text), _plain(hint)) >= ECHO_WORDS:
        failures.append("the text echoes the hint")
    return tuple(failures)


def judged(first: Sequence[HeardSegment], second: Sequence[HeardSegment], hint: str = "") -> tuple[HeardSegment, ...]:
    """The better hearing, used, and the other set aside; segments over no speech are set aside too. hint: of the first hearing."""
    if not second:
        return tuple(_speech_or_aside(segment, hint) for segment in first)
    better, worse = (second, first) if _merit(second) >= _merit(first, hint) else (first, second)
    aside = tuple(replace(segment, set_aside="another hearing of the same sound; its guards failed or it was less likely")
                  for segment in worse)
    return tuple(_speech_or_aside(segment, hint if better is first else "") for segment in better) + aside


def compression(text: str) -> float:
    """Length of a text over its length compressed; 0 for no text."""
    data = text.encode()
    return len(data) / len(zlib.compress(data)) if data else 0.0


def longest_loop(words: Sequence[str]) -> int:
    """How often the same one to six words follow each other, at most, in a row. Spoken digits may repeat ('triple three' of a code)
    three times in good faith; four in a row seldom do."""
    best = 1
    for size in range(1, 7):
        for start in range(len(words) - 2 * size + 1):
            unit, repeats = words[start:start + size], 1
            while words[start + repeats * size:start + (repeats + 1) * size] == unit:
                repeats += 1
            best = max(best, repeats)
    return best


def longest_shared(words: Sequence[str], others: Sequence[str]) -> int:
    """The most words that stand in a row in both."""
    match = SequenceMatcher(None, words, others, autojunk=False).find_longest_match()
    return match.size


def _plain(text: str) -> list[str]:
    return re.findall(r"[\w']+", text.lower())


def _merit(heard: Sequence[HeardSegment], hint: str = "") -> tuple[int, float]:
    words = sum(len(segment.words) for segment in heard) or 1
    mean = sum(segment.mean_log_probability * len(segment.words) for segment in heard) / words
    return (-len(guard_failures(heard, hint)), mean)


def _speech_or_aside(segment: HeardSegment, hint: str = "") -> HeardSegment:
    if segment.mean_log_probability < LOG_PROBABILITY_LIMIT:
        words = _plain(segment.text)
        if segment.no_speech_probability > NO_SPEECH_LIMIT:
            return replace(segment, set_aside="likely no speech, by the recogniser's own doubt")
        if hint and len(words) > 1 and longest_shared(words, _plain(hint)) == len(words):
            return replace(segment, set_aside="likely an echo of the hint: all its words stand there in a row, and the recogniser doubts them")
    return segment
