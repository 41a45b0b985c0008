"""Value rows of loops of talk that carry their labels (golden/sure and others): right, wrong, or not to be judged, for calibrate.py."""
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from labelled_rows import Judged, checked

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import sure_rows

from debrief.checks.review import Review
from debrief.harvest import harvest
from debrief.records.rows import Row


def loops(folder: Path) -> Iterator[Judged]:
    """Every loop of a folder in each way it is written. Clock calls are judged only where the loop labels some."""
    for path in sorted(folder.glob("*.talk")):
        loop = sure_rows.read_loop(path)
        for style in loop.styles:
            review = _review(loop, style)
            told = [_verdict(loop, row) for row in review.rows]
            yield Judged(path.stem, f"{folder.name} {style}", review, [verdict for verdict, _ in told],
                         {position: why for position, (_, why) in enumerate(told) if why}, sum(not label.fair for label in loop.labels))


def _review(loop: sure_rows.Loop, style: str) -> Review:
    with tempfile.TemporaryDirectory() as folder:
        talk = sure_rows.talk_of(loop, style, Path(folder))
    return checked(Review(tuple(harvest(talk)), talk))


def _verdict(loop: sure_rows.Loop, row: Row) -> tuple[bool | None, str]:
    labelled = {label.kind for label in loop.labels}
    line = sure_rows.line_of(loop, row)
    if row.kind not in sure_rows.SURE_KINDS or line is None or sure_rows.number_of(row) is None or row.kind == "clock_calls" and row.kind not in labelled:
        return None, ""
    here = [label for label in loop.labels if label.line == line and sure_rows.value_fits(label, row)]
    fits = [label for label in here if not sure_rows.faults(loop, label, row)]
    if fits:
        return (None if all(label.fair for label in fits) else True), ""
    if sure_rows.told_again(loop, row, line):
        return None, ""
    return False, ", ".join(sorted({fault for label in here for fault in sure_rows.faults(loop, label, row)})) or "no label"
