"""Spans from anywhere in a recording without reading it from its start, for those who hear rows in any order.

Most containers can be entered at a time. MP3 and bare AAC cannot: they hold no index and no stamps (recording.py reads them from the start,
so that no time is a guess). Their packets are listed once, without decoding; a span is then decoded from the bytes of its own packets, with
a second before, since a frame may lean on those before it. A damaged file (lost_frames.py tells) is read from its
start as everywhere else, since its packets do not say where in time they stand.
"""
import io
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Lock
from typing import Any

import av
import numpy as np
from av.error import FFmpegError

from ..errors import RecordingError
from ..timebase import Span
from .first_moment import zero_s
from .lost_frames import LostFrames
from .recogniser import Sound
from .recording import STAMP_TOLERANCE_S, read_span
from .resampling import Raw, Resampler

WITHOUT_INDEX = ("mp3", "aac")
BEFORE_S, AFTER_S = 1.0, 0.2
FROM_START_S = 20.0
"""Up to here reading from the start is quick, and it knows what an encoder put before the first sound."""


class QuickSpans:
    """One file. May be called from several threads."""

    def __init__(self, path: Path, container: str) -> None:
        self.path, self.container = path, container
        self._lock = Lock()
        self._packets: tuple[list[float], list[int]] | None = None

    def prepare(self) -> None:
        """Lists the packets now instead of at the first reading."""
        if self.container in WITHOUT_INDEX:
            self._listed()

    def read(self, channel: int, span: Span) -> Sound:
        """As read_span, the same sound within a sample of time. Raises RecordingError."""
        if self.container not in WITHOUT_INDEX or span.end_s < FROM_START_S or not self._listed()[0]:
            return read_span(self.path, channel, span)
        out = np.zeros(span.end - span.start, np.float32)
        for start, sound in self._blocks(channel, span):
            first, last = max(start, span.start), min(start + len(sound), span.end)
            if first < last:
                out[first - span.start:last - span.start] = sound[first - start:last - start]
        return out

    def _blocks(self, channel: int, span: Span) -> Iterator[tuple[int, Sound]]:
        """Sound of the packets of the span and of a second before, each piece with the sample at which it begins."""
        starts_s, places = self._listed()
        first = max(0, bisect_right(starts_s, span.start_s - BEFORE_S) - 1)
        last = min(len(starts_s) - 1, bisect_right(starts_s, span.end_s + AFTER_S))
        if first >= last:
            return
        with self.path.open("rb") as file:
            file.seek(places[first])
            data = file.read(places[last] - places[first])
        with self._told(), av.open(io.BytesIO(data), format=self.container) as container:
            resampler: Resampler | None = None
            for at_s, frame in _frames(container, starts_s[first:last]):
                if resampler is None or not resampler.goes_on(at_s, frame.sample_rate, STAMP_TOLERANCE_S):
                    yield from _first(resampler.finish() if resampler else None)
                    resampler = Resampler(at_s, frame.sample_rate, [channel])
                yield from _first(resampler.feed(Raw.of(frame)))
            yield from _first(resampler.finish() if resampler else None)

    def _listed(self) -> tuple[list[float], list[int]]:
        """Second and byte at which each packet begins, closed by the end of the last; empty for a damaged file."""
        with self._lock:
            if self._packets is None:
                with self._told(), av.open(str(self.path)) as container:
                    self._packets = _packets(container, self.path)
            return self._packets

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except (FFmpegError, ValueError, OSError) as error:
            raise RecordingError("this part of the recording cannot be read", str(self.path), "check the file and the drive") from error


def _packets(container: Any, path: Path) -> tuple[list[float], list[int]]:
    stream, zero = container.streams.audio[0], zero_s(container, path)
    starts_s, places, end = list[float](), list[int](), 0
    lost = LostFrames(stamped=False, path=path)
    for packet in container.demux(stream):
        if packet.pts is None or packet.pos is None:
            continue  # the empty packet that closes the stream
        if lost.behind(packet) or packet.is_corrupt:
            return [], []
        starts_s.append(float(packet.pts * stream.time_base) - zero)
        places.append(packet.pos)
        end = packet.pos + packet.size
    return [*starts_s, starts_s[-1] if starts_s else 0.0], [*places, end]


def _frames(container: Any, starts_s: Sequence[float]) -> Iterator[tuple[float, Any]]:
    """Frames with the second at which their packet begins; those that cannot be decoded are left out."""
    stream = container.streams.audio[0]
    stream.thread_type = "NONE"
    for at_s, packet in zip(starts_s, container.demux(stream), strict=False):
        with suppress(FFmpegError):
            yield from ((at_s, frame) for frame in packet.decode() if frame.samples and frame.sample_rate)


def _first(pieces: tuple[int, list[Sound]] | None) -> Iterator[tuple[int, Sound]]:
    if pieces is not None:
        yield pieces[0], pieces[1][0]
