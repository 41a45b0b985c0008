"""What is excluded, erased or medical is gone: from rows, words, search, files and sound, searched for in the raw bytes."""
import hashlib
import os
import re
import tempfile
import wave
import zipfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest
from killing import in_child, left_over, small_session
from steady_recogniser import SteadyRecogniser
from trust_cli import call, voices_by_spectrum_alone  # noqa: F401

from debrief import cli
from debrief.archive.adding import add
from debrief.archive.keeping import keep
from debrief.archive.shape import Archive
from debrief.demo_files import demo_folder
from debrief.desk import formats
from debrief.desk.distribution import CopySettings, copy_session
from debrief.errors import SessionFileError
from debrief.hearing.clips import clip
from debrief.hearing.recogniser import HeardSegment, Sound
from debrief.hearing.recording import probe, read_open, read_span
from debrief.hearing.speech_spans import account
from debrief.pipeline import RunSettings, run
from debrief.records.sound import Recording, Source
from debrief.session import load_session
from debrief.store.erase import erase, kept_of_excluded
from debrief.store.sessions import SessionStore
from debrief.timebase import Span


class Telltale(SteadyRecogniser):
    """Ends every segment with a word that no other sound gives, and remembers all sound it was given."""

    def __init__(self, salt: str = "") -> None:
        super().__init__()
        self.given: list[Sound] = []
        self._salt = salt

    def _segment(self, text: str, start_s: float, length_s: float) -> HeardSegment:
        mark = hashlib.sha256(f"{self._salt} {len(self.given)} {start_s}".encode()).hexdigest()[:10]
        return super()._segment(f"{text} zq{mark}", start_s, length_s)

    def hear(self, sound, hints):
        self.given.append(sound)
        return super().hear(sound, hints)


def run_here(folder: Path, out: Path, recogniser: SteadyRecogniser, extra: str = "") -> SessionStore:
    text = (folder / "session.toml").read_text(encoding="utf-8")
    (folder / "session.toml").write_text(text + extra, encoding="utf-8")
    session, _ = load_session(folder / "session.toml", to_hear=True)
    return run(session, folder, out, recogniser, RunSettings())


def raw(folder: Path) -> bytes:
    """Every byte of every file, and what lies packed in them."""
    return b"\0".join(path.read_bytes() + unpacked(path) for path in sorted(folder.rglob("*")) if path.is_file())


def unpacked(path: Path) -> bytes:
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            return b"\0".join(book.read(name) for name in book.namelist())
    if path.suffix == ".parquet":
        table = pq.read_table(path)
        return f"{table.schema}{table.to_pylist()}".encode()
    return b""


def stored(folder: Path) -> bytes:
    """The store alone, its free pages and its log."""
    return b"\0".join(path.read_bytes() for path in sorted(folder.glob("debrief.sqlite*")))


def marks(store: SessionStore) -> dict[str, tuple[Source, Span]]:
    """Every telltale word with its place."""
    return {found[0]: (segment.source, word.span) for item in store.passes() for segment in store.segments(item.number)
            for word in segment.words if (found := re.match(r"zq[0-9a-f]{10}", word.text))}


def test_an_erased_span_is_in_no_byte_of_the_store_and_is_never_heard_again(tmp_path):
    small = small_session(tmp_path / "session", first_sheet=False)
    with run_here(small.folder, tmp_path / "out", Telltale()) as store:
        found = marks(store)
        assert len(found) >= 4
        for mark, place in found.items():
            assert mark.encode() in stored(tmp_path / "out")
            erase(store.db, "Ida", "wish of the speaker", [place])
            assert mark not in marks(store)
            assert mark.encode() not in stored(tmp_path / "out")  # while the store is open, its log beside it
    session, _ = load_session(small.folder)
    again = Telltale("again")
    with run(session, small.folder, tmp_path / "out", again, RunSettings()) as store:
        assert (place[0].channel, place[1]) in next(r for r in store.recordings() if r.recording == place[0].recording).kept_out
        held = [item.held_as for item in store.stretches(2) if item.source == place[0] and item.span.overlap(place[1])]
        assert set(held) == {"excluded"}
    assert not [mark for mark in found if mark.encode() in raw(tmp_path / "out")]


