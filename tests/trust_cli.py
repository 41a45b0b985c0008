"""Calls the command line in this process, with the steady recogniser in place of weights."""
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from steady_recogniser import SteadyRecogniser

from debrief import cli, pipeline
from debrief.hearing import models


@dataclass(frozen=True)
class Told:
    code: int
    out: str
    err: str


def call(monkeypatch, capsys, *arguments: str, steady: bool = True) -> Told:
    """What a command printed and its exit code. An exception that is not ours comes through and fails the test."""
    if steady:
        monkeypatch.setattr(models, "load_recogniser", lambda *_, **__: SteadyRecogniser())
    monkeypatch.setattr(sys, "argv", ["debrief", *arguments])
    code = 0
    try:
        cli.main()
    except SystemExit as ended:
        code = int(ended.code or 0)
    told = capsys.readouterr()
    return Told(code, told.out, told.err.lstrip("\n"))


@pytest.fixture(scope="module", autouse=True)
def voices_by_spectrum_alone() -> Iterator[None]:
    """The network that tells voices apart takes nearly half of a small run's time; a module that imports this does without it.

    Long forms in bench, and the tests of voices, hear with it.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pipeline, "find_voice_network", lambda: None)
        patch.setattr(pipeline, "load_voice_network", lambda: None)
        yield
