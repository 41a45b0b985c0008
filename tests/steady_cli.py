"""The command line with the steady recogniser in place of weights, for tests that start it as a program of its own.

    python steady_cli.py SECONDS run SESSION --out DIR ...     SECONDS: how long it takes to hear each window
"""
import signal
import sys
import time

from steady_recogniser import SteadyRecogniser

from debrief import cli
from debrief.hearing import models


class _Slow(SteadyRecogniser):
    def __init__(self, window_s: float) -> None:
        super().__init__()
        self._window_s = window_s

    def hear(self, sound, hints):
        time.sleep(self._window_s)
        return super().hear(sound, hints)


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)  # whoever runs the tests may ignore it
    slow = _Slow(float(sys.argv[1]))
    models.load_recogniser = lambda *_, **__: slow
    sys.argv = ["debrief", *sys.argv[2:]]
    cli.main()