def test_erasing_by_command_reaches_every_file_that_was_written(tmp_path, monkeypatch, capsys):
    small = small_session(tmp_path / "session", first_sheet=False)
    with run_here(small.folder, tmp_path / "out", Telltale()) as store:
        mark, place = max(marks(store).items(), key=lambda item: item[1][1].start)
        at_s = store.recordings()[0].clock.to_session_s(place[1].start_s)
    assert [path.name for path in (tmp_path / "out").rglob("*") if path.is_file() and mark.encode() in path.read_bytes()]
    told = call(monkeypatch, capsys, "erase", str(tmp_path / "out"), "--by", "Ida", "--why", "wish", "--from", f"0:00:{int(at_s):02d}",
                "--to", "0:00:40", "--yes")
    assert told.code == 0, told.err
    assert mark.encode() not in raw(tmp_path / "out")


def dies_after(calls: int) -> Callable[..., object]:
    """Stands in for a function that writes cells: the process is gone at its so-manieth call."""
    left = iter(range(calls))
    real = formats._text
    return lambda *given, **more: real(*given, **more) if next(left, None) is not None else os._exit(9)


def test_what_killed_writers_left_lies_in_the_session_alone_and_is_erased_too(tmp_path, monkeypatch, capsys):
    small = small_session(tmp_path / "session", seconds=20, first_sheet=False)
    with run_here(small.folder, tmp_path / "out", Telltale(), TAGS) as store:
        mark = max(marks(store))
    (tmp_path / "system").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "system"))

    def work(verb: str) -> None:
        formats._text = dies_after(200)
        cli.app([verb, str(tmp_path / "out"), *(["--out", str(tmp_path / "copy")] if verb == "copy" else [])])

    for verb in ("tables", "copy"):
        with pytest.raises(RuntimeError):
            in_child(partial(work, verb))
    left = [path for path in (tmp_path / "out").rglob("*.partial/*") if path.is_file()]
    assert {path.parent.name.split("-")[0] for path in left} == {".workbook", ".copy"}
    assert mark.encode() in b"".join(path.read_bytes() for path in left)
    assert list((tmp_path / "system").iterdir()) == []
    told = call(monkeypatch, capsys, "erase", str(tmp_path / "out"), "--by", "Ida", "--why", "wish", "--from", "0:00:00", "--to", "0:00:40", "--yes")
    assert told.code == 0, told.err
    assert mark.encode() not in raw(tmp_path / "out")
    assert left_over(tmp_path / "out") == []


@pytest.mark.parametrize("extra", [
    '\n[[excluded]]\nloop = "Cabin"\n', '\n[[excluded]]\nrecording = "piece.wav"\nloop = "CB"\n'])
def test_an_excluded_loop_is_never_given_to_the_recogniser(tmp_path, extra):
    """By its name and by its code."""
    small = small_session(tmp_path / "session", first_sheet=False)
    file = small.folder / "session.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(re.sub(r'(\[\[loops\]\]\nname = "Cabin"\n)(code = .*\n)?', r'\1code = "CB"\n', text), encoding="utf-8")
    heard = Telltale()
    with run_here(small.folder, tmp_path / "out", heard, extra) as store:
        assert {item.source.channel for item in store.segments(1)} == {0}
        assert [(item.span, item.held_as) for item in store.stretches(1) if item.source.channel == 1] == [
            (Span(0, store.recordings()[0].duration), "excluded")]
        assert store.unaccounted(1) == []
    assert heard.given


@pytest.fixture(scope="module")
def excluded_later(tmp_path_factory):
    """A run, and another after one stretch was excluded: folder of the run, a word said in that stretch, its place, what was printed."""
    folder = tmp_path_factory.mktemp("excluded_later")
    small = small_session(folder / "session", seconds=20, at_s=115, first_sheet=False)
    with run_here(small.folder, folder / "out", Telltale()) as store:
        mark, place = max(marks(store).items(), key=lambda item: item[1][1].start)
    assert mark.encode() in b"".join(path.read_bytes() for path in (folder / "out").iterdir() if path.suffix in (".vtt", ".html", ".jsonl"))
    file = small.folder / "session.toml"
    file.write_text(f"{file.read_text(encoding='utf-8')}\n[[excluded]]\nfrom_s = {place[1].start_s - 1:.1f}\nto_s = {place[1].end_s + 1:.1f}\n",
                    encoding="utf-8")
    return small.folder, folder / "out", mark, place


