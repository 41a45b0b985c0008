"""Recordings that do not lie side by side as one would wish: channels swapped, gaps and overlaps in a series, recorders that drift, files of a day."""
import struct
import wave
from datetime import UTC, datetime, timedelta
from pathlib import Path

import av
import numpy as np
import pytest
from damaged_sound import tones, write_sound
from killing import small_session
from steady_recogniser import SteadyRecogniser

from debrief import pipeline_accounts
from debrief.demo_files import demo_folder
from debrief.errors import SessionFileError
from debrief.hearing import recording as recording_module
from debrief.hearing.copies import refine_clocks
from debrief.hearing.hear import hear_windows
from debrief.hearing.recording import duration_samples, probe, read_span
from debrief.hearing.recordings import open_recordings
from debrief.hearing.speech_spans import account
from debrief.hearing.windows import cut_windows
from debrief.pipeline import run
from debrief.pipeline_accounts import account_of
from debrief.records.sound import Source
from debrief.session import Session, load_session
from debrief.session_check import Probe, overlaps
from debrief.session_model import Excluded
from debrief.store.sessions import SessionStore
from debrief.timebase import Span

RATE_HZ = 16_000
TALK_S = 115.0
"""Where in the demo's first recording somebody talks."""


def talk(channel: int, seconds: float, at_s: float = TALK_S) -> np.ndarray:
    return read_span(demo_folder() / "line_and_cabin.opus", channel, Span.of_seconds(at_s, at_s + seconds))


