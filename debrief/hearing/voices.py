"""Whose voice? Segments of one channel grouped by voice: one witness for who speaks, never a name by itself.

Two views of a voice are laid side by side: what its spectrum is like (cepstra over the louder half of the frames), and, where its file is
on this machine, a small network's embedding. Both are centred on the channel, so that the channel itself counts for nothing. Groups are
made within one session alone; nothing of a voice is stored but the group's label.
"""
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..records.sound import Recording, Segment, Source
from ..timebase import HEARING_RATE_HZ, Span
from .recogniser import Sound
from .recording import read_blocks

Values = NDArray[np.float64]
_FRAME, _TAPER, _HOP, _BANDS = 512, 400, 160, 40
_WINDOW, _STEP = 80, 40
"""Frames that the network takes at once (0.8 s), and by how many its windows move."""
_USED_BANDS = slice(3, 32)
_CEPSTRA = 13
_AT_ONCE = 256
"""Rows held against all groups at a time: a day of talk has thousands, and their differences would fill memory."""
_LONGEST_S = 30.0
"""A segment longer than a window can be holds a pause that its window closed."""


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """shortest_s: shorter segments get no voice; weighty_s: seconds above which a segment counts no more.

    stop: groups are joined while Ward's criterion stays under it: rather two groups of one voice than two voices in one group (read off
    three invented sessions at 15 dB); most: groups at most; core: the longest segments make the groups, others join the nearest.
    """

    shortest_s: float = 0.5
    weighty_s: float = 3.0
    stop: float = 2.0
    most: int = 24
    core: int = 1200


def with_voices(segments: Sequence[Segment], recordings: Sequence[Recording], network: Any = None,
                settings: VoiceSettings = VoiceSettings()) -> list[Segment]:
    """The segments with the label of their voice ('r1.0 voice 3'), where they are long enough; each file is read once, memory flat.

    Recordings that are no longer there (a session read again elsewhere) give no voices.
    network: an onnxruntime session of the embedding (voice_network.py), or None.
    """
    labels: dict[str, str] = {}
    for recording in (item for item in recordings if Path(item.path).is_file()):
        for channel in range(recording.channels):
            source = Source(recording.recording, channel)
            mine = [item for item in segments if item.source == source and item.span is not None and not item.set_aside
                    and item.span.duration_s >= settings.shortest_s]
            labels |= _labels(mine, recording, source, network, settings)
    return [replace(item, voice=labels[item.segment]) if item.segment in labels else item for item in segments]


def _labels(segments: Sequence[Segment], recording: Recording, source: Source, network: Any, settings: VoiceSettings) -> Mapping[str, str]:
    ordered = sorted(segments, key=lambda item: (item.span.start, item.span.end, item.segment) if item.span else (0, 0, ""))
    if len(ordered) < 2:
        return {}
    prints = [(segment, spectrum_of(frames), embedding_of(frames, network))
              for segment, frames in ((item, log_mel(sound)) for item, sound in _sounds(ordered, recording, source.channel))]
    weights = np.asarray([min(segment.span.duration_s, settings.weighty_s) if segment.span else 0.0 for segment, _, _ in prints])
    views = [_scaled(np.stack([view for _, view, _ in prints]))]
    if network is not None:
        views.append(_centred(np.stack([view for _, _, view in prints]), weights))
    groups = grouped(np.hstack(views) / np.sqrt(len(views)), weights, settings)
    return {segment.segment: f"{source.recording}.{source.channel} voice {group + 1}"
            for (segment, _, _), group in zip(prints, groups, strict=True)}


def _sounds(segments: Sequence[Segment], recording: Recording, channel: int) -> Iterator[tuple[Segment, Sound]]:
    """Each segment with its sound, in one reading of the file; segments are in the order of their starts."""
    waiting = [(segment, _pieces(segment)) for segment in segments]
    kept: list[tuple[int, Sound]] = []
    for block in read_blocks(Path(recording.path), (channel,)):
        kept.append((block.start, block.sound))
        while waiting and waiting[0][1][-1].end <= block.end:
            segment, pieces = waiting.pop(0)
            yield segment, _joined(kept, pieces)
        kept = [(start, sound) for start, sound in kept
                if any(start + len(sound) > piece.start and start < piece.end for _, pieces in waiting[:50] for piece in pieces)]
    for segment, pieces in waiting:
        yield segment, _joined(kept, pieces)


def _pieces(segment: Segment) -> list[Span]:
    """What of a segment is listened to: all of it, or, where it runs over a pause of minutes that its window closed, its words alone."""
    whole = segment.span or Span(0, 0)
    spans = [word.span for word in segment.words if word.span is not None]
    if whole.duration_s <= _LONGEST_S or not spans:
        return [Span(whole.start, min(whole.end, whole.start + round(_LONGEST_S * HEARING_RATE_HZ)))]
    pieces = [spans[0]]
    for span in spans[1:]:
        if span.start - pieces[-1].end <= HEARING_RATE_HZ:
            pieces[-1] = pieces[-1].hull(span)
        else:
            pieces.append(span)
    return pieces


def _joined(blocks: Sequence[tuple[int, Sound]], pieces: Sequence[Span]) -> Sound:
    out = [np.zeros(piece.end - piece.start, np.float32) for piece in pieces]
    for piece, part in zip(pieces, out, strict=True):
        for at, sound in blocks:
            low, high = max(at, piece.start), min(at + len(sound), piece.end)
            if low < high:
                part[low - piece.start:high - piece.start] = sound[low - at:high - at]
    return np.concatenate(out)


