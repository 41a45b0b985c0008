"""debrief archive: many sessions in one file, searched together. Thin: each verb prints what plain functions say."""
import os
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from .archive.adding import AddSettings, add, remove, sessions_named
from .archive.finding import find
from .archive.keeping import KeepSettings, keep
from .archive.places import at_hand, places
from .archive.query import Query, bounds, field_given, instant
from .archive.shape import Archive
from .archive.showing import PageSettings, asked_words, csv_text, json_lines, lines, page_pieces, summary
from .archive.verifying import verify
from .cli_progress import progress_bar
from .desk.row_text import one_line
from .desk.whole_files import write_pieces, write_whole
from .errors import InputError
from .store.sessions import SessionStore
from .timebase import hms

archive_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None,
                          help="Thousands of hours: put sessions together, find what was said, hear it, keep it.")
ArchiveArgument = Annotated[Path, typer.Argument(help="the archive: a folder, or the file in it", show_default=False)]

EXAMPLES = """Find what was said, or rows, in all sessions, in the order of time.

Examples:

\b
  every cabin pressure below 5 psi (told in any unit):
    debrief archive search ARCHIVE --parameter "cabin pressure" --below "5 psi"
  who answered no-go:
    debrief archive search ARCHIVE --answer no-go
  where was a leak first mentioned:
    debrief archive search ARCHIVE leak --first
  words near one another, by one station, in one year, as a page with sound:
    debrief archive search ARCHIVE "pump NEAR leak*" --station Topside --from 2031-01-01 --to 2031-12-31 --as page --out found.html

WORDS: words (all must be there), "a phrase" in quotes, beginnings (leak*), one NEAR another. Without any of --kind, --parameter, --field,
--answer, --below, --above, --between, --at-least the talk itself is searched, else the rows found in it.

Not found is not the same as not said: values and words come from speech recognition. Hear them before you rely on them.
"""


@archive_app.command("add")
def add_command(archive: ArchiveArgument,
                given: Annotated[list[Path], typer.Argument(help="folders that `debrief run` wrote, or folders of such folders", show_default=False)],
                readers: Annotated[int, typer.Option(help="processes that read at once")] = max(1, min(4, (os.cpu_count() or 2) - 1)),
                replace: Annotated[bool, typer.Option("--replace", help="let a store take the place of another of the same recordings")] = False) -> None:
    """Add sessions. Given again, only what is new or changed is read; stopped with Ctrl-C, the same command goes on."""
    counts: Counter[str] = Counter()
    with Archive.create(archive) as opened, progress_bar() as watch:
        for outcome in add(opened, given, AddSettings(readers, replace, watch)):
            counts[outcome.what] += 1
            if outcome.why:
                typer.echo(one_line(f"set aside: {outcome.path}: {outcome.why}"), err=True)
    typer.echo(", ".join(f"{count} {what}" for what, count in counts.items()))
    if counts["set aside"]:
        raise typer.Exit(1)


@archive_app.command("list")
def list_command(archive: ArchiveArgument) -> None:
    """The sessions of an archive: number, date, length, turns, rows, title, store."""
    with Archive.open(archive, read_only=True) as opened:
        found = opened.all("SELECT * FROM sessions ORDER BY utc_from IS NULL, utc_from, session")
    for item in found:
        day = datetime.fromtimestamp(item["utc_from"], UTC).strftime("%Y-%m-%d") if item["utc_from"] is not None else "no date   "
        typer.echo(f"{item['session']:>5}  {day}  {hms(item['duration_s']):>9}  {item['end_turn'] - item['first_turn']:>7} turns"
                   f"  {item['end_row'] - item['first_row']:>6} rows  {one_line(item['title'] or '(no title)')}  {one_line(item['path'])}")
    typer.echo(f"{len(found)} sessions")


@archive_app.command("remove")
def remove_command(archive: ArchiveArgument, sessions: Annotated[list[str], typer.Argument(help="number, title or path", show_default=False)],
                   for_good: Annotated[bool, typer.Option("--for-good", help="leave nothing of them in the file's free pages; takes a while")] = False,
                   ) -> None:
    """Take sessions out of the archive. Their stores and recordings stay as they are."""
    with Archive.open(archive) as opened:
        for title in remove(opened, sessions, for_good=for_good):
            typer.echo(one_line(f"removed: {title}"))


@archive_app.command("verify")
def verify_command(archive: ArchiveArgument,
                   read_all: Annotated[bool, typer.Option("--read-all", help="read every store anew, even where its file looks untouched")] = False) -> None:
    """Check the file, its word indexes, and every session against its store."""
    with Archive.open(archive) as opened, progress_bar() as watch:
        found = list(verify(opened, read_all=read_all, watch=watch))
    for item in found:
        typer.echo(one_line(f"{'damaged: ' if item.serious else ''}{item.where}: {item.says}"))
    typer.echo(f"{len(found)} findings" if found else "the archive is sound and holds what its sessions hold")
    if found:
        raise typer.Exit(1)


