"""Spans from anywhere in files without an index are what a reading from the start gives, at the same sample."""
from pathlib import Path

import av
import numpy as np
import pytest

from debrief.errors import RecordingError
from debrief.hearing.quick_spans import QuickSpans
from debrief.hearing.recording import probe, read_span
from debrief.timebase import Span

LENGTH_S = 60
AT_S = (0.0, 3.0, 18.4, 19.5, 31.123, LENGTH_S - 2.0)


def write(path: Path, codec: str, rate: int, channels: int = 1) -> Path:
    """Noise under a tone that rises, so that no second is like another."""
    at = np.arange(LENGTH_S * rate) / rate
    sound = 0.3 * np.sin(2 * np.pi * (200 + 20 * at) * at) + np.random.default_rng(5).normal(0, 0.05, len(at))
    planes = np.stack([sound * (1 - 0.5 * channel) for channel in range(channels)]).astype(np.float32)
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=rate, layout="mono" if channels == 1 else "stereo")
        frame = av.AudioFrame.from_ndarray(planes, format="fltp", layout="mono" if channels == 1 else "stereo")
        frame.sample_rate = rate
        for packet in (*stream.encode(frame), *stream.encode(None)):
            out.mux(packet)
    return path


@pytest.mark.parametrize(("name", "codec", "rate", "channels"), [("a.mp3", "mp3", 16_000, 1), ("b.mp3", "mp3", 44_100, 2), ("c.aac", "aac", 16_000, 1)])
def test_a_span_is_the_same_as_read_from_the_start(tmp_path, name, codec, rate, channels):
    file = write(tmp_path / name, codec, rate, channels)
    quick = QuickSpans(file, probe(file).container)
    for at_s in AT_S:
        span = Span.of_seconds(at_s, at_s + 1.5)
        slow = read_span(file, channels - 1, span)
        found = quick.read(channels - 1, span)
        assert np.abs(slow).max() > 0.05
        likeness = [np.corrcoef(slow[20:-20], np.roll(found, lag)[20:-20])[0, 1] for lag in range(-10, 11)]
        assert np.argmax(likeness) == 10
        assert max(likeness) > (0.9999 if rate == 16_000 else 0.9)  # at 44.1 kHz the grids of both readings differ by less than a sample


def test_a_damaged_stretch_stays_in_its_place(tmp_path):
    file = write(tmp_path / "a.mp3", "mp3", 16_000)
    data = bytearray(file.read_bytes())
    middle = len(data) // 2
    data[middle:middle + 3_000] = bytes(3_000)  # the demuxer's stamps go on as if nothing were missing
    file.write_bytes(data)
    quick = QuickSpans(file, "mp3")
    for at_s in (5.0, LENGTH_S - 5.0):
        span = Span.of_seconds(at_s, at_s + 1.0)
        assert np.allclose(quick.read(0, span), read_span(file, 0, span), atol=2e-3)


def test_behind_the_end_there_is_silence_and_no_error(tmp_path):
    file = write(tmp_path / "a.mp3", "mp3", 16_000)
    assert not QuickSpans(file, "mp3").read(0, Span.of_seconds(LENGTH_S + 5, LENGTH_S + 6)).any()


def test_a_file_that_is_gone_is_told(tmp_path):
    with pytest.raises(RecordingError, match="this part of the recording cannot be read"):
        QuickSpans(tmp_path / "none.mp3", "mp3").read(0, Span.of_seconds(30, 31))
