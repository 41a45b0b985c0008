"""Calls the command line in this process, with the steady recogniser in place of weights."""
import sys
from dataclasses import dataclass

from steady_recogniser import SteadyRecogniser

from debrief import cli
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
