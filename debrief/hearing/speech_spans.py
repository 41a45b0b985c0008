"""Which parts of a channel hold speech: a voice filter for radio, and an account of every sample.

The network that ships with faster-whisper gives a voice probability for each 32 ms; here its threshold is low, because radio speech is
narrow and noisy, and two more witnesses guard against what is no speech: level over the channel's own noise floor, and tones (a roger
beep or a hum puts nearly all its energy into a few lines of the spectrum and stays there). Presets are data. Streamed in blocks.
"""
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from faster_whisper.vad import get_vad_model
from numpy.typing import NDArray

from ..records.sound import Source, Stretch
from ..timebase import HEARING_RATE_HZ, Span
from .recogniser import Sound
from .recording import Block, read_blocks

FRAME = 512
_BLOCK_FRAMES = 1875  # one minute
_WARM_FRAMES = 32


@dataclass(frozen=True, slots=True)
class SpeechPreset:
    """Thresholds: probability that opens and that keeps open; dB over the noise floor; share of energy in tones. Times in seconds."""

    name: str
    opens: float
    keeps: float
    over_floor_db: float
    tone_share: float
    pad_s: float
    bridge_s: float
    shortest_s: float
    longest_s: float


PRESETS = {
    "radio": SpeechPreset("radio", 0.20, 0.08, 3.0, 0.80, 0.35, 0.5, 0.12, 26.0),
    "clean": SpeechPreset("clean", 0.45, 0.25, 3.0, 0.90, 0.25, 0.4, 0.15, 26.0),
}


@dataclass(frozen=True, slots=True)
class Frames:
    """Evidence for each 32 ms frame of an unbroken stretch: voice probability, level in dB, share of energy in its strongest lines."""

    start: int
    probability: NDArray[np.float32]
    level_db: NDArray[np.float32]
    tone: NDArray[np.float32]


def stretches(path: Path, source: Source, duration: int, preset: SpeechPreset, excluded: Sequence[Span] = ()) -> list[Stretch]:
    """What became of every sample of a channel, in order, without gaps or overlaps. duration: samples at 16 kHz, 0 = to the last read.

    Excluded spans are never decoded into the account of speech; what lies between readable blocks is unreadable.
    """
    held: list[Stretch] = []
    reached = 0
    for start, sound in _unbroken(read_blocks(path, (source.channel,))):
        if start > reached:
            held.append(Stretch(source, Span(reached, start), "unreadable", "nothing could be decoded here"))
        held += list(_account(source, frames_of(start, sound), start + len(sound), preset, max(start, reached)))
        reached = start + len(sound)
    if duration > reached + HEARING_RATE_HZ // 10:
        held.append(Stretch(source, Span(reached, duration), "unreadable", "the file ends before its stated length"))
    return _joined(_without(held, excluded, source))


def _unbroken(blocks: Iterator[Block]) -> Iterator[tuple[int, Sound]]:
    """Blocks joined to about a minute where they follow each other."""
    waiting: list[Sound] = []
    start = 0
    for block in blocks:
        held = sum(map(len, waiting))
        if waiting and (block.start != start + held or held >= _BLOCK_FRAMES * FRAME):
            yield start, np.concatenate(waiting)
            waiting = []
        if not waiting:
            start = block.start
        waiting.append(block.sound)
    if waiting:
        yield start, np.concatenate(waiting)


def frames_of(start: int, sound: Sound) -> Frames:
    """Evidence of each frame; sound is padded with silence to whole frames."""
    padded = np.pad(sound, (_WARM_FRAMES * FRAME, -len(sound) % FRAME)).astype(np.float32)
    probability = np.asarray(_voice()(padded), np.float32).reshape(-1)[_WARM_FRAMES:]
    framed = padded[_WARM_FRAMES * FRAME:].reshape(-1, FRAME)
    level = 10 * np.log10(np.mean(framed**2, axis=1) + 1e-10)
    power = np.abs(np.fft.rfft(framed * np.hanning(FRAME), axis=1)) ** 2 + 1e-12
    top = np.partition(power, -3, axis=1)[:, -3:].sum(axis=1)
    return Frames(start, probability, level.astype(np.float32), (top / power.sum(axis=1)).astype(np.float32))


@lru_cache(maxsize=1)
def _voice():  # type: ignore[no-untyped-def]
    return get_vad_model()


