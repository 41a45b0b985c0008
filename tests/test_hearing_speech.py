"""Every second is held as something; tones, noise and silence are no speech; the sound of a span as a clip."""
import io
import sys
from pathlib import Path

import av
import numpy as np
import pytest
from test_hearing_recording import RATE, clicks, write_sound

from debrief.hearing.clips import clip, encode
from debrief.hearing.frame_evidence import FRAME, Evidence, EvidenceReader
from debrief.hearing.heard_files import digest_of
from debrief.hearing.presets import PRESETS, RADIO
from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.speech_spans import account, speech_runs
from debrief.records.sound import Recording, Source
from debrief.timebase import Span

sys.path.insert(0, str(Path(__file__).parent / "bench"))
import itertools

from noises import wordless


def made_up(speech: list[float], level_db: float = -20.0) -> Evidence:
    values = np.asarray(speech, np.float32)
    levels = np.where(values > 0.02, level_db, -60).astype(np.float32)
    return Evidence(values, levels, np.full(len(values), 0.2, np.float32), np.full(len(values), 0.3, np.float32))


def recording_of(path) -> Recording:
    info = probe(path)
    return Recording("r1", str(path), digest_of(path), duration_samples(info), info.rate_hz, info.channels)


@pytest.mark.parametrize("preset", PRESETS.values(), ids=PRESETS)
def test_no_wordless_sound_is_speech(preset):
    found = {}
    for name, sound in wordless(20.0):
        reader = EvidenceReader()
        for start in range(0, len(sound), 7_777):
            reader.feed(sound[start:start + 7_777])
        found[name] = speech_runs(reader.finish(), preset, len(sound))
    assert len(found) == 12
    assert not {name: spans for name, spans in found.items() if spans}


def test_evidence_does_not_depend_on_the_blocks():
    sound = next(sound for name, sound in wordless(3.0) if name == "warbling tone")
    whole, pieces = EvidenceReader(), EvidenceReader()
    whole.feed(sound)
    for start in range(0, len(sound), 1_000):
        pieces.feed(sound[start:start + 1_000])
    assert np.allclose(whole.finish().speech, pieces.finish().speech, atol=1e-5)


def test_a_run_is_padded_and_long_talk_is_cut():
    evidence = made_up([0.0] * 100 + [0.9] * 2000 + [0.0] * 100)
    spans = speech_runs(evidence, RADIO, 2200 * FRAME)
    assert spans[0].start < 100 * FRAME
    assert spans[-1].end > 2100 * FRAME
    assert all(span.duration_s <= RADIO.longest_s + 0.1 for span in spans)
    assert all(a.end == b.start for a, b in itertools.pairwise(spans))


def test_a_weak_run_that_looks_like_a_tone_is_no_speech_and_a_strong_one_is():
    weak, strong = made_up([0.0] * 50 + [0.3] * 30 + [0.0] * 50), made_up([0.0] * 50 + [0.9] * 30 + [0.0] * 50)
    toned = np.full(130, 0.95, np.float32)
    assert speech_runs(weak, RADIO, 130 * FRAME)
    assert not speech_runs(Evidence(weak.speech, weak.level_db, weak.flatness, toned), RADIO, 130 * FRAME)
    assert speech_runs(Evidence(strong.speech, strong.level_db, strong.flatness, toned), RADIO, 130 * FRAME)


def test_a_voice_that_the_detector_hardly_knows_is_speech_where_it_is_loud():
    def spans(speech, level_db=-20.0, frames=30, tone=0.2):
        found = made_up([0.0] * 50 + [speech] * frames + [0.0] * 50, level_db)
        return speech_runs(Evidence(found.speech, found.level_db, found.flatness, np.full(len(found), tone, np.float32)), RADIO, len(found) * FRAME)

    assert spans(0.12)
    assert not spans(0.08)
    assert not spans(0.12, level_db=-50.0)
    assert not spans(0.12, frames=7)
    assert not spans(0.12, tone=0.95)


def test_no_run_reaches_into_a_neighbours_leak():
    leaked = np.zeros(200, bool)
    leaked[:95] = True
    spans = speech_runs(made_up([0.8] * 90 + [0.0] * 10 + [0.8] * 60 + [0.0] * 40), RADIO, 200 * FRAME, leaked)
    assert [span.start for span in spans] == [95 * FRAME]
    assert not speech_runs(made_up([0.8] * 90 + [0.0] * 110), RADIO, 200 * FRAME, np.ones(200, bool))


def test_every_sample_is_held_as_something_excluded_and_lost_ones_too(tmp_path):
    path = write_sound(tmp_path / "a.flac", clicks(20.0, RATE, 2), RATE, "flac", "stereo")
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 3 // 4])
    accounts = account(recording_of(path), excluded=[Span.of_seconds(2, 3)])
    assert set(accounts) == {Source("r1", 0), Source("r1", 1)}
    for stretches in accounts.values():
        assert stretches[0].span.start == 0
        assert stretches[-1].span.end == 20 * RATE
        assert all(a.span.end == b.span.start for a, b in itertools.pairwise(stretches))
        assert [s.span for s in stretches if s.held_as == "excluded"] == [Span.of_seconds(2, 3)]
        assert (stretches[-1].held_as, stretches[-1].why) == ("unreadable", "the file ends before its stated length")


def test_a_clip_plays_the_span_and_a_little_around_it(tmp_path):
    path = write_sound(tmp_path / "a.wav", clicks(9.0, RATE), RATE, "pcm_s16le")
    data = clip(recording_of(path), Source("r1", 0), Span.of_seconds(4, 5))
    assert data[:4] == b"OggS"
    assert len(data) < 20_000
    with av.open(io.BytesIO(data)) as container:
        sound = np.concatenate([frame.to_ndarray().ravel() for frame in container.decode(audio=0)])
    assert len(sound) / 48_000 == pytest.approx(1.6, abs=0.05)
    assert np.argmax(np.abs(sound) > 0.1) / 48_000 == pytest.approx(0.3, abs=0.02)


def test_an_empty_clip_is_still_a_sound_file():
    assert encode(np.zeros(0, np.float32))[:4] == b"OggS"