@archive_app.command("search", help=EXAMPLES)
def search_command(
        archive: ArchiveArgument,
        words: Annotated[list[str] | None, typer.Argument(help="words to find", show_default=False)] = None,
        sounds_like: Annotated[bool, typer.Option("--sounds-like", help="also words that sound like these")] = False,
        rows: Annotated[bool, typer.Option("--rows", help="look for the words in rows, not in the talk")] = False,
        kind: Annotated[list[str] | None, typer.Option("--kind", help="only this kind of row: readouts, ratings, polls, anomalies ...")] = None,
        station: Annotated[list[str] | None, typer.Option("--station", help="only what this station said or answered")] = None,
        loop: Annotated[list[str] | None, typer.Option("--loop", help="only what was said on this loop")] = None,
        session: Annotated[list[str] | None, typer.Option("--session", help="only this session: number, path, title or words of it")] = None,
        parameter: Annotated[str, typer.Option("--parameter", help='what was read out or rated, such as "cabin pressure"')] = "",
        below: Annotated[str | None, typer.Option("--below", help='values under this: "5 psi"; units are converted')] = None,
        above: Annotated[str | None, typer.Option("--above", help='values over this: "120 kPa"')] = None,
        between: Annotated[tuple[str, str] | None, typer.Option("--between", help='values from the one to the other: "4 psi" "5 psi"')] = None,
        answer: Annotated[str, typer.Option("--answer", help="poll answers: go, no-go, stand by, none")] = "",
        field: Annotated[list[str] | None, typer.Option("--field", help="rows in which a field is this: --field event=complete")] = None,
        from_: Annotated[str | None, typer.Option("--from", help="from this date or time on (UTC)")] = None,
        to: Annotated[str | None, typer.Option("--to", help="up to this date (included) or time (UTC)")] = None,
        at_least: Annotated[str, typer.Option("--at-least", help="rows at least so sure: heard by a person, repeated, clear, doubtful")] = "",
        every_class: Annotated[bool, typer.Option("--every-class", help="also limits, targets, plans, forecasts and values corrected later")] = False,
        copies: Annotated[bool, typer.Option("--copies", help="also talk that is a copy of talk on another loop")] = False,
        first: Annotated[bool, typer.Option("--first", help="only the first place in all sessions")] = False,
        first_in_each: Annotated[bool, typer.Option("--first-in-each", help="only the first place in each session")] = False,
        limit: Annotated[int, typer.Option("--limit", help="show at most so many")] = 50,
        form: Annotated[str, typer.Option("--as", help="text, jsonl, csv or page")] = "text",
        out: Annotated[Path | None, typer.Option("--out", help="file to write to")] = None,
        recordings: Annotated[Path | None, typer.Option("--recordings", help="page: folder in which recordings are looked for by name")] = None,
        ) -> None:
    low, high, inclusive = bounds(below, above, between)
    fields = [*(field or ()), *([f"answer={answer}"] if answer else [])]
    asked = " ".join(f'"{word}"' if " " in word and "NEAR" not in word and '"' not in word else word for word in words or ())
    query = Query(asked, sounds_like, "rows" if rows else "", tuple(kind or ()), tuple(station or ()), tuple(loop or ()), tuple(session or ()),
                  parameter, tuple(field_given(item) for item in fields), low, high, inclusive, instant(from_) if from_ else None,
                  instant(to, end=True) if to else None, at_least, every_class, copies,
                  "archive" if first else "session" if first_in_each else "", limit)
    with Archive.open(archive, read_only=True) as opened:
        found = find(opened, query)
        shown = places(opened, found)
    settings = PageSettings(_in_words(asked, parameter, (below, above, between), answer), recordings, waiting=out.absolute().parent if out else None)
    text = {"text": lambda: "".join(f"{line}\n" for line in lines(shown, asked_words(found.match))), "jsonl": lambda: json_lines(shown),
            "csv": lambda: csv_text(shown), "page": lambda: ""}.get(form)
    if text is None:
        raise InputError(f"there is no form {form!r}", todo="text, jsonl, csv or page")
    if form == "page" and out is None:
        raise InputError("a page needs a file", todo="name it with --out found.html")
    if form == "page" and out is not None:
        write_pieces(out, page_pieces(found, shown, settings))
    elif out is not None:
        write_whole(out, text())
    else:
        typer.echo(text(), nl=False)
    typer.echo(summary(found), err=True)
    if form == "text" and (named := {place.recording for place in shown if place.recording}):
        elsewhere = " --recordings FOLDER (some are not where they were heard)" if not all(at_hand(name, None) for name in named) else ""
        typer.echo(f"hear them: the same with --as page --out found.html{elsewhere}", err=True)


def _in_words(words: str, parameter: str, given: tuple[str | None, str | None, tuple[str, str] | None], answer: str) -> str:
    below, above, between = given
    parts = [words, parameter, f"below {below}" if below else "", f"above {above}" if above else "", f"between {' and '.join(between)}" if between else "",
             f"answered {answer}" if answer else ""]
    return ", ".join(part for part in parts if part)


@archive_app.command("export")
def export_command(
        archive: ArchiveArgument, out: Annotated[Path, typer.Argument(help="folder for the packages, one a session", show_default=False)],
        session: Annotated[list[str] | None, typer.Option("--session", help="only this session: number, path, title or words of it")] = None,
        sound: Annotated[bool, typer.Option("--with-sound", help="put the recordings in")] = False,
        medical: Annotated[bool, typer.Option("--with-medical/--without-medical", help="keep what is tagged medical")] = True,
        recordings: Annotated[Path | None, typer.Option("--recordings", help="folder in which recordings are looked for by name")] = None,
        address: Annotated[str, typer.Option("--address", help="where the packages will lie (https://...): adds an IIIF manifest")] = "") -> None:
    """Packages for keeping: BagIt folders with checksums, rows as Web Annotations, and where each row comes from."""
    with Archive.open(archive, read_only=True) as opened:
        chosen = [item for name in session for item in sessions_named(opened, name, in_part=True)] if session else opened.all("SELECT * FROM sessions")
    for item in chosen:
        folder = out / f"session-{item['session']:05}"
        with SessionStore.open(Path(item["path"])) as store:
            keep(store, folder, KeepSettings(sound, medical, recordings, f"{address.rstrip('/')}/{folder.name}" if address else ""))
        typer.echo(one_line(f"{folder}: {item['title'] or item['path']}"))
