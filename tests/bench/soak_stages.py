"""What each stage of a whole run costs: seconds of the processor, and the most memory that it held (Linux alone tells it by stage)."""
import csv
import re
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import wraps
from pathlib import Path
from typing import Any, Self
from unittest.mock import patch

from debrief import pipeline
from debrief.desk import handout
from debrief.store.sessions import SessionStore

SPOTS: tuple[tuple[str, Any, str], ...] = (
    ("voices", pipeline, "with_voices"), ("correction", pipeline, "read_with"), ("conversation and harvest", pipeline, "read"),
    ("checks", pipeline, "judge"), ("listening list", pipeline, "listening_list"),
    ("store: turns", SessionStore, "save_turns"), ("store: rows", SessionStore, "save_rows"), ("store: checks", SessionStore, "save_checks"),
    ("store, read for the desk", handout, "read_contents"), ("sheet", handout, "write_sheet"))
"""Stage, and the function that does it. Hearing is a generator and is told around each of its steps."""


def memory_mb(line: str) -> float:
    """A line of this process' status: VmRSS is now, VmHWM the most since `forget_peak`."""
    found = re.search(rf"^{line}:\s+(\d+) kB", Path("/proc/self/status").read_text(encoding="ascii"), re.MULTILINE)
    assert found
    return int(found[1]) * 1024 / 1e6


def forget_peak() -> None:
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")


class Stages:
    """A context in which every stage of a run is measured; `lines` tells of them in the order in which they first came."""

    def __init__(self, file: Path) -> None:
        self._file, self._undo = file, ExitStack()
        self.told: dict[str, tuple[float, float, float, float]] = {}
        """Stage -> (seconds of the processor, memory before it, most within it, after it), memory in MB."""

    def __enter__(self) -> Self:
        for name, place, function in SPOTS:
            self._undo.enter_context(patch.object(place, function, self._measured(name, getattr(place, function))))
        for form, write in handout.FORMS.items():
            self._undo.enter_context(patch.dict(handout.FORMS, {form: self._measured(form, write)}))
        self._undo.enter_context(patch.object(pipeline, "hear", self._stepwise("hearing", pipeline.hear)))
        return self

    def __exit__(self, *_: object) -> None:
        self._undo.close()
        with self._file.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([("stage", "processor_s", "before_mb", "most_mb", "after_mb"),
                                        *((name, *(f"{value:.1f}" for value in told)) for name, told in self.told.items())])

    def lines(self) -> list[str]:
        return [f"  {name}: {seconds:.1f} s, {before:.0f} MB before it, at most {most:.0f}, {after:.0f} after it"
                for name, (seconds, before, most, after) in self.told.items()]

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        forget_peak()
        began, before = time.process_time(), memory_mb("VmRSS")
        try:
            yield
        finally:
            spent, first, most, _ = self.told.get(name, (0.0, before, 0.0, 0.0))
            self.told[name] = (spent + time.process_time() - began, first, max(most, memory_mb("VmHWM")), memory_mb("VmRSS"))

    def _measured(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(function)
        def measured(*given: Any, **more: Any) -> Any:
            with self.stage(name):
                return function(*given, **more)
        return measured

    def _stepwise(self, name: str, function: Callable[..., Iterator[Any]]) -> Callable[..., Iterator[Any]]:
        @wraps(function)
        def stepwise(*given: Any) -> Iterator[Any]:
            steps = function(*given)
            while True:
                with self.stage(name):
                    step = next(steps, None)
                if step is None:
                    return
                yield step
        return stepwise