def test_reading_again_refuses_an_exclusion_that_was_added_since_and_a_run_takes_it_out_of_everything(excluded_later, monkeypatch, capsys, tmp_path):
    session, out, mark, place = excluded_later
    told = call(monkeypatch, capsys, "reread", str(session), "--out", str(out), "--yes")
    assert told.code == 2
    assert "excludes other sound than before" in told.err
    told = call(monkeypatch, capsys, "run", str(session), "--out", str(out))
    assert told.code == 0, told.err
    assert "Sound that is excluded now was heard by a run before." in told.out
    held = [path.name for path in out.rglob("*") if path.is_file() and mark.encode() in path.read_bytes() + unpacked(path)]
    assert held == ["debrief.sqlite"]  # the pass before it, until somebody erases
    with SessionStore.open(out) as store:
        assert not [row for row in store.rows() if mark in str(row)]
        assert not store.db.all("SELECT 1 FROM row_words WHERE row_words MATCH ?", (mark,))
        assert not store.db.all("SELECT 1 FROM turn_words WHERE turn_words MATCH ?", (mark,))
        assert not read_open(store.recordings()[0], place[0].channel, place[1]).any()  # so in every clip
        copy_session(store, tmp_path / "copy", CopySettings(medical=True))
        keep(store, tmp_path / "bag")
        with Archive.create(tmp_path / "archive") as archive:
            assert [item.what for item in add(archive, [out])] == ["added"]
    for name in ("copy", "bag", "archive"):
        assert mark.encode() not in raw(tmp_path / name), name
    at = [f"0:00:{second:02d}" for second in (int(place[1].start_s - 1), int(place[1].end_s) + 3)]
    assert call(monkeypatch, capsys, "erase", str(out), "--by", "Ida", "--why", "wish", "--from", at[0], "--to", at[1], "--yes").code == 0
    assert mark.encode() not in raw(out)
    with SessionStore.open(out) as store:
        assert kept_of_excluded(store.db) == []


def loaded(folder: Path, session: str, campaign: str = ""):
    (folder / "campaign.toml").write_text(campaign, encoding="utf-8")
    (folder / "session.toml").write_text(session, encoding="utf-8")
    return load_session(folder / "session.toml")[0]


TWO_LOOPS = 'campaign = "campaign.toml"\n[[recordings]]\nfile = "a.wav"\nchannels = ["Line", "Cabin"]\n'


@pytest.mark.parametrize(("session", "says"), [
    ('[[exclude]]\nloop = "Cabin"\n', "exclude: unknown key (did you mean 'excluded'? it would keep nothing in as it stands)"),
    ('[[exclusions]]\nloop = "Cabin"\n', "exclusions: unknown key (did you mean 'excluded'? it would keep nothing in as it stands)"),
    ('[[excluded]]\nloop = "Cabbin"\n', "line 6 excluded[0].loop: no channel is said to hold the loop 'Cabbin' (did you mean 'Cabin'?)"),
    ('[[excluded]]\nrecording = "b.wav"\n', "line 6 excluded[0].recording: no recording is named 'b.wav' (did you mean 'a.wav'?)"),
    ('[[parameters]]\nwhat = "heart rate"\nmedcal = true\n',
     "line 7 parameters[0].medcal: unknown key (did you mean 'medical'? it would keep nothing in as it stands)")])
def test_a_barrier_that_is_misspelt_is_a_fault_and_not_a_warning(tmp_path, session, says):
    with pytest.raises(SessionFileError) as refusal:
        loaded(tmp_path, TWO_LOOPS + session)
    assert [str(fault) for fault in refusal.value.faults if not fault.warning] == [says]


def test_what_a_campaign_keeps_in_stays_in_whatever_the_session_adds(tmp_path):
    campaign = ('[[excluded]]\nloop = "Cabin"\n[[parameters]]\nwhat = "heart rate"\nmedical = true\n[[parameters]]\nwhat = "cuff"\nmedical = true\n'
                '[[parameters]]\nwhat = "load"\n')
    own = '[[excluded]]\nto_s = 5\n[[parameters]]\nwhat = "heart rate"\nunit = "bpm"\n[[parameters]]\nwhat = "cuff"\nmedical = false\n'
    found = loaded(tmp_path, TWO_LOOPS + own, campaign)
    assert {(item.loop, item.to_s) for item in found.excluded} == {("Cabin", None), (None, 5.0)}
    assert found.medical_names() == {"heart rate"}
    assert {item.what: item.unit for item in found.parameters}["heart rate"] == "bpm"


