"""Recordings: every format streamed by its stamps, spans by seeking, holes where they are, refusals by message."""
import itertools
import wave

import av
import numpy as np
import pytest

from debrief.errors import RecordingError
from debrief.hearing.recording import check_path, probe, read_blocks, read_span
from debrief.timebase import Span

RATE = 16_000


def clicks(seconds: float, rate_hz: int, channels: int = 1) -> np.ndarray:
    """A short burst of a rising tone at every full second: its place tells the time to a millisecond. Channel c is 2**c weaker."""
    time_s = np.arange(round(seconds * rate_hz)) / rate_hz
    since = time_s % 1.0
    burst = np.where(since < 0.05, np.sin(2 * np.pi * (400 + 20_000 * since) * since), 0.0) * (time_s >= 1.0)
    return np.stack([0.5 * burst / 2 ** channel for channel in range(channels)]).astype(np.float32)


def write_sound(path, sound: np.ndarray, rate_hz: int, codec: str, layout: str = "mono"):
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate_hz, layout=layout)
        data = np.ascontiguousarray((sound.T * 32767).astype(np.int16).reshape(1, -1))
        frame = av.AudioFrame.from_ndarray(data, format="s16", layout=layout)
        frame.sample_rate, frame.pts = rate_hz, 0
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    return path


def onsets_s(sound: np.ndarray) -> list[float]:
    loud = np.flatnonzero(np.abs(sound) > 0.05)
    return [loud[0] / RATE, *(b / RATE for a, b in itertools.pairwise(loud) if b - a > RATE // 2)] if len(loud) else []


FORMATS = [("a.wav", "pcm_s16le", 8_000), ("a.wav", "pcm_s24le", 44_100), ("a.flac", "flac", 22_050), ("a.mp3", "libmp3lame", 44_100),
           ("a.m4a", "aac", 48_000), ("a.ogg", "libopus", 48_000), ("a.opus", "libopus", 16_000), ("a.mkv", "flac", 16_000),
           ("a.w64", "pcm_s16le", 16_000)]


@pytest.mark.parametrize(("name", "codec", "rate_hz"), FORMATS)
def test_every_format_keeps_its_times_read_through_or_by_seeking(tmp_path, name, codec, rate_hz):
    path = write_sound(tmp_path / name, clicks(12.0, rate_hz), rate_hz, codec)
    assert probe(path).duration_s == pytest.approx(12.0, abs=0.08)
    whole = np.zeros(13 * RATE, np.float32)
    for block in read_blocks(path):
        whole[block.start:block.end] = block.sound
    assert onsets_s(whole) == pytest.approx(list(range(1, 12)), abs=0.006)
    for second in (1, 5, 10):
        part = read_span(path, 0, Span.of_seconds(second - 0.4, second + 0.3))
        assert onsets_s(part) == pytest.approx([0.4], abs=0.006)
        assert np.array_equal(part, read_span(path, 0, Span.of_seconds(second - 0.4, second + 0.3)))


def test_channels_are_read_apart(tmp_path):
    path = write_sound(tmp_path / "two.wav", clicks(3.0, 8_000, 2), 8_000, "pcm_s16le", "stereo")
    left, right = (read_span(path, channel, Span.of_seconds(0, 3)) for channel in (0, 1))
    assert probe(path).channels == 2
    assert np.abs(left).max() == pytest.approx(2 * np.abs(right).max(), rel=0.01)


def test_many_channels_of_a_wav_file(tmp_path):
    sound = (clicks(2.0, 8_000, 5) * 32767).astype("<i2")
    with wave.open(str(tmp_path / "five.wav"), "wb") as out:
        out.setnchannels(5)
        out.setsampwidth(2)
        out.setframerate(8_000)
        out.writeframes(sound.T.tobytes())
    assert probe(tmp_path / "five.wav").channels == 5
    levels = [np.abs(read_span(tmp_path / "five.wav", channel, Span.of_seconds(0, 2))).max() for channel in range(5)]
    assert levels == pytest.approx([levels[0] / 2 ** channel for channel in range(5)], rel=0.02)


def test_a_zero_filled_part_leaves_a_hole_of_its_true_length(tmp_path):
    path = write_sound(tmp_path / "a.flac", clicks(20.0, RATE) + 0.01 * np.random.default_rng(1).standard_normal((1, 20 * RATE))
                       .astype(np.float32), RATE, "flac")
    data = bytearray(path.read_bytes())
    data[len(data) // 3:len(data) // 2] = bytes(len(data) // 2 - len(data) // 3)
    path.write_bytes(data)
    blocks = list(read_blocks(path))
    holes = [(a.end / RATE, b.start / RATE) for a, b in itertools.pairwise(blocks) if b.start > a.end]
    assert sum(end - start for start, end in holes) == pytest.approx(20 / 6, abs=1.5)
    whole = np.zeros(21 * RATE, np.float32)
    for block in blocks:
        whole[block.start:block.end] = block.sound
    assert [round(second) for second in onsets_s(whole)][-9:] == list(range(11, 20))
    assert onsets_s(whole)[-9:] == pytest.approx(list(range(11, 20)), abs=0.006)


def test_a_truncated_file_is_read_as_far_as_it_goes(tmp_path):
    path = write_sound(tmp_path / "a.flac", clicks(20.0, RATE), RATE, "flac")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    end = max(block.end for block in read_blocks(path)) / RATE
    assert 3 < end < 19
    assert probe(path).duration_s == pytest.approx(20.0, abs=0.01)


def _refusal(make, tmp_path) -> str:
    with pytest.raises(RecordingError) as refused:
        make(tmp_path)
    return str(refused.value).replace(str(tmp_path), "DIR")


def _write(path, data: bytes):
    path.write_bytes(data)
    return path


REFUSALS = [
    (lambda d: check_path(d / "no.wav"), "DIR/no.wav: no such sound file"),
    (lambda d: check_path("http://example.org/a.wav"), "http://example.org/a.wav: an address is not a recording; nothing is fetched"),
    (lambda d: check_path("file:///a.wav"), "file:///a.wav: an address is not a recording"),
    (check_path, "DIR: this is a folder, not a sound file"),
    (lambda d: check_path(_write(d / "e.wav", b"")), "DIR/e.wav: the file is empty (0 bytes)"),
    (lambda d: probe(_write(d / "t.wav", b"just some text\n" * 99)), "DIR/t.wav: not a sound file that can be read"),
    (lambda d: probe(_write(d / "l.m3u8", b"#EXTM3U\n#EXTINF:8,\nother.wav\n")), "DIR/l.m3u8: not a sound file that can be read"),
    (lambda d: read_span(write_sound(d / "a.wav", clicks(1, RATE), RATE, "pcm_s16le"), 2, Span(0, 9)),
     "DIR/a.wav: channel 2 asked for, but the file has 1 (counted from 0)"),
]


@pytest.mark.parametrize(("make", "message"), REFUSALS)
def test_what_cannot_be_read_is_refused_with_what_where_and_what_to_do(make, message, tmp_path):
    said = _refusal(make, tmp_path)
    assert said.startswith(message)
    assert "What to do: " in said
