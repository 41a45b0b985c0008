"""Verbs over a finished session: sheet, tables, listen, search, difference, compare. Thin: each prints what plain functions say."""
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from .cli_door import plain
from .records.kinds import KINDS
from .records.rows import CERTAINTIES

SessionResults = Annotated[Path, typer.Argument(help="folder that a run wrote, or the store file in it", show_default=False)]
Recordings = Annotated[Path | None, typer.Option("--recordings", help="folder in which recordings are looked for by name")]
Out = Annotated[Path | None, typer.Option("--out", help="folder to write in; else the session's own", show_default=False)]


def say(lines: Iterable[str]) -> None:
    for line in lines:
        typer.echo(plain(line))


def sheet_command(session: SessionResults, out: Out = None, recordings: Recordings = None,
                  sound: Annotated[bool, typer.Option("--sound/--no-sound", help="put each row's seconds of sound inside")] = True) -> None:
    """Write the debrief sheet again, with everything that people have changed since."""
    from .desk.contents import read_contents
    from .desk.handout import SHEET_NAME, write_sheet
    from .desk.sheet import SheetSettings
    from .store.opening import find_store, open_to_read

    with open_to_read(session) as store:
        file = (out or find_store(session).absolute().parent) / SHEET_NAME
        write_sheet(read_contents(store, recordings), file, None if sound else SheetSettings(clip=None))
    say([f"{file} written"])


def tables_command(session: SessionResults, forms: Annotated[list[str] | None, typer.Argument(
        help="csv, xlsx, parquet, jsonl, transcript, vtt, srt, ctm; all when none is named", show_default=False)] = None,
        out: Out = None) -> None:
    """Write tables, transcript and captions again, with everything that people have changed since."""
    from .desk.contents import read_contents
    from .desk.handout import write_forms
    from .store.opening import find_store, open_to_read

    with open_to_read(session) as store:
        folder = out or find_store(session).absolute().parent
        written = write_forms(read_contents(store), folder, forms or ())
    say([f"{folder}: {', '.join(written)} written"])


def listen_command(session: SessionResults, minutes: Annotated[float | None, typer.Option(help="minutes there are for listening")] = None,
                   json: Annotated[bool, typer.Option("--json", help="one place a line, as JSON")] = False,
                   sound: Annotated[Path | None, typer.Option(help="write these places into one Ogg/Opus file", show_default=False)] = None,
                   recordings: Recordings = None) -> None:
    """What to hear first: the places where listening settles most, best first; with --minutes, what fits."""
    from .desk.contents import read_contents
    from .desk.places_to_hear import choose, listen_json_lines, listen_text, with_sound
    from .desk.whole_files import write_whole
    from .errors import InputError
    from .store.opening import open_to_read

    if minutes is not None and not 0 < minutes < 100_000:
        raise InputError(f"{minutes:g} minutes leave no room for listening", todo="give a number above 0")
    with open_to_read(session) as store:
        contents = read_contents(store, recordings)
    chosen = choose(contents, minutes)
    if sound is not None:
        chosen, data = with_sound(chosen, contents.recordings)
        write_whole(sound, data)
    say(listen_json_lines(chosen) if json else listen_text(chosen, minutes))


def search_command(
    session: SessionResults,
    words: Annotated[str, typer.Argument(help='words, "a phrase", begin*, one NEAR another; may be left out', show_default=False)] = "",
    kind: Annotated[list[str] | None, typer.Option(help="kind of row, such as readouts; may be given again")] = None,
    station: Annotated[list[str] | None, typer.Option(help="who said it")] = None,
    loop: Annotated[list[str] | None, typer.Option(help="on which loop")] = None,
    certainty: Annotated[list[str] | None, typer.Option(help="how sure: doubtful, clear, repeated, heard by a person")] = None,
    start: Annotated[str | None, typer.Option("--from", help="from this session time on, h:mm:ss", show_default=False)] = None,
    end: Annotated[str | None, typer.Option("--to", help="up to this session time, h:mm:ss", show_default=False)] = None,
    least: Annotated[float | None, typer.Option("--least", help="values of this number and above")] = None,
    most: Annotated[float | None, typer.Option("--most", help="values of this number and below")] = None,
    json: Annotated[bool, typer.Option("--json", help="whole rows, one a line, as JSON")] = False,
    talk: Annotated[bool, typer.Option("--talk", help="search all that was said, not only rows")] = False,
    limit: Annotated[int, typer.Option(min=1, max=10_000, help="most lines to show")] = 50,
) -> None:
    """Find rows, or all talk, by what was said."""
    from .desk.row_text import line_of, one_line
    from .desk.typed_values import typed_time
    from .store.codec import row_out
    from .store.opening import open_to_read
    from .store.search import RowFilter, find_rows, find_turns
    from .timebase import hms

    wanted = RowFilter(words, known("kind", kind, KINDS), tuple(station or ()), tuple(loop or ()),
                       known("certainty", certainty, CERTAINTIES), least, most, typed_time("--from", start), typed_time("--to", end))

    with open_to_read(session) as store:
        if talk:
            turns = find_turns(store.db, store.accepted_pass() or 0, words, limit)
            say(one_line(f"{hms(turn.start_s or 0)}  {turn.station or '?'} on {turn.loop or '?'}: {turn.text}") for turn in turns)
            return
        count, rows = find_rows(store.db, wanted, limit)
    if json:
        say(map(row_out, rows))
        return
    say([*map(line_of, rows), f"{count} rows" + (f", the first {len(rows)} shown" if count > len(rows) else "")])


def known(what: str, given: Iterable[str] | None, names: Iterable[str]) -> tuple[str, ...]:
    """The names given, refused where one is none of those there are."""
    from .errors import InputError

    wanted = tuple(given or ())
    for name in wanted:
        if name not in names:
            raise InputError(f"there is no {what} {name!r}", todo=f"there are: {', '.join(names)}")
    return wanted


def row_command(session: SessionResults, number: Annotated[int, typer.Argument(help="the row's number", show_default=False)]) -> None:
    """Everything about one row: fields with their origin and grounds, evidence with its place in the sound, who changed it."""
    from .desk.row_text import lines_about
    from .desk.seen import history_lines
    from .store import edits
    from .store.opening import open_to_read

    with open_to_read(session) as store:
        row, history = edits.standing(store.db, number).row, list(history_lines(store.db, number))
    say([*lines_about(row), *history])


def difference_command(session: SessionResults) -> None:
    """What the last pass found otherwise than the one before it: rows that are new, gone or changed."""
    from .desk.differences import difference_lines
    from .store.opening import open_to_read

    with open_to_read(session) as store:
        say(difference_lines(store))


def compare_command(sessions: Annotated[list[Path], typer.Argument(help="two or more folders that runs wrote", show_default=False)],
                    out: Annotated[Path, typer.Option("--out", help="folder for compare.html and compare.csv", show_default=False)]) -> None:
    """Ratings and readouts of several sessions side by side: what changed, and what is missing in one."""
    from .desk.compare import compared, write_comparison
    from .desk.contents import read_contents
    from .store.opening import open_to_read

    held = []
    for path in sessions:
        with open_to_read(path) as store:
            held.append(read_contents(store))
    result = compared(held, [str(path) for path in sessions])
    write_comparison(result, out)
    say([result.summary, f"Open {out / 'compare.html'}"])