def test_an_excluded_span_is_silent_in_every_clip(tmp_path):
    small = small_session(tmp_path / "session", first_sheet=False)
    with run_here(small.folder, tmp_path / "out", Telltale(), '\n[[excluded]]\nrecording = "piece.wav"\nfrom_s = 5\nto_s = 20\n') as store:
        recording = store.recordings()[0]
        for channel in (0, 1):  # in pieces, where other reasons begin inside it
            pieces = sorted(span for of, span in recording.kept_out if of == channel)
            assert (pieces[0].start_s, pieces[-1].end_s, sum(span.duration_s for span in pieces)) == (5.0, 20.0, 15.0)
        assert not [item for item in store.segments(1) if item.span.overlap(Span.of_seconds(5, 20))]
    sound = read_open(recording, 0, Span.of_seconds(4, 21))
    assert not sound[16_000:16 * 16_000].any()
    assert sound[:16_000].any()
    assert len(clip(recording, Source("r1", 0), Span.of_seconds(6, 19))) < len(clip(recording, Source("r1", 0), Span.of_seconds(21, 34))) / 2


def test_excluded_sound_decides_nothing(tmp_path):
    """Whatever is said in an excluded span, the account of all the rest is the same."""
    talk = read_span(demo_folder() / "line_and_cabin.opus", 0, Span.of_seconds(100, 130))
    other = talk.copy()
    other[8 * 16_000:16 * 16_000] = np.roll(talk, 5 * 16_000)[8 * 16_000:16 * 16_000]
    accounts = []
    for place, sound in enumerate((talk, other)):
        path = tmp_path / f"{place}.wav"
        with wave.open(str(path), "wb") as file:
            file.setparams((1, 2, 16_000, 0, "NONE", ""))
            file.writeframes((sound * 32_767).astype("<i2").tobytes())
        accounts.append(account(Recording("r1", str(path), "", len(sound), 16_000, 1), excluded=[Span.of_seconds(8, 16)]))
    assert accounts[0] == accounts[1]


def test_what_is_told_of_a_recording_stays_with_its_sound_when_the_list_changes(tmp_path):
    """An erasure in one file must not move to another because a third was put before it."""
    small = small_session(tmp_path / "session", seconds=15, first_sheet=False)
    with run_here(small.folder, tmp_path / "out", Telltale()) as store:
        _, place = next(iter(marks(store).items()))
        erase(store.db, "Ida", "wish", [place])
    first = small_session(tmp_path / "other", seconds=15, at_s=200, first_sheet=False).folder / "piece.wav"
    first.rename(small.folder / "first.wav")
    text = (small.folder / "session.toml").read_text(encoding="utf-8")
    (small.folder / "session.toml").write_text(text.replace('[[recordings]]', '[[recordings]]\nfile = "first.wav"\n\n[[recordings]]', 1), encoding="utf-8")
    with run_here(small.folder, tmp_path / "out", Telltale()) as store:
        names = {Path(item.path).name: item.recording for item in store.recordings()}
        assert names == {"piece.wav": "r1", "first.wav": "r2"}
        assert {item.source for item in store.stretches(2) if item.held_as == "excluded"} == {place[0]}


def test_the_same_sound_under_two_names_is_two_recordings(tmp_path):
    small = small_session(tmp_path / "session", seconds=15, first_sheet=False)
    (small.folder / "twin.wav").write_bytes((small.folder / "piece.wav").read_bytes())
    text = (small.folder / "session.toml").read_text(encoding="utf-8")
    (small.folder / "session.toml").write_text(text.replace('[[recordings]]', '[[recordings]]\nfile = "twin.wav"\n\n[[recordings]]', 1), encoding="utf-8")
    for _ in range(2):
        with run_here(small.folder, tmp_path / "out", SteadyRecogniser()) as store:
            assert [Path(item.path).name for item in store.recordings()] == ["twin.wav", "piece.wav"]


# copies for others


class Medic(SteadyRecogniser):
    """Speaks of a heart rate in the first window, and answers with a value nobody else says."""

    def __init__(self) -> None:
        super().__init__()
        self._windows = 0

    def hear(self, sound, hints):
        self._windows += 1
        texts = ("Cabin, Medic, read me your heart rate, zqmention.", "Heart rates are one two seven, zqvalue.") if self._windows == 1 else (
            "Cabin, Line, wind two seven zero at one five knots.", "Tank pressure is three four point three zero bar zqharmless.")
        half_s = len(sound) / 16_000 / 2
        return tuple(self._segment(text, place * half_s, half_s) for place, text in enumerate(texts))


