"""A recogniser for tests of everything around recognition: its words come from the sound's digest alone, at once and always the same."""
import hashlib
from collections.abc import Sequence

from debrief.hearing.recogniser import HeardSegment, HeardWord, Hints, Sound, Weighed

PHRASES = (
    "Valley, Cabin, hoist load is one two decimal five kilonewtons.", "Cabin, Line, wind two seven zero at one five knots.",
    "Tank pressure is three four point three zero bar.", "Stop, stop, stop.", "Rope temperature is five five degrees.",
    "Door force, I give it a three.", "Go for departure.", "Line is no go, brake light is on.", "Mark.", "Step two four complete.",
    "Say again the load.", "Plus four minutes thirty.", "We leave the second run out.", "Serial is zero four one seven.",
)


class SteadyRecogniser:
    """Hears two of PHRASES in every window, chosen by the sound's bytes; weighs texts by their own digest."""

    name, digest = "steady", "0" * 64

    def __init__(self) -> None:
        self.settings = {"steady": "1"}

    def hear(self, sound: Sound, hints: Hints) -> tuple[HeardSegment, ...]:
        seed = hashlib.sha256(sound.tobytes()).digest()
        half_s = len(sound) / 16_000 / 2
        return tuple(self._segment(PHRASES[seed[place] % len(PHRASES)], place * half_s, half_s) for place in (0, 1))

    def _segment(self, text: str, start_s: float, length_s: float) -> HeardSegment:
        words = text.split()
        step = length_s / len(words)
        heard = tuple(HeardWord(word, start_s + i * step, start_s + (i + 0.9) * step, 0.9) for i, word in enumerate(words))
        return HeardSegment(heard, -0.3, 0.01, 1.2)

    def weigh(self, sound: Sound, candidates: Sequence[str], free: str, with_end: bool = False) -> Weighed:
        scores = tuple(-hashlib.sha256(text.encode() + sound.tobytes()).digest()[0] / 64 for text in (*candidates, free))
        return Weighed(scores[:-1], scores[-1], scores, (0.0,) * len(scores), (1,) * len(scores))
