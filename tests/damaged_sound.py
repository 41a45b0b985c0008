"""Sound that tells its own time, damaged in ways that a seed repeats, and what hearing makes of it.

Second k of the sound is a tone of (400 + 150 k) Hz, so that every piece that still decodes says where it belongs.
"""
import os
import random
import resource
import signal
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from debrief.errors import RecordingError
from debrief.hearing.recording import duration_samples, probe, read_blocks
from debrief.hearing.speech_spans import account
from debrief.records.sound import Recording

RATE_HZ, SECONDS, PIECE_S = 16_000, 8, 0.2
FORMATS = {"wav": "pcm_s16le", "flac": "flac", "mp3": "libmp3lame", "m4a": "aac", "ogg": "libopus"}
LIMIT_S, LIMIT_BYTES = 30, 6_000_000_000


def tones(seconds: int = SECONDS, rate_hz: int = RATE_HZ) -> np.ndarray:
    """Mono float32, second k a tone of (400 + 150 k) Hz."""
    at = np.arange(rate_hz) / rate_hz
    return np.concatenate([0.5 * np.sin(2 * np.pi * (400 + 150 * k) * at) for k in range(seconds)]).astype(np.float32)


def write_sound(path: Path, sound: np.ndarray, rate_hz: int = RATE_HZ, codec: str | None = None) -> Path:
    """Sound of shape (samples,) or (channels, samples) in the format of the file's ending."""
    data = np.atleast_2d(sound)
    layout = "mono" if len(data) == 1 else "stereo"
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec or FORMATS[path.suffix[1:]], rate=rate_hz, layout=layout)
        fifo = av.AudioResampler(format=stream.codec_context.format, layout=layout, rate=rate_hz, frame_size=stream.codec_context.frame_size or 1024)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(data), format="fltp", layout=layout)
        frame.sample_rate, frame.time_base, frame.pts = rate_hz, Fraction(1, rate_hz), 0
        for piece in (*fifo.resample(frame), *fifo.resample(None)):
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    return path


def _flip(data: bytearray, rng: random.Random, low: int = 0) -> None:
    for _ in range(rng.choice((1, 3, 20))):
        data[rng.randrange(low, len(data))] ^= 1 << rng.randrange(8)


def _head(data: bytearray, rng: random.Random) -> None:
    for _ in range(rng.choice((1, 2, 6))):
        data[rng.randrange(min(len(data), 300))] = rng.randrange(256)


def _range(data: bytearray, rng: random.Random) -> slice:
    start = rng.randrange(len(data))
    return slice(start, start + rng.choice((8, 200, 4_000, len(data) // 4)))


def _zero(data: bytearray, rng: random.Random) -> None:
    place = _range(data, rng)
    data[place] = bytes(len(data[place]))


def _noise(data: bytearray, rng: random.Random) -> None:
    place = _range(data, rng)
    data[place] = rng.randbytes(len(data[place]))


def _cut(data: bytearray, rng: random.Random) -> None:
    del data[rng.randrange(len(data)):]


def _remove(data: bytearray, rng: random.Random) -> None:
    del data[_range(data, rng)]


def _repeat(data: bytearray, rng: random.Random) -> None:
    place = _range(data, rng)
    data[place.start:place.start] = data[place]


DAMAGE: dict[str, Callable[[bytearray, random.Random], None]] = {
    "bits flipped": _flip, "head changed": _head, "zeros": _zero, "noise": _noise, "cut short": _cut, "piece removed": _remove,
    "piece twice": _repeat}


def damaged(data: bytes, seed: int) -> tuple[str, bytes]:
    """(kind of damage, the bytes) for a seed; the same seed does the same damage."""
    rng = random.Random(seed)
    kind = list(DAMAGE)[seed % len(DAMAGE)]
    changed = bytearray(data)
    DAMAGE[kind](changed, rng)
    return kind, bytes(changed)


def recording_of(path: Path) -> Recording:
    info = probe(path)
    return Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)


def told_times(path: Path) -> Counter[str]:
    """How many pieces of PIECE_S say by their tone the second they are placed at ('right'), another ('slipped'), or none ('unclear')."""
    seen: Counter[str] = Counter()
    length = round(PIECE_S * 16_000)
    lines = np.fft.rfftfreq(length, 1 / 16_000)
    for block in read_blocks(path):
        for first in range(0, len(block.sound) - length + 1, length):
            power = np.abs(np.fft.rfft(block.sound[first:first + length] * np.hanning(length))) ** 2
            top = int(power.argmax())
            middle_s = (block.start + first + length / 2) / 16_000
            if power[max(0, top - 3):top + 4].sum() < 0.8 * power.sum() or power.sum() < 1e-3 or abs(middle_s - round(middle_s)) < PIECE_S:
                seen["unclear"] += 1
            else:
                told = round((lines[top] - 400) / 150)
                seen["right" if told == int(middle_s) else "slipped"] += 1
    return seen


def covered(path: Path) -> str:
    """Runs the account of a file; returns '' where every sample up to the end is held exactly once, else what is wrong."""
    recording = recording_of(path)
    for source, stretches in account(recording).items():
        at = 0
        for stretch in stretches:
            if stretch.span.start != at:
                return f"channel {source.channel}: {stretch.span} after {at}"
            at = stretch.span.end
        if at < recording.duration - 400:
            return f"channel {source.channel}: ends at {at} of {recording.duration}"
    return ""


@dataclass
class Outcomes:
    """refused: with a message of ours; read: decoded as far as possible; wrong: everything that must never be (seed, what)."""

    refused: int = 0
    read: int = 0
    times: dict[str, Counter[str]] = field(default_factory=dict)
    wrong: list[tuple[int, str]] = field(default_factory=list)


def try_out(path: Path, data: bytes, seeds: Sequence[int]) -> Outcomes:
    """Every seed's damage in a child of its own for as long as it lives: one that hangs, crashes or grows is told, and the rest goes on."""
    outcomes, waiting = Outcomes(), list(seeds)
    while waiting:
        done = list(_in_child(path, data, waiting))
        for seed, kind, state, times in done:
            outcomes.refused += state == "refused"
            outcomes.read += state == "read"
            outcomes.times.setdefault(kind, Counter()).update(times)
            if state not in ("refused", "read"):
                outcomes.wrong.append((seed, state))
        if len(done) < len(waiting):
            outcomes.wrong.append((waiting[len(done)], f"the process died (hang over {LIMIT_S} s, crash or memory)"))
        waiting = waiting[len(done) + 1:]
    return outcomes


def _in_child(path: Path, data: bytes, seeds: Sequence[int]) -> Iterator[tuple[int, str, str, dict[str, int]]]:
    out, inside = os.pipe()
    child = os.fork()
    if not child:
        os.close(out)
        resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        with os.fdopen(inside, "w") as tell:
            for seed in seeds:
                signal.alarm(LIMIT_S)
                print(repr(_one(path, data, seed)), file=tell, flush=True)
        os._exit(0)
    os.close(inside)
    with os.fdopen(out) as told:
        for line in told:
            yield eval(line)  # written by our own child
    os.waitpid(child, 0)


def _one(path: Path, data: bytes, seed: int) -> tuple[int, str, str, dict[str, int]]:
    kind, changed = damaged(data, seed)
    path.write_bytes(changed)
    try:
        fault = covered(path)
        return seed, kind, f"not all of it is accounted for: {fault}" if fault else "read", dict(told_times(path))
    except RecordingError:
        return seed, kind, "refused", {}
    except BaseException as error:
        return seed, kind, f"{type(error).__name__}: {error}", {}
