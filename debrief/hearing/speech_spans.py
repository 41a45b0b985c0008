"""What every second of a channel is held as: speech, no speech detected, unreadable, or excluded. Made for radio.

The usual voice filters delete terse radio talk; none at all turns tones and noise into words. So a low threshold on a network's
probability is joined with a floor of level that each loop sets for itself, and with evidence against tones.
"""
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..records.sound import Account, Recording, Source, Stretch
from ..timebase import Span
from .crosstalk import FARTHEST, STEP_FRAMES, LeakReader
from .frame_evidence import FRAME, Evidence, EvidenceReader
from .presets import RADIO, SpeechSettings
from .recogniser import Sound
from .recording import Block, probe, read_blocks

Flags = NDArray[np.bool_]
_QUIET_S = 0.67
"""Talk is cut in the middle of the quietest stretch of this length: a pause between calls, not the closure of a consonant."""
_AT_ONCE = 100_000
"""Frames reckoned in float64 at a time, so that a day's levels cost no more memory than they must."""
_MARGIN = 400
"""Samples (25 ms) that a file may be shorter than its container says before its end counts as lost."""


def account(recording: Recording, channels: Sequence[int] | None = None, settings: SpeechSettings = RADIO,
            excluded: Sequence[Span] = ()) -> dict[Source, tuple[Stretch, ...]]:
    """Stretches of each channel, in time order, covering every sample of the recording once. One reading of the file, memory flat.

    Neighbour channels are read along, so that their talk, leaked in, is not taken for this channel's own.
    excluded: spans (samples of this recording) that must not be heard; their sound is never looked at.
    """
    wanted = list(range(recording.channels)) if channels is None else list(channels)
    path = Path(recording.path)
    beside = _beside(path, wanted)
    tracks = {channel: _Track() for channel in wanted}
    leaks = LeakReader(beside, wanted) if len(beside) > 1 else None
    together: dict[int, Block] = {}
    for block in read_blocks(path, sorted({*beside, *wanted})):
        kept = _without(block, excluded) if block.channel in tracks else block
        if block.channel in tracks:
            tracks[block.channel].take(kept)
        if leaks is not None and block.channel in beside:
            together[block.channel] = kept
            if len(together) == len(beside):
                leaks.feed(block.start, {channel: other.sound for channel, other in together.items()})
                together = {}
    return {Source(recording.recording, channel): tuple(
        track.stretches(Source(recording.recording, channel), recording.duration, settings, excluded,
                        leaks.leaks(channel) if leaks is not None and channel in beside else None))
            for channel, track in tracks.items()}


def _beside(path: Path, wanted: Sequence[int]) -> list[int]:
    """The wanted channels of the first sound stream and those next to them, whose talk may have leaked in."""
    first = probe(path).streams[0]
    return [channel for channel in range(first) if any(channel == w or abs(channel - w) <= FARTHEST and w < first for w in wanted)]


def _without(block: Block, excluded: Sequence[Span]) -> Block:
    sound = block.sound
    for span in excluded:
        low, high = max(span.start, block.start), min(span.end, block.end)
        if low < high:
            sound = sound.copy()
            sound[low - block.start:high - block.start] = 0.0
    return Block(block.channel, block.start, sound)


@dataclass(frozen=True, slots=True)
class _Piece:
    span: Span
    held_as: Account
    why: str = ""


class _Track:
    """One channel while it is read: its evidence, and the holes in it."""

    def __init__(self) -> None:
        self._reader = EvidenceReader()
        self._at = 0
        self._holes: list[Span] = []

    def take(self, block: Block) -> None:
        if block.start > self._at:
            self._hole(block.start)
        sound = block.sound[max(0, self._at - block.start):]
        self._reader.feed(sound)
        self._at = max(block.start, self._at) + len(sound)

    def _hole(self, end: int) -> None:
        if end - self._at > _MARGIN:
            self._holes.append(Span(self._at, end))
        while self._at < end:  # in pieces, so that a hole of hours costs no memory
            step = min(end - self._at, 16_000 * 60)
            self._reader.feed(np.zeros(step, np.float32))
            self._at += step

    def stretches(self, source: Source, duration: int, settings: SpeechSettings, excluded: Sequence[Span],
                  leaks: Flags | None) -> Iterator[Stretch]:
        whole = duration if duration - self._at > _MARGIN else self._at
        lost = [_Piece(span, "unreadable", "the sound is damaged here") for span in self._holes]
        if whole > self._at:
            lost.append(_Piece(Span(self._at, whole), "unreadable", "the file ends before its stated length"))
        barred = [_Piece(Span(min(span.start, whole), min(span.end, whole)), "excluded", "excluded on request")
                  for span in sorted(excluded)]
        evidence = self._reader.finish()
        leaked = _stretched(leaks, len(evidence))
        speech = [_Piece(span, "speech") for span in speech_runs(evidence, settings, self._at, leaked)]
        crossed = [_Piece(Span(low * FRAME, min(high * FRAME, self._at)), "no speech detected", "a neighbour channel's talk, leaked in")
                   for low, high in _runs(leaked & (evidence.speech >= settings.begin)) if low * FRAME < self._at]
        return _covering(source, whole, [barred, lost, speech, crossed])


