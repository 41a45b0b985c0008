"""The clock of a Broadcast WAV: files written by ffmpeg, and chunks laid out by hand after EBU Tech 3285."""
import shutil
import struct
import subprocess
import wave
from datetime import UTC, datetime

import pytest

from debrief.hearing.broadcast import broadcast_start
from debrief.hearing.recording import probe
from debrief.hearing.recordings import open_recordings
from debrief.session import RecordingEntry, Session

TEN = datetime(2031, 4, 12, 10, tzinfo=UTC)


def bext(path, date="2031-04-12", time="10:00:00", reference=1_728_000_000, rate=48_000):
    """EBU Tech 3285, 2.3: Description 256, Originator 32, OriginatorReference 32, OriginationDate 10, OriginationTime 8, TimeReference low and high
    (32 bits each), Version 16 bits, UMID 64, loudness 10, reserved 180."""
    chunk = struct.pack("<256s32s32s10s8sIIH64s10s180s", b"", b"recorder", b"", date.encode(), time.encode(), reference & 0xFFFFFFFF, reference >> 32, 2,
                        b"", b"", b"")
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes(bytes(2 * rate))
    plain = path.read_bytes()
    body = plain[12:36] + b"bext" + struct.pack("<I", len(chunk)) + chunk + plain[36:]
    path.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(body)) + b"WAVE" + body)
    assert plain[12:16] == b"fmt "
    return path


def test_samples_since_midnight_are_the_start(tmp_path):
    """48 kHz at 10:00:00 is 1 728 000 000 samples (EBU Tech 3285, computed)."""
    found = broadcast_start(probe(bext(tmp_path / "a.wav")))
    assert found.start == TEN
    assert found.uncertainty_s < 0.001
    assert found.says == "start from the TimeReference of its Broadcast WAV chunk; the standard names no time zone, it is taken as UTC"


def test_the_count_is_in_the_files_own_rate_and_may_need_its_high_word(tmp_path):
    assert broadcast_start(probe(bext(tmp_path / "a.wav", reference=8000 * 36_000, rate=8000))).start == TEN
    late = broadcast_start(probe(bext(tmp_path / "b.wav", time="", reference=96_000 * 86_399, rate=96_000)))
    assert 96_000 * 86_399 >= 1 << 32
    assert late.start == datetime(2031, 4, 12, 23, 59, 59, tzinfo=UTC)


@pytest.mark.parametrize("separator", "-_: .")
def test_any_separator_of_the_standard(tmp_path, separator):
    date, time = f"2031{separator}04{separator}12", f"10{separator}00{separator}00"
    assert broadcast_start(probe(bext(tmp_path / "a.wav", date, time))).start == TEN


def test_only_a_written_time_counts_to_the_second(tmp_path):
    found = broadcast_start(probe(bext(tmp_path / "a.wav", reference=0)))
    assert (found.start, found.uncertainty_s) == (TEN, 1.0)
    assert "OriginationTime" in found.says


def test_two_times_that_disagree_are_told_and_the_sample_count_stands(tmp_path):
    found = broadcast_start(probe(bext(tmp_path / "a.wav", time="11:00:00")))
    assert found.start == TEN
    assert found.says.endswith("its OriginationTime says 11:00:00 instead")


@pytest.mark.parametrize(("date", "time", "reference"), [("2031-04-12", "00:00:00", 0), ("", "10:00:00", 5), ("2031-13-40", "10:00:00", 5), ("0000-00-00", "", 5),
                                                       ("0001-01-01", "10:00:00", 0), ("9999-12-31", "10:00:00", 5), ("2031-04-12", "", 1 << 60)])
def test_what_was_never_set_is_no_clock(tmp_path, date, time, reference):
    assert broadcast_start(probe(bext(tmp_path / "a.wav", date, time, reference))) is None


@pytest.mark.skipif(not shutil.which("ffmpeg"), reason="ffmpeg is not on this machine")
def test_a_file_written_by_ffmpeg(tmp_path):
    path = tmp_path / "a.wav"
    subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i", "anullsrc=r=48000:cl=mono", "-t", "0.2", "-write_bext", "1", "-metadata",
                    "time_reference=1728000000", "-metadata", "origination_date=2031-04-12", "-metadata", "origination_time=10:00:00", path], check=True)
    assert broadcast_start(probe(path)).start == TEN


def test_recordings_are_laid_by_it_and_say_so(tmp_path):
    bext(tmp_path / "a.wav")
    bext(tmp_path / "b.wav", time="10:00:30", reference=48_000 * 36_030)
    one, two = open_recordings(Session(recordings=(RecordingEntry(file="a.wav"), RecordingEntry(file="b.wav"))), tmp_path)
    assert (one.clock.start, two.clock.offset_s) == (TEN, 30.0)
    assert "Broadcast WAV" in one.notes[0]


def test_the_session_file_stands_over_it_and_a_mixture_is_told(tmp_path):
    bext(tmp_path / "a.wav")
    bext(tmp_path / "b.wav")
    stated = datetime(2031, 4, 12, 9, 59, tzinfo=UTC)
    one, two = open_recordings(Session(recordings=(RecordingEntry(file="a.wav", start=stated), RecordingEntry(file="b.wav"))), tmp_path)
    assert (one.clock.start, one.notes) == (stated, ())
    assert two.notes[1] == "other recordings have their start from the session file: check that both are in one time zone"
