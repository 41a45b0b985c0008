"""A recogniser made for tests of the fleet: words by the sound alone, slow enough to be killed, and able to kill its own worker once."""
import hashlib
import os
import signal
import time
from pathlib import Path

import numpy as np

from debrief.hearing.recogniser import HeardSegment, HeardWord, Weighed

DIGITS = "zero one two three four five six seven eight nine".split()


class MadeEar:
    """model: 'calm', or a folder: then the process dies at the second window that it hears, once for that folder."""

    name, digest = "made", "0" * 64

    def __init__(self, model, threads):
        self.settings = {"threads": str(threads)}
        self._folder = None if model == "calm" else Path(model)

    def hear(self, sound, hints):
        time.sleep(0.05)
        if self._folder is not None:
            self._maybe_die()
        number = hashlib.sha256(np.ascontiguousarray(sound)).digest()
        words = f"Cabin pressure four point {DIGITS[number[0] % 10]} psi. Line tension {DIGITS[number[1] % 9 + 1]} kilonewtons.".split()
        step = len(sound) / 16_000 / (len(words) + 1)
        return (HeardSegment(tuple(HeardWord(word, index * step, (index + 1) * step, 0.9) for index, word in enumerate(words)), -0.2, 0.05, 1.2),)

    def weigh(self, sound, candidates, free, with_end=False):
        scores = tuple(-float(len(text)) for text in (*candidates, free))
        return Weighed(scores[:-1], scores[-1], scores, scores, tuple(len(text.split()) for text in (*candidates, free)), scores if with_end else ())

    def _maybe_die(self):
        heard = self._folder / f"heard-{os.getpid()}"
        count = int(heard.read_text()) + 1 if heard.exists() else 1
        heard.write_text(str(count))
        if count == 2 and not (self._folder / "died").exists():
            (self._folder / "died").write_text(str(os.getpid()))
            os.kill(os.getpid(), signal.SIGKILL)


def made_ear(model, threads):
    return MadeEar(model, threads)