def _covering(source: Source, whole: int, layers: Sequence[Sequence[_Piece]]) -> Iterator[Stretch]:
    """Every sample once: earlier layers win over later ones; what no layer claims holds no detected speech."""
    edges = sorted({0, whole, *(edge for layer in layers for piece in layer for edge in (piece.span.start, piece.span.end))})
    places = [0] * len(layers)
    for start, end in pairwise(edges):
        chosen = _Piece(Span(start, end), "no speech detected")
        for number, layer in enumerate(layers):
            while places[number] < len(layer) and layer[places[number]].span.end <= start:
                places[number] += 1
            if places[number] < len(layer) and layer[places[number]].span.start <= start:
                chosen = layer[places[number]]
                break
        yield Stretch(source, Span(start, end), chosen.held_as, chosen.why)


def speech_runs(evidence: Evidence, settings: SpeechSettings, samples: int, leaked: Flags | None = None) -> list[Span]:
    """Spans of speech in samples, none longer than settings.longest_s (longer talk is cut where it is quietest).

    leaked: frames that hold a neighbour channel's talk alone; no run begins, goes on or is padded into them.
    """
    none = np.zeros(len(evidence), bool) if leaked is None else leaked
    flags = _padded(_decided(evidence, settings) & ~none, settings) & ~none
    spans = []
    for start, end in _runs(flags):
        for low, high in _cut(evidence, start, end, settings):
            if low * FRAME < samples:
                spans.append(Span(low * FRAME, min(high * FRAME, samples)))
    return spans


def talk_spans(sound: Sound, settings: SpeechSettings = RADIO) -> list[Span]:
    """Spans of speech in a piece of sound by itself (16 kHz), counted from its start."""
    reader = EvidenceReader()
    reader.feed(sound)
    return speech_runs(reader.finish(), settings, len(sound))


def noise_floor_db(level_db: NDArray[np.float32], settings: SpeechSettings) -> NDArray[np.float32]:
    """The level that a loop rests at, frame by frame: a low percentile of its neighbourhood, digital silence left out."""
    step = max(1, round(settings.floor_window_s * 16_000 / FRAME / 2))
    centres = range(0, len(level_db), step)
    floors = []
    for centre in centres:
        near = level_db[max(0, centre - step):centre + step]
        near = near[near > settings.dead_db]
        floors.append(np.percentile(near, settings.floor_percentile) if len(near) else settings.dead_db)
    floor = np.empty(len(level_db), np.float32)
    for first in range(0, len(floor), _AT_ONCE):
        frames = np.arange(first, min(first + _AT_ONCE, len(floor)))
        floor[frames[0]:frames[-1] + 1] = np.interp(frames, np.asarray(centres), np.asarray(floors))
    return floor


def _decided(evidence: Evidence, settings: SpeechSettings) -> Flags:
    audible = evidence.level_db > settings.dead_db
    over_db = evidence.level_db - noise_floor_db(evidence.level_db, settings)
    begin = (evidence.speech >= settings.begin) & audible & (over_db > settings.above_floor_db)
    keep = (evidence.speech >= settings.keep) & audible
    flags = np.zeros(len(evidence), bool)
    for start, end in _runs(keep):
        if begin[start:end].any() and _speaks(evidence, over_db, (start, end), settings):
            flags[start:end] = True
    return flags


def _speaks(evidence: Evidence, over_db: NDArray[np.float32], run: tuple[int, int], settings: SpeechSettings) -> bool:
    """Is a run of frames speech? A high peak says so alone; a low one only where neither tone nor noise would explain it."""
    start, end = run
    speech = evidence.speech[start:end]
    peak = float(speech.max())
    if peak >= settings.sure:
        return True
    loud = end - start >= _frames(settings.loud_s) and float(np.percentile(over_db[start:end], 75)) >= settings.loud_db
    strong = speech >= peak / 2  # the frames that speak for it; those around them may be anything
    return (peak >= (min(settings.peak, settings.loud_peak) if loud else settings.peak) and end - start >= _frames(settings.shortest_s)
            and float(np.median(evidence.tone[start:end][strong])) < settings.tone_share
            and settings.hum_flatness < float(np.median(evidence.flatness[start:end][strong])) < settings.noise_flatness)


def _padded(flags: Flags, settings: SpeechSettings) -> Flags:
    """Runs widened by the pads, pauses shorter than settings.join_s filled."""
    before, after = _frames(settings.pad_before_s), _frames(settings.pad_after_s)
    join = _frames(settings.join_s)
    out = np.zeros(len(flags), bool)
    last_end = None
    for start, end in _runs(flags):
        low = max(0, start - before)
        if last_end is not None and low - last_end <= join:
            low = last_end
        last_end = min(len(flags), end + after)
        out[low:last_end] = True
    return out


def _cut(evidence: Evidence, start: int, end: int, settings: SpeechSettings) -> Iterable[tuple[int, int]]:
    longest, most = _frames(settings.longest_s), _frames(settings.cut_s)
    around = _frames(_QUIET_S) | 1
    while end - start > longest:
        low = start + most // 2
        cost = evidence.speech[low:start + most] + 0.01 * evidence.level_db[low:start + most]
        place = low + around // 2 + int(np.argmin(np.convolve(cost, np.ones(around) / around, mode="valid")))
        yield start, place
        start = place
    yield start, end


def _runs(flags: Flags) -> Iterator[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _stretched(leaks: Flags | None, frames: int) -> Flags:
    """Flags of every few frames as flags of every frame."""
    if leaks is None:
        return np.zeros(frames, bool)
    flags = np.repeat(leaks, STEP_FRAMES)[:frames]
    return np.concatenate([flags, np.zeros(frames - len(flags), bool)])


def _frames(seconds: float) -> int:
    return round(seconds * 16_000 / FRAME)
