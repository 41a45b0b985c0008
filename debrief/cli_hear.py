"""debrief hear --try: which model hears your own loops best, on minutes whose words you know."""
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from .errors import InputError
from .model_trial import Tried, marked_minutes, try_models
from .session import find_session, load_session


def hear_command(models: Annotated[list[str], typer.Argument(help="'radio', 'base', any faster-whisper model's name, or a folder", show_default=False)],
                 sound: Annotated[Path, typer.Option(help="recording that holds the minutes; FILE:1 is its second channel", show_default=False)],
                 truth: Annotated[Path, typer.Option(help="all that was said in them: JSON Lines, WebVTT, SubRip or CTM with times",
                                                     show_default=False)],
                 trial: Annotated[bool, typer.Option("--try", help="try the models and compare them; nothing else is kept")] = False,
                 minutes: Annotated[float, typer.Option(help="how much of the recording is heard", min=0.1)] = 3.0,
                 begin: Annotated[float | None, typer.Option("--from", help="second at which the minutes begin; else at the first line")] = None,
                 session: Annotated[Path | None, typer.Option("--session", help="session file, or its folder: its words help each model as in a run")] = None,
                 ) -> None:
    """Compare models on minutes of your own, heard as `debrief run` would hear them: words wrong and left out, numbers right, speed.

    Nothing is fetched: `debrief fetch --model NAME` does that, where a network is there.
    """
    from .hearing.models import load_recogniser

    if not trial:
        raise InputError("say what to do with these models", todo="`debrief hear --try radio base --sound FILE --truth FILE` compares them")
    planned = None if session is None else load_session(find_session(session))[0]
    path, channel = channel_of(sound)
    marked = marked_minutes(path, truth, channel, minutes, begin)
    typer.echo(f"{marked.seconds / 60:.1f} min of sound, {len(marked.truth)} true words")
    for line in table(try_models(models, marked, load_recogniser, planned)):
        typer.echo(line)


def channel_of(given: Path) -> tuple[Path, int]:
    """'loop.wav:1' is the channel counted from 0 behind the last colon, where no file bears the whole name."""
    name, colon, channel = str(given).rpartition(":")
    return (Path(name), int(channel)) if colon and channel.isdigit() and not given.exists() else (given, 0)


def table(tried: Sequence[Tried]) -> list[str]:
    """One line a model under a heading; figures in per cent of the true words and numbers."""
    width = max(len("model"), *(len(item.model) for item in tried))
    lines = [f"{'model':{width}}  word error  left out   added  numbers right  x real time"]
    for item in tried:
        if item.problem:
            lines.append(f"{item.model:{width}}  not tried: {item.problem}")
            continue
        numbers = f"{item.numbers_right} of {item.numbers}"
        lines.append(f"{item.model:{width}}  {100 * item.word_error:8.1f} %  {_share(item.deleted, item, 6)}  {_share(item.inserted, item, 4)}"
                     f"  {numbers:>13}  {item.seconds / item.work_s if item.work_s else 0:11.1f}")
    return lines


def _share(count: int, item: Tried, width: int) -> str:
    return f"{100 * count / max(1, item.words):{width}.1f} %"
