"""The whole fleet: jobs sent out, progress of all of them as one, results and failures gathered into one list."""
import csv
import io
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from ..desk.whole_files import write_whole
from ..pipeline import Watch
from .cluster import Place, card_resources, connected
from .jobs import Job
from .labour import Done, Loader, Settings, do_job, load

TOPIC = "debrief-progress"
LIST_NAME = "jobs.csv"
HEARING_SHARE = 0.7
"""How much of a job's work counts as done when all of its sound is heard; weighing and handing out are the rest."""
_EVERY_S = 1.0
_RETRIES = 2


def run_fleet(jobs: Sequence[Job], settings: Settings, place: Place, watch: Watch, loader: Loader = load) -> list[Done]:
    """Every job done, found done earlier, or failed with its reason; as many as were given, in their order. Also written as jobs.csv.

    A worker that is lost gives its jobs to others, which go on from the windows it had stored.
    """
    Path(settings.out).mkdir(parents=True, exist_ok=True)
    with connected(place) as client:
        from distributed import as_completed  # noqa: PLC0415 - an extra

        progress = _Progress(jobs, watch)
        client.subscribe_topic(TOPIC, progress.take)
        asks = card_resources(client)
        futures = {client.submit(_labour, number, job, settings, loader, pure=False, retries=_RETRIES, resources=asks): number
                   for number, job in _largest_first(jobs)}
        results: dict[int, Done] = {}
        for future in as_completed(futures):
            number = futures[future]
            results[number] = _result(future, jobs[number])
            progress.finished(number)
        client.unsubscribe_topic(TOPIC)
    done = [results[number] for number in range(len(jobs))]
    write_whole(Path(settings.out) / LIST_NAME, jobs_table(done))
    return done


def _largest_first(jobs: Sequence[Job]) -> list[tuple[int, Job]]:
    """Long jobs begun late would leave the other workers idle at the end."""
    return sorted(enumerate(jobs), key=lambda item: (-item[1].sound_s, item[0]))


def jobs_table(done: Sequence[Done]) -> str:
    """CSV: job, state, folder (its name), hours of sound, rows, what went wrong."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["job", "state", "folder", "sound_h", "rows", "what"])
    for item in done:
        writer.writerow([item.job, item.state, Path(item.folder).name, f"{item.sound_s / 3600:.3f}", item.rows, item.what])
    return out.getvalue()


def _result(future: Any, job: Job) -> Done:
    try:
        return future.result()
    except Exception as error:  # whatever a job dies of, the other jobs go on and it is told
        return Done(job.name, "failed", sound_s=job.sound_s, what=f"{type(error).__name__}: {error}")


def _labour(number: int, job: Job, settings: Settings, loader: Loader) -> Done:
    return do_job(job, settings, loader, _reporter(number))


def _reporter(number: int) -> Watch:
    """Tells the whole fleet's progress, now and then, how far this job is (0 to 1)."""
    from distributed import get_worker  # noqa: PLC0415 - an extra

    worker, told = get_worker(), [0.0]

    def watch(what: str, done: float, whole: float) -> None:
        now = time.monotonic()
        if now - told[0] < _EVERY_S or not whole:
            return
        told[0] = now
        share = min(1.0, done / whole)
        worker.log_event(TOPIC, (number, HEARING_SHARE * share if what.startswith("hearing") else HEARING_SHARE))

    return watch


class _Progress:
    """Hours of sound done over all jobs; never goes back, also when a lost job is begun again."""

    def __init__(self, jobs: Sequence[Job], watch: Callable[[str, float, float], None]) -> None:
        self._sizes = [job.sound_s for job in jobs]
        self._shares = [0.0] * len(jobs)
        self._ended, self._watch = 0, watch

    def take(self, event: tuple[float, tuple[int, float]]) -> None:
        number, share = event[1]
        self._shares[number] = max(self._shares[number], share)
        self._tell()

    def finished(self, number: int) -> None:
        self._shares[number], self._ended = 1.0, self._ended + 1
        self._tell()

    def _tell(self) -> None:
        done = sum(size * share for size, share in zip(self._sizes, self._shares, strict=True))
        self._watch(f"fleet: {self._ended} of {len(self._sizes)} jobs", done, sum(self._sizes))