TAGS = '\n[[parameters]]\nwhat = "heart rate"\nunit = "bpm"\nmedical = true\n\n[[limits]]\nwhat = "heart rate"\nmax = 173\n'


@pytest.fixture(scope="module")
def medical(tmp_path_factory):
    """A folder with a session and its run; nobody writes to it."""
    folder = tmp_path_factory.mktemp("medical")
    small = small_session(folder / "session", seconds=150, first_sheet=False)
    run_here(small.folder, folder / "out", Medic(), TAGS).close()
    return small.folder, folder / "out"


def test_a_copy_for_others_holds_nothing_medical_in_any_byte(medical, tmp_path):
    _, out = medical
    for word in (b"zqmention", b"zqvalue", b"127", b"173", b"zqharmless", str(out.parent).encode()):
        assert word in raw(out)
    with SessionStore.open(out) as store:
        left = copy_session(store, tmp_path / "copy", CopySettings(sound=True))
        spans = [item for item in store.segments(1) if "zqvalue" in item.text or "zqmention" in item.text]
        whole = store.recordings()[0]
    assert left.rows >= 1
    files = {str(path.relative_to(tmp_path / "copy")): path for path in (tmp_path / "copy").rglob("*") if path.is_file()}
    assert {"debrief.sqlite", "sheet.html", "readouts.csv", "transcript.vtt", "piece.wav", "tables/debrief.xlsx"} <= set(files)
    for name, path in files.items():
        content = path.read_bytes() + unpacked(path)
        for word in (b"zqmention", b"zqvalue", b"heart rate", b"Heart rate", str(out.parent).encode()):
            assert word not in content, (name, word)
    assert b"zqharmless" in files["debrief.sqlite"].read_bytes()
    assert b"zqharmless" in files["transcript.vtt"].read_bytes()
    with SessionStore.open(tmp_path / "copy") as copy:
        assert copy.db.integrity_faults() == []
        assert not [row for row in copy.rows() if str(row.get("value")) == "127"]
        assert {item.origin for row in copy.rows() for item in row.fields.values()}
    assert probe(files["piece.wav"]).duration_s == pytest.approx(whole.duration / 16_000, abs=0.01)
    for item in spans:
        assert not read_span(files["piece.wav"], item.source.channel, item.span).any()
        assert read_span(Path(whole.path), item.source.channel, item.span).any()
    harmless = Span.of_seconds(140, 145)
    assert np.allclose(read_span(files["piece.wav"], 0, harmless), read_span(Path(whole.path), 0, harmless), atol=1e-3)


def test_the_original_keeps_everything(medical, tmp_path):
    _, out = medical
    with SessionStore.open(out) as store:
        before = store.rows()
        copy_session(store, tmp_path / "copy", CopySettings())
        assert store.rows() == before
        copy_session(store, tmp_path / "whole", CopySettings(medical=True))
    assert b"zqvalue" in (tmp_path / "whole" / "transcript.vtt").read_bytes()


@pytest.mark.parametrize(("tags", "says"), [
    ("", ("nothing is tagged medical, so nothing can be left out\n  What to do: write medical = true at the parameters in the session file and "
         "name it with --session, or say --with-medical")),
    (TAGS, "{copy}: a session lies there already\n  What to do: give an empty folder, so that nothing of an older copy stays in it")])
def test_copies_that_would_mislead_are_refused(tmp_path, tags, says):
    from debrief.errors import InputError

    small = small_session(tmp_path / "session", seconds=10, first_sheet=False)
    file = small.folder / "session.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("medical = true", ""), encoding="utf-8")
    with run_here(small.folder, tmp_path / "out", Medic(), tags) as store:
        if tags:
            copy_session(store, tmp_path / "copy", CopySettings())
        with pytest.raises(InputError) as refusal:
            copy_session(store, tmp_path / "copy", CopySettings())
    assert str(refusal.value) == says.format(copy=tmp_path / "copy")
    if not tags:
        assert not (tmp_path / "copy").exists()


@pytest.mark.parametrize(("text", "within"), [
    ("heart rate", True), ("HEART RATES are", True), ("heartrate 80", True), ("the heart, rate it", True), ("heart of the rate", False),
    ("hearty rated", False), ("", False), ("O2 saturation", True), ("saturation", False)])
def test_names_are_found_in_talk(text, within):
    from debrief.store.medical import Names

    assert Names(["Heart rate", "o2 saturation"]).within(text) == within