def _account(source: Source, frames: Frames, end: int, preset: SpeechPreset, begin: int) -> Iterator[Stretch]:
    """Speech and the rest of one stretch, over [begin, end)."""
    at = begin
    for first, last in _speech_runs(frames, preset):
        start, stop = max(at, frames.start + first * FRAME), min(end, frames.start + last * FRAME)
        if stop <= start:
            continue
        if start > at:
            yield Stretch(source, Span(at, start), "no speech detected", _why_none(frames, at, start))
        yield Stretch(source, Span(start, stop), "speech")
        at = stop
    if at < end:
        yield Stretch(source, Span(at, end), "no speech detected", _why_none(frames, at, end))


def _why_none(frames: Frames, start: int, end: int) -> str:
    part = slice((start - frames.start) // FRAME, max((start - frames.start) // FRAME + 1, (end - frames.start) // FRAME))
    if float(np.max(frames.level_db[part], initial=-100.0)) < -90:
        return "digital silence"
    return "a tone" if float(np.median(frames.tone[part])) > 0.8 else ""


def _speech_runs(frames: Frames, preset: SpeechPreset) -> list[tuple[int, int]]:
    """Runs of frames that hold speech, padded, bridged and cut to the longest length at the least likely frame."""
    floor = float(np.percentile(frames.level_db, 10)) if len(frames.level_db) else -90.0
    smooth = np.convolve(frames.probability, np.ones(5, np.float32) / 5, mode="same")
    sure = smooth >= 0.6
    loud = (frames.level_db > max(floor + preset.over_floor_db, -80.0)) | sure
    talk = loud & ((_steady_tone(frames.tone) < preset.tone_share) | sure)
    runs = _hysteresis(np.where(talk, smooth, 0.0), preset)
    pad, bridge = round(preset.pad_s * HEARING_RATE_HZ / FRAME), round(preset.bridge_s * HEARING_RATE_HZ / FRAME)
    padded: list[tuple[int, int]] = []
    for first, last in runs:
        first, last = max(0, first - pad), min(len(smooth), last + pad)
        if padded and first - padded[-1][1] <= bridge:
            padded[-1] = (padded[-1][0], last)
        else:
            padded.append((first, last))
    longest = round(preset.longest_s * HEARING_RATE_HZ / FRAME)
    return [part for run in padded for part in _cut(run, smooth, longest)]


def _steady_tone(share: NDArray[np.float32]) -> NDArray[np.float32]:
    """The share of energy in tones, held over a third of a second: a vowel is a tone for a moment, a beep for longer."""
    return np.asarray(np.convolve(share, np.ones(9, np.float32) / 9, mode="same"), np.float32)


def _hysteresis(smooth: NDArray[np.float32], preset: SpeechPreset) -> list[tuple[int, int]]:
    runs, start = [], None
    shortest = max(1, round(preset.shortest_s * HEARING_RATE_HZ / FRAME))
    opened = False
    for index, value in enumerate([*smooth.tolist(), 0.0]):
        if value >= preset.keeps:
            start = index if start is None else start
            opened = opened or value >= preset.opens
        elif start is not None:
            if opened and index - start >= shortest:
                runs.append((start, index))
            start, opened = None, False
    return runs


def _cut(run: tuple[int, int], smooth: NDArray[np.float32], longest: int) -> list[tuple[int, int]]:
    """A run no longer than the longest, else cut where speech is least likely in its later half."""
    first, last = run
    if last - first <= longest:
        return [run]
    low, high = first + longest // 2, first + longest
    at = low + int(np.argmin(smooth[low:high]))
    return [(first, at), *_cut((at, last), smooth, longest)]


def _without(held: Sequence[Stretch], excluded: Sequence[Span], source: Source) -> list[Stretch]:
    """The account with excluded spans laid over it."""
    made = list(held)
    for span in excluded:
        cut: list[Stretch] = []
        for item in made:
            if item.held_as == "excluded" or not item.span.overlap(span):
                cut.append(item)
                continue
            if item.span.start < span.start:
                cut.append(Stretch(source, Span(item.span.start, span.start), item.held_as, item.why))
            inside = Span(max(item.span.start, span.start), min(item.span.end, span.end))
            cut.append(Stretch(source, inside, "excluded", "excluded by the session file"))
            if item.span.end > span.end:
                cut.append(Stretch(source, Span(span.end, item.span.end), item.held_as, item.why))
        made = cut
    return made


def _joined(held: Sequence[Stretch]) -> list[Stretch]:
    """Neighbours of one kind as one, speech apart: its cuts are where windows may begin."""
    made: list[Stretch] = []
    for item in held:
        last = made[-1] if made else None
        if last is not None and last.held_as == item.held_as != "speech" and last.why == item.why and last.span.end == item.span.start:
            made[-1] = Stretch(item.source, last.span.hull(item.span), item.held_as, item.why)
        elif item.span.end > item.span.start:
            made.append(item)
    return made
