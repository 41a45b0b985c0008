"""Rounds of kills, each with a seed and a count: runs, harvests, edits, exports and erasures, killed at random moments and gone on with.

Each function returns how many kills truly met the work (a child that was done before its moment is not counted) and raises
AssertionError at the first thing lost.
"""
import json
import os
import random
import shutil
import zipfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from killing import Small, in_child, integrity, left_over, small_session, text_of
from steady_recogniser import SteadyRecogniser

from debrief.archive.adding import add
from debrief.archive.shape import Archive
from debrief.archive.verifying import verify
from debrief.desk.handout import write_run
from debrief.desk.whole_files import sweep
from debrief.harvest.talk import Talk
from debrief.hearing.models import load_recogniser
from debrief.hearing.recogniser import Recogniser
from debrief.pipeline import harvest_transcripts
from debrief.session import Session, load_session
from debrief.store import edits
from debrief.store.erase import erase
from debrief.store.sessions import SessionStore

SECONDS = 40.0
"""Of sound in the session that is killed; the short form takes less."""
assert Talk  # loaded here, so that no child spends its short life importing


def _moments(seed: int, count: int, work: Callable[[], object], took_s: float | None = None) -> Iterator[float]:
    """Seconds after which to kill, spread over the length of the work when nobody disturbs it; took_s: where it was clocked already."""
    length_s = took_s if took_s is not None and count <= 5 else min(in_child(work) for _ in range(2 if count > 5 else 1))
    rng = random.Random(seed)
    yield from (rng.uniform(0.02, 0.98) * length_s for _ in range(count))


def heard(folder: Path, seed: int, count: int) -> int:
    """The same as `runs` with the real recogniser, loaded anew in every child."""
    return runs(folder, seed, count, load_recogniser)


def runs(folder: Path, seed: int, count: int, load: Callable[[], Recogniser] = SteadyRecogniser) -> int:
    """A run is killed, goes on, and leaves the text of an undisturbed one, a sound store and no leftovers."""
    small = small_session(folder / "session", SECONDS, 115.0)
    took_s = in_child(lambda: small.run(folder / "undisturbed", load()))
    expected, met = text_of(folder / "undisturbed"), 0
    assert len(expected) > 100
    for place, moment in enumerate(_moments(seed, count, lambda: small.run(folder / "clocked", load()), took_s)):
        out = folder / f"out{place}"
        work = partial(_run, small, out, load)
        met += _killed(work, moment, out / "sheet.html")
        assert integrity(out) == []
        in_child(work)
        assert text_of(out) == expected, f"kill {place} after {moment:.3f} s"
        assert integrity(out) == []
        assert left_over(out) == []
        with SessionStore.open(out, read_only=True) as store:
            assert len(store.passes()) <= 2  # a second one only where the kill came after the end
        shutil.rmtree(out)
    return met


def _run(small: Small, out: Path, load: Callable[[], Recogniser]) -> None:
    small.run(out, load())


def _killed(work: Callable[[], object], moment: float, last: Path) -> bool:
    in_child(work, moment)
    return not last.exists()


def harvests(folder: Path, seed: int, count: int) -> int:
    """Tables of a transcript are whole or not there, and equal the undisturbed ones once the command is given again."""
    lines = [{"t": 4.0 * i, "end_s": 4.0 * i + 3, "speaker": "Cabin", "text": f"Tank pressure is {i} decimal {i % 10} bar. Door force is a {i % 5}."}
             for i in range(150)]
    folder.mkdir(parents=True, exist_ok=True)
    transcript = folder / "talk.jsonl"
    transcript.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    expected = _after(lambda: harvest_transcripts([str(transcript)], Session(), folder / "undisturbed"), folder / "undisturbed")
    met = 0
    for place, moment in enumerate(_moments(seed, count, lambda: harvest_transcripts([str(transcript)], Session(), folder / "clocked"))):
        out = folder / f"out{place}"
        work = partial(harvest_transcripts, [str(transcript)], Session(), out)
        met += _killed(work, moment, out / "datapackage.json")
        for path in out.glob("*.csv"):
            assert path.read_bytes() == expected[path.name]
        assert _after(work, out) == expected
        assert left_over(out) == []
        shutil.rmtree(out)
    return met


def _after(work: Callable[[], object], out: Path) -> dict[str, bytes]:
    work()
    return {path.name: path.read_bytes() for path in sorted(out.glob("*")) if path.suffix in (".csv", ".json")}


def edits_made(folder: Path, seed: int, count: int) -> int:
    """Every edit that was confirmed before the kill stands after it, with who made it and what the person saw."""
    small = small_session(folder / "session", SECONDS, 115.0, first_sheet=False)
    out, met = folder / "out", 0
    small.run(out)
    told, rng = folder / "confirmed", random.Random(seed)
    told.write_bytes(b"")
    for place in range(count):
        before = told.read_bytes().count(b"\n")
        in_child(partial(_edit_on, out, told, f"person {place}"), rng.uniform(0.05, 0.4))
        confirmed = [json.loads(line) for line in told.read_bytes().splitlines()]
        met += len(confirmed) > before
        assert integrity(out) == []
        with SessionStore.open(out) as store:
            deeds = {(deed.edit, deed.who) for deed in edits.deeds(store.db)}
            assert {tuple(item) for item in confirmed} <= deeds
            for row in store.rows():
                assert row.number is not None
    return met


