"""What is excluded, erased or medical is gone: from rows, words, search, files and sound, searched for in the raw bytes."""
import hashlib
import re
import wave
from pathlib import Path

import numpy as np
import pytest
from killing import small_session
from steady_recogniser import SteadyRecogniser

from debrief.demo_files import demo_folder
from debrief.hearing.clips import clip
from debrief.hearing.recogniser import HeardSegment, Sound
from debrief.hearing.recording import read_open, read_span
from debrief.hearing.speech_spans import account
from debrief.pipeline import RunSettings, run
from debrief.records.sound import Recording, Source
from debrief.session import load_session
from debrief.store.erase import erase
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
    return b"\0".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def stored(folder: Path) -> bytes:
    """The store alone, its free pages and its log."""
    return b"\0".join(path.read_bytes() for path in sorted(folder.glob("debrief.sqlite*")))


def marks(store: SessionStore) -> dict[str, tuple[Source, Span]]:
    """Every telltale word with its place."""
    return {found[0]: (segment.source, word.span) for item in store.passes() for segment in store.segments(item.number)
            for word in segment.words if (found := re.match(r"zq[0-9a-f]{10}", word.text))}


def test_an_erased_span_is_in_no_byte_of_the_store_and_is_never_heard_again(tmp_path):
    small = small_session(tmp_path / "session")
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


@pytest.mark.parametrize("extra", [
    '\n[[excluded]]\nloop = "Cabin"\n', '\n[[excluded]]\nrecording = "piece.wav"\nloop = "CB"\n'])
def test_an_excluded_loop_is_never_given_to_the_recogniser(tmp_path, extra):
    """By its name and by its code."""
    small = small_session(tmp_path / "session")
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


def test_an_excluded_span_is_silent_in_every_clip(tmp_path):
    small = small_session(tmp_path / "session")
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
    small = small_session(tmp_path / "session")
    with run_here(small.folder, tmp_path / "out", Telltale()) as store:
        _, place = next(iter(marks(store).items()))
        erase(store.db, "Ida", "wish", [place])
    first = small_session(tmp_path / "other", at_s=200).folder / "piece.wav"
    first.rename(small.folder / "first.wav")
    text = (small.folder / "session.toml").read_text(encoding="utf-8")
    (small.folder / "session.toml").write_text(text.replace('[[recordings]]', '[[recordings]]\nfile = "first.wav"\n\n[[recordings]]', 1), encoding="utf-8")
    with run_here(small.folder, tmp_path / "out", Telltale()) as store:
        names = {Path(item.path).name: item.recording for item in store.recordings()}
        assert names == {"piece.wav": "r1", "first.wav": "r2"}
        assert {item.source for item in store.stretches(2) if item.held_as == "excluded"} == {place[0]}


def test_the_same_sound_under_two_names_is_two_recordings(tmp_path):
    small = small_session(tmp_path / "session")
    (small.folder / "twin.wav").write_bytes((small.folder / "piece.wav").read_bytes())
    text = (small.folder / "session.toml").read_text(encoding="utf-8")
    (small.folder / "session.toml").write_text(text.replace('[[recordings]]', '[[recordings]]\nfile = "twin.wav"\n\n[[recordings]]', 1), encoding="utf-8")
    for _ in range(2):
        with run_here(small.folder, tmp_path / "out", SteadyRecogniser()) as store:
            assert [Path(item.path).name for item in store.recordings()] == ["twin.wav", "piece.wav"]