def wav(path: Path, *channels: np.ndarray) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setparams((len(channels), 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes((np.clip(np.stack(channels, axis=1), -1, 1) * 32_767).astype("<i2").tobytes())
    return path


def session(*entries: dict) -> Session:
    return Session.model_validate({"recordings": list(entries)})


def heard(folder: Path, what: Session) -> dict[str, list[tuple[float, str]]]:
    """By loop: every word with its second in the session."""
    words: dict[str, list[tuple[float, str]]] = {}
    for recording in open_recordings(what, folder, digests=False):
        for source, held in account(recording).items():
            for _, segments in hear_windows(SteadyRecogniser(), recording, cut_windows(held), lambda _: False):
                words.setdefault(recording.loops[source.channel], []).extend(
                    (round(recording.clock.to_session_s(word.span.start_s), 3), word.text) for item in segments or () for word in item.words)
    return words


def test_channels_of_a_file_are_looked_at_in_one_reading_where_memory_allows_and_nothing_is_excluded(tmp_path, monkeypatch):
    small = small_session(tmp_path / "session", seconds=15, first_sheet=False)
    session, _ = load_session(small.folder / "session.toml")
    (recording,) = open_recordings(session, small.folder)
    sources = [Source("r1", channel) for channel in (0, 1)]
    alone = {source: account(recording, [source.channel])[source] for source in sources}
    barred = session.model_copy(update={"excluded": (Excluded(loop="Line", from_s=2, to_s=4),)})
    for place, (given, most_s, readings) in enumerate([(session, 86_400.0, 1), (session, 20.0, 2), (barred, 86_400.0, 2)]):
        read = []
        monkeypatch.setattr(pipeline_accounts, "account", lambda *asked, read=read, **more: (read.append(asked[1]), account(*asked, **more))[1])
        monkeypatch.setattr(pipeline_accounts, "MOST_ACCOUNTED_S", most_s)
        with SessionStore.create(tmp_path / str(place)) as store:
            store.add_recordings([recording])
            made = store.begin_pass({}, {}, {"r1": recording.sha256})
            held = {source: tuple(account_of(store, made.number, given, (recording, source))) for source in sources}
        assert len(read) == readings
        assert held[sources[1]] == alone[sources[1]]
        assert (held == alone) == (given is session)


def test_swapped_channels_with_swapped_names_are_the_same_loops(tmp_path):
    one, other = talk(0, 25), talk(1, 25, 160)
    wav(tmp_path / "right.wav", one, other)
    wav(tmp_path / "swapped.wav", other, one)
    right = heard(tmp_path, session({"file": "right.wav", "channels": ["Line", "Cabin"]}))
    assert all(right[loop] for loop in ("Line", "Cabin"))
    assert heard(tmp_path, session({"file": "swapped.wav", "channels": ["Cabin", "Line"]})) == right
    left_as_it_was = heard(tmp_path, session({"file": "swapped.wav", "channels": ["Line", "Cabin"]}))
    assert left_as_it_was == {"Line": right["Cabin"], "Cabin": right["Line"]}  # nothing is lost or moved, only its loop is the file's word


@pytest.mark.parametrize("later", [{"gap_s": 13.5}, {"start": datetime(2034, 1, 1, 0, 0, 23, 500_000, UTC)}, {"offset_s": 23.5}])
def test_a_gap_in_a_series_is_named_and_keeps_its_length(tmp_path, later):
    sound = talk(0, 10)
    for name in ("one.wav", "two.wav"):
        wav(tmp_path / name, sound)
    start = {"start": later["start"] - timedelta(seconds=23.5)} if "start" in later else {}
    what = session({"file": "one.wav", "channels": ["Line"], "series": "a", **start}, {"file": "two.wav", "channels": ["Line"], "series": "a", **later})
    second = open_recordings(what, tmp_path, digests=False)[1]
    assert second.clock.offset_s == 23.5
    assert "nothing was recorded in series 'a' from 0:00:10 to 0:00:23 of the session (13.5 s)" in second.notes
    words = heard(tmp_path, what)["Line"]
    half = len(words) // 2
    assert half
    assert [(round(at_s + 23.5, 3), text) for at_s, text in words[:half]] == words[half:]


def test_files_of_a_series_without_a_gap_name_none(tmp_path):
    for name in ("one.wav", "two.wav"):
        wav(tmp_path / name, talk(0, 5))
    second = open_recordings(session(*({"file": name, "channels": ["Line"], "series": "a"} for name in ("one.wav", "two.wav"))), tmp_path, digests=False)[1]
    assert second.clock.offset_s == 5.0
    assert second.notes == ("taken to follow one.wav",)


@pytest.mark.parametrize(("first", "later"), [
    ({"offset_s": 0.0}, {"offset_s": 7.0}), ({"start": datetime(2034, 1, 1, tzinfo=UTC)}, {"start": datetime(2034, 1, 1, 0, 0, 7, tzinfo=UTC)})])
def test_an_overlapping_series_is_refused_before_anything_is_written(tmp_path, first, later):
    for name in ("one.wav", "two.wav"):
        wav(tmp_path / name, talk(0, 10))
    what = session({"file": "one.wav", "series": "a", **first}, {"file": "two.wav", "series": "a", **later})
    with pytest.raises(SessionFileError) as refusal:
        run(what, tmp_path, tmp_path / "out", SteadyRecogniser())
    assert str(refusal.value) == (
        "files of one series run at the same time, so nothing could be placed\n  two.wav: begins 3.0 s before one.wav of series 'a' has ended "
        "(check both starts, or give them series of their own)\n  What to do: mend what is named and run again")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("rate", "late_s", "told"), [(None, 4.3, 0), (1.00005, 4.3, 0), (None, 20.0, 1)])
def test_a_recorder_that_drifts_through_a_day_overlaps_nothing(rate, late_s, told):
    """50 ppm are 4.3 s in a day: a file that says it is a day and 4.3 s long does not run into the next one that began on time."""
    begin = datetime(2034, 1, 1, tzinfo=UTC)
    what = session({"file": "one.wav", "series": "a", "start": begin, **({"rate": rate} if rate else {})},
                   {"file": "two.wav", "series": "a", "start": begin + timedelta(days=1)})
    assert len(list(overlaps(what, [Probe(1, 86_400 + late_s), Probe(1, 60.0)]))) == told


def test_a_drift_of_50_ppm_between_recorders_is_found_and_taken_out(tmp_path):
    """The second recorder starts 5 s later and counts 1.00005 s in each second; both hear the same calls through 20 minutes."""
    rate, begins_s, length_s = 1.00005, 5.0, 1200
    sounds = [np.zeros(length_s * RATE_HZ, np.float32) for _ in range(2)]
    places_s = [40 + 150 * k for k in range(8)]
    for number, place_s in enumerate(places_s):
        call = talk(0, 4, TALK_S + 2 * number)
        for sound, at_s, level in ((sounds[0], place_s, 1.0), (sounds[1], (place_s - begins_s) * rate, 0.5)):
            first = round(at_s * RATE_HZ)
            sound[first:first + len(call)] += level * call
    for name, sound in zip(("one.wav", "two.wav"), sounds, strict=True):
        wav(tmp_path / name, sound)
    recordings = open_recordings(session({"file": "one.wav"}, {"file": "two.wav", "offset_s": 4.4}), tmp_path, digests=False)
    clock = refine_clocks(recordings, {source: held for item in recordings for source, held in account(item).items()})[1].clock
    assert clock.rate == pytest.approx(rate, abs=5e-6)
    for place_s in places_s:
        assert clock.to_session_s((place_s - begins_s) * rate) == pytest.approx(place_s, abs=0.02)


@pytest.mark.parametrize("at_s", [0, 43_200, 86_392])
def test_the_seconds_of_a_file_of_a_day_are_right_to_its_end(tmp_path, at_s):
    """A WAV of 24 h at 8 kHz whose silence takes no room on the disk, with tones that tell their seconds. bench/soak.py hears such a file whole."""
    path, rate_hz = tmp_path / "day.wav", 8_000
    size = 86_400 * rate_hz * 2
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + size, b"WAVE", b"fmt ", 16, 1, 1, rate_hz, 2 * rate_hz, 2, 16, b"data", size)
    with path.open("wb") as file:
        file.write(head)
        file.truncate(len(head) + size)
        file.seek(len(head) + at_s * rate_hz * 2)
        file.write((tones(8, rate_hz) * 32_767).astype("<i2").tobytes())
    assert duration_samples(probe(path)) == 86_400 * RATE_HZ
    for k in range(8):
        sound = read_span(path, 0, Span.of_seconds(at_s + k + 0.2, at_s + k + 0.8))
        spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
        assert np.fft.rfftfreq(len(sound), 1 / RATE_HZ)[spectrum.argmax()] == pytest.approx(400 + 150 * k, abs=3)
    edge = read_span(path, 0, Span.of_seconds(at_s + 7.9, at_s + 8.1)) if at_s < 86_392 else read_span(path, 0, Span.of_seconds(at_s - 0.1, at_s + 0.1))
    loud = np.flatnonzero(np.abs(edge) > 0.1)
    assert loud[-1 if at_s < 86_392 else 0] / RATE_HZ == pytest.approx(0.1, abs=0.002)


def test_a_place_late_in_an_mp3_is_reached_without_decoding_what_lies_before(tmp_path):
    """A file of a day would be decoded again for every window of it, since such files know no seeking."""
    path = write_sound(tmp_path / "long.mp3", np.concatenate([tones()] * 5))
    with av.open(str(path)) as container:
        every = len(list(recording_module._frames(container, container.streams.audio[0])))
    with av.open(str(path)) as container:
        late = list(recording_module._frames(container, container.streams.audio[0], 36.0))
    assert len(late) < every / 5
    whole = np.zeros(41 * RATE_HZ, np.float32)
    for block in recording_module.read_blocks(path):
        whole[block.start:block.end] = block.sound[:max(0, len(whole) - block.start)]
    assert np.array_equal(read_span(path, 0, Span.of_seconds(37, 39)), whole[37 * RATE_HZ:39 * RATE_HZ])
