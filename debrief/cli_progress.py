"""Progress on the terminal: what is done, and the time that is left."""
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeRemainingColumn


@contextmanager
def progress_bar() -> Iterator[Callable[[str, float, float], None]]:
    """A bar for each kind of work, on standard error; gives the function that the work tells what it has done."""
    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.percentage:>3.0f} %"), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        tasks: dict[str, TaskID] = {}

        def watch(what: str, done: float, whole: float) -> None:
            kind = what.split(" ", 1)[0]
            if kind not in tasks:
                tasks[kind] = progress.add_task(what, total=whole)
            progress.update(tasks[kind], description=what, completed=done, total=whole)

        yield watch
