"""debrief fleet: many recordings at once, on this machine's processes or on a cluster."""
import os
from pathlib import Path
from typing import Annotated

import typer

from .fleet.cluster import Place, check_address
from .fleet.estimate import Estimate, estimate
from .fleet.jobs import Found, find_jobs
from .hearing.presets import DEFAULT_MODEL

fleet_app = typer.Typer(no_args_is_help=True, add_completion=False, help="Many recordings at once, by several processes or machines.")

FolderArgument = Annotated[Path, typer.Argument(help="folder with sessions and recordings", show_default=False)]
ModelOption = Annotated[str, typer.Option("--model", help="'radio', 'base', a faster-whisper model in the cache, or a folder with one")]
WorkersOption = Annotated[int | None, typer.Option("--workers", help="processes on this machine; two processors for each, where not said", min=1)]
THREADS = 2
"""Processor threads of one job, on every worker: they belong to what decides the text, so they do not follow the machine."""
QUESTIONS = 24.0


@fleet_app.command("estimate")
def estimate_command(folder: FolderArgument, model: ModelOption = DEFAULT_MODEL, workers: WorkersOption = None) -> None:
    """Hours of sound, how much of it is talk (by samples), and how long the work will take; starts nothing."""
    _estimated(find_jobs(folder), model, _workers(workers))


@fleet_app.command("run")
def run_command(folder: FolderArgument, out: Annotated[Path, typer.Option("--out", help="folder for the results", show_default=False)],
                model: ModelOption = DEFAULT_MODEL, workers: WorkersOption = None,
                scheduler: Annotated[str | None, typer.Option(help="tls://host:port of a dask cluster, or tcp:// on loopback")] = None,
                tls: Annotated[str, typer.Option(help="for tls://, three PEM files: AUTHORITY,CERTIFICATE,KEY")] = "") -> None:
    """Run every session and every recording of a folder; safe to repeat, stopped and lost work goes on.

    With --scheduler, recordings and results must lie on a disk that all workers see under the same paths.
    """
    from .cli_progress import progress_bar
    from .fleet.labour import Settings
    from .fleet.work import run_fleet

    place = Place(scheduler, _workers(workers), tuple(part.strip() for part in tls.split(",") if part.strip()))
    check_address(place)
    found = find_jobs(folder)
    _estimated(found, model, place.workers)
    with progress_bar() as watch:
        done = run_fleet(found.jobs, Settings(str(out.resolve()), model, THREADS, QUESTIONS), place, watch)
    for item in done:
        if item.state == "failed":
            typer.echo(f"{item.job}: failed: {item.what}", err=True)
    counts = {state: sum(item.state == state for item in done) for state in ("done", "earlier", "failed")}
    typer.echo(f"{counts['done']} done, {counts['earlier']} done earlier, {counts['failed']} failed, {len(found.refused)} refused; "
               f"{out / 'jobs.csv'} lists them")
    if counts["failed"] or found.refused:
        raise typer.Exit(2)


def _workers(given: int | None) -> int:
    return given or max(1, (os.cpu_count() or 1) // THREADS)


def _estimated(found: Found, model: str, workers: int) -> None:
    from .fleet.labour import load

    for path, why in found.refused:
        typer.echo(f"refused: {path}: {why}", err=True)
    if found.jobs:
        for line in told(estimate(found.jobs, load(model, THREADS), workers, QUESTIONS), len(found.jobs)):
            typer.echo(line)


def told(cost: Estimate, jobs: int) -> list[str]:
    """An estimate in three lines; times are rough, since talk is known by samples alone."""
    sound = (f"{jobs} jobs, {_hours(cost.sound_s)} of sound (all channels); talk in about {100 * cost.talk_share:.0f} % of it "
             f"(sampled: {cost.sampled_s / 60:.0f} min)")
    speed = (f"this machine, one worker: finding talk {_times(cost.find_x)}, hearing talk {_times(cost.hear_x)} real time, "
             f"weighing {cost.weigh_s:.1f} s a question")
    return [sound, speed, f"about {_hours(cost.work_s)} of work, {_hours(cost.waiting_s)} with {cost.workers} workers like this machine's"]


def _times(x: float) -> str:
    return f"{1 / x:.0f} x" if x > 0 else "at once,"


def _hours(seconds: float) -> str:
    return f"{seconds / 60:.0f} min" if seconds < 7200 else f"{seconds / 3600:.1f} h"