# two views of a voice


def log_mel(sound: Sound) -> Values:
    """log10 of power in 40 mel bands (Slaney's scale and area), 100 frames a second, shape (frames, bands); what the network was made on."""
    frames = np.lib.stride_tricks.sliding_window_view(np.pad(sound, (0, max(0, _FRAME - len(sound)))), _FRAME)[::_HOP]
    power = np.abs(np.fft.rfft(frames * _taper(), axis=1)) ** 2
    return np.log10(power @ mel_bands().T + 1e-10)


def _taper() -> Values:
    side = (_FRAME - _TAPER) // 2
    return np.pad(np.hamming(_TAPER + 1)[:-1], side)


def mel_bands() -> Values:
    """Triangles of unit area, shape (bands, lines): linear under 1 kHz, logarithmic above (Slaney's Auditory Toolbox; from memory)."""
    lines = np.linspace(0, 8000, _FRAME // 2 + 1)
    step = np.log(6.4) / 27
    marks = np.linspace(0, 15 + np.log(8.0) / step, _BANDS + 2)
    edges = np.where(marks >= 15, 1000 * np.exp(step * (marks - 15)), marks * 200 / 3)
    low, mid, high = (edges[i:i + _BANDS, None] for i in range(3))
    return np.maximum(0, np.minimum((lines - low) / (mid - low), (high - lines) / (high - mid))) * 2 / (high - low)


def spectrum_of(frames: Values) -> Values:
    """Means and spreads of 13 cepstra of the radio band, over the louder part of the frames."""
    band = 2.3 * frames[:, _USED_BANDS]
    level = band.mean(axis=1)
    loud = band[level >= np.percentile(level, 40)]
    count = band.shape[1]
    cepstra = loud @ np.cos(np.pi * np.outer(np.arange(1, _CEPSTRA + 1), np.arange(count) + 0.5) / count).T
    return np.concatenate([cepstra.mean(axis=0), cepstra.std(axis=0)])


def embedding_of(frames: Values, network: Any) -> Values:
    """The network's view, of length one; empty without a network."""
    if network is None:
        return np.zeros(0)
    if len(frames) < _WINDOW:
        frames = np.pad(frames, ((0, _WINDOW - len(frames)), (0, 0)), mode="wrap")
    windows = np.stack([frames[at:at + _WINDOW] for at in range(0, len(frames) - _WINDOW + 1, _STEP)]).astype(np.float32)
    found = network.run(None, {network.get_inputs()[0].name: windows})[0]
    return _one_long((found / np.maximum(np.linalg.norm(found, axis=1, keepdims=True), 1e-9)).mean(axis=0))


def _one_long(values: Values) -> Values:
    return np.asarray(values / np.maximum(np.linalg.norm(values, axis=-1, keepdims=True), 1e-9), np.float64)


def _scaled(values: Values) -> Values:
    return _one_long((values - values.mean(axis=0)) / np.maximum(values.std(axis=0), 1e-9))


def _centred(values: Values, weights: Values) -> Values:
    return _one_long(values - np.average(values, axis=0, weights=weights))


# groups


def grouped(values: Values, weights: Values, settings: VoiceSettings = VoiceSettings()) -> list[int]:
    """A group for each row, numbered in the order in which they first occur: Ward's joining of the heaviest rows, others to the nearest."""
    core = np.sort(np.argsort(-weights, kind="stable")[:settings.core])
    labels = _ward(values[core], weights[core], settings)
    centres = np.stack([np.average(values[core][labels == label], axis=0, weights=weights[core][labels == label])
                        for label in np.unique(labels)])
    whole = np.concatenate([np.argmin(((some[:, None, :] - centres[None]) ** 2).sum(axis=2), axis=1)
                            for some in np.split(values, range(_AT_ONCE, len(values), _AT_ONCE))])
    whole[core] = np.searchsorted(np.unique(labels), labels)
    order = {label: place for place, label in enumerate(dict.fromkeys(whole.tolist()))}
    return [order[label] for label in whole.tolist()]


def _ward(values: Values, weights: Values, settings: VoiceSettings) -> NDArray[np.int64]:
    """Labels by joining, each time, the two groups whose join adds least to the squares within (Ward 1963; Lance and Williams' form)."""
    heavy = weights.astype(np.float64).copy()
    squares = (values ** 2).sum(axis=1)
    apart = np.maximum(0, squares[:, None] + squares[None] - 2 * values @ values.T)
    cost = apart * heavy[:, None] * heavy[None] / (heavy[:, None] + heavy[None])
    np.fill_diagonal(cost, np.inf)
    labels, alive = np.arange(len(values)), np.ones(len(values), bool)
    while alive.sum() > 1:
        one, other = np.unravel_index(int(np.argmin(cost)), cost.shape)
        least = cost[one, other]
        if least > settings.stop and alive.sum() <= settings.most:
            break
        joined = ((heavy[one] + heavy) * cost[one] + (heavy[other] + heavy) * cost[other] - heavy * least) / (heavy[one] + heavy[other] + heavy)
        alive[other] = False
        joined[~alive] = joined[one] = np.inf
        cost[one] = cost[:, one] = joined
        cost[other] = cost[:, other] = np.inf
        heavy[one] += heavy[other]
        labels[labels == other] = one
    return labels