def _edit_on(out: Path, told: Path, who: str) -> None:
    """Notes on rows, one after the other, each told to the outside only when it is confirmed."""
    handle = os.open(told, os.O_WRONLY | os.O_APPEND)
    with SessionStore.open(out) as store:
        numbers = [row.number or 0 for row in store.rows()]
        while True:
            for number in numbers:
                edits.accept(store.db, number, edits.standing(store.db, number).revision, who)
                edit = edits.deeds(store.db, number)[0].edit
                os.write(handle, (json.dumps([edit, who]) + "\n").encode())


def exports(folder: Path, seed: int, count: int) -> int:
    """What people take away is whole or not there: each file equals the undisturbed one, or is a whole archive."""
    small = small_session(folder / "session", SECONDS, 115.0, first_sheet=False)
    out, met = folder / "out", 0
    small.run(out)
    session, _ = load_session(small.folder / "session.toml")
    expected = _files(out)
    for place, moment in enumerate(_moments(seed, count, lambda: _write(out, session))):
        for name in list(expected)[::2]:
            (out / name).unlink(missing_ok=True)
        in_child(lambda: _write(out, session), moment)
        for name, content in _files(out).items():
            if name.endswith(".xlsx"):
                with zipfile.ZipFile(out / name) as book:
                    assert book.testzip() is None
            elif name.endswith(".html"):  # its sound carries the random numbers of the container
                assert content.rstrip().endswith(b"</html>")
                assert abs(len(content) - len(expected[name])) < 2000
            else:
                assert content == expected[name], name
        met += _files(out).keys() != expected.keys() or bool(left_over(out))
        if place % 10:
            for part in (out, out / "tables"):
                sweep(part)
            _write(out, session)
        else:  # the whole command again, which finds the session done
            small.run(out)
        assert left_over(out) == []
        assert _files(out).keys() == expected.keys()
    return met


def _write(out: Path, session: Session) -> None:
    with SessionStore.open(out) as store:
        write_run(store, session, out, store.recordings())


def _files(out: Path) -> dict[str, bytes]:
    return {str(path.relative_to(out)): path.read_bytes() for path in sorted(out.rglob("*"))
            if path.is_file() and not path.name.startswith("debrief.sqlite")
            and not any(part.startswith(".") for part in path.relative_to(out).parts)}


def erasures(folder: Path, seed: int, count: int) -> int:
    """Erasing that was killed is either not done at all, or done to the last byte once the store is opened and closed again."""
    small: Small = small_session(folder / "session", SECONDS, 115.0, first_sheet=False)
    small.run(folder / "whole")
    word, number = _a_word(folder / "whole")
    met = 0
    for place, moment in enumerate(_moments(seed, count, lambda: _erase(_copy(folder / "whole", folder / "clocked"), number))):
        out = _copy(folder / "whole", folder / f"out{place}")
        assert word in _raw(out)
        in_child(partial(_erase, out, number), moment)
        assert integrity(out) == []
        with SessionStore.open(out) as store:
            gone = number not in {row.number for row in store.rows()}
        assert gone == (word not in _raw(out))
        met += not gone or _raw(out) != b""
        shutil.rmtree(out)
    return met


def archived(folder: Path, seed: int, count: int) -> int:
    """Sessions put into an archive: killed and gone on with, it holds what an undisturbed one holds, and verifies."""
    stores = []
    for place in range(4):
        small_session(folder / f"session{place}", 15.0, 100.0 + 40 * place, first_sheet=False).run(folder / f"store{place}")
        stores.append(folder / f"store{place}")
    _archive(folder / "undisturbed", stores)
    expected, met = _in_archive(folder / "undisturbed"), 0
    assert len(expected) == len(stores)
    for place, moment in enumerate(_moments(seed, count, lambda: _archive(folder / f"clocked{os.getpid()}", stores))):
        out = folder / f"archive{place}"
        in_child(partial(_archive, out, stores), moment)
        met += not out.exists() or _in_archive(out) != expected
        _archive(out, stores)
        assert _in_archive(out) == expected
        with Archive.open(out) as archive:
            assert archive.integrity_faults() == []
            assert list(verify(archive, read_all=True)) == []
        shutil.rmtree(out)
    return met


def _archive(out: Path, stores: list[Path]) -> None:
    with Archive.create(out) as archive:
        assert all(outcome.what != "set aside" for outcome in add(archive, stores))


def _in_archive(out: Path) -> list[tuple[str, int, int]]:
    if not any(out.glob("*")):
        return []
    with Archive.create(out) as archive:
        return [(item["path"], item["end_turn"] - item["first_turn"], item["end_row"] - item["first_row"])
                for item in archive.all("SELECT * FROM sessions ORDER BY path")]


def _a_word(out: Path) -> tuple[bytes, int]:
    """A row told of by hand whose text stands nowhere else, and its number."""
    with SessionStore.open(out) as store:
        first = store.rows()[0]
        made = edits.change(store.db, first.number or 0, edits.standing(store.db, first.number or 0).revision,
                            {next(iter(first.fields)): "xyzzy unmistakable"}, "Ida")
    return b"xyzzy unmistakable", made.number or 0


def _copy(source: Path, target: Path) -> Path:
    shutil.rmtree(target, ignore_errors=True)
    target.mkdir()
    for path in source.glob("debrief.sqlite*"):
        shutil.copy(path, target)
    return target


def _erase(out: Path, number: int) -> None:
    with SessionStore.open(out) as store:
        erase(store.db, "Ida", "wish of the speaker", numbers=[number])


def _raw(out: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(out.glob("debrief.sqlite*")))


ROUNDS: dict[str, Callable[[Path, int, int], int]] = {
    "runs": runs, "heard": heard, "harvests": harvests, "edits": edits_made, "exports": exports, "erasures": erasures, "archive": archived}
