"""Erasing that reaches the files people took from a session: everything beside the store is written again without what was erased."""
from collections.abc import Sequence

from ..errors import InputError
from ..records.sound import Source
from ..store.erase import Place, erase
from ..store.sessions import SessionStore
from ..timebase import Span
from .contents import read_contents
from .handout import write_all
from .typed_values import typed_time
from .whole_files import sweep


def places_between(store: SessionStore, start: str | None, end: str | None, loop: str | None = None) -> list[Place]:
    """The stretch between two session times on every channel of a loop (on all when None). Raises InputError."""
    from_s, to_s = typed_time("--from", start), typed_time("--to", end)
    if from_s is None or to_s is None:
        raise InputError(f"{'--from' if from_s is None else '--to'} is missing", todo="give both session times, h:mm:ss")
    if to_s <= from_s:
        raise InputError(f"--to {end} is not after --from {start}", todo="give session times, h:mm:ss, the earlier one first")
    places, loops = [], set[str]()
    for recording in store.recordings():
        span_s = [max(0.0, recording.clock.to_file_s(at)) for at in (from_s, to_s)]
        for channel in range(recording.channels):
            name = recording.loops[channel] if channel < len(recording.loops) else ""
            loops.add(name)
            if loop is not None and name.casefold() != loop.casefold():
                continue
            span = Span.of_seconds(*span_s)
            span = Span(span.start, min(span.end, recording.duration))
            if span.end > span.start:
                places.append((Source(recording.recording, channel), span))
    if loop is not None and loop.casefold() not in {name.casefold() for name in loops}:
        raise InputError(f"there is no loop {loop!r}", todo=f"loops of this session: {', '.join(sorted(filter(None, loops))) or 'none named'}")
    if not places:
        raise InputError("no recording lies between these times", todo="session times count from the start of the first recording")
    return places


def erase_and_write(store: SessionStore, by: tuple[str, str], places: Sequence[Place], numbers: Sequence[int]) -> list[int]:
    """Erases (by: who and why), then writes sheet, tables and captions anew; returns the numbers of all rows that went."""
    known = {number for (number,) in store.db.all("SELECT number FROM row_numbers WHERE erased = 0")}
    unknown = [number for number in numbers if number not in known]
    if unknown:
        raise InputError(f"no row has the number {unknown[0]}", todo="row numbers stand at the left of every table")
    gone = erase(store.db, *by, places, numbers)
    folder = store.db.path.absolute().parent
    for left in (folder, folder / "tables"):
        sweep(left)  # what a writer that was killed left there holds the words too
    write_all(read_contents(store), folder)
    return gone
