"""Sound files, streamed: any format and rate in, 16 kHz float32 out, one channel at a time, never a whole file in memory.

Times are kept by the stamps of the frames, never by counting what happened to decode: a damaged stretch leaves a hole of its true
length. Channels are counted over all sound streams of a file. Second 0 is the first moment of the file, as players show it.
"""
import os
import re
import stat
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import av
import numpy as np
from av.error import FFmpegError

from ..errors import RecordingError
from ..records.sound import Recording
from ..timebase import HEARING_RATE_HZ, Span
from .first_moment import ABSOLUTE, LEAST_BYTES_A_SECOND, length_s, zero_s
from .flac_heads import FlacHeads
from .lost_frames import STAMPLESS, LostFrames
from .recogniser import Sound
from .resampling import Raw, Resampler, readable
from .stated_rate import RATES_HZ, check_rate

_FORMATS = ("wav,w64,flac,mp3,mov,mp4,m4a,3gp,3g2,mj2,ogg,matroska,webm,matroska,webm,aac,ac3,aiff,caf,au,mpegts,mpeg,avi,asf,amr")
_OPTIONS = {"format_whitelist": _FORMATS, "protocol_whitelist": "file"}
ADDRESS = re.compile(r"^[a-zA-Z][a-zA-Z0-9+.\-]+:")
"""What begins like an address; a path that the command line has read has lost one of its two slashes."""
STAMP_TOLERANCE_S = 0.03
"""Frames whose stamps lie this close to the end of the frame before are one stretch (containers round stamps to 1 ms and worse)."""
_PREROLL_S = 0.5
_ENCODER_S = 0.15
_SETTLED_S = 1.5
"""A decoder that begins anew here, before what is asked for, has told every later sample as one that read from the start: MPEG frames borrow
bits from at most the nine before them (ISO/IEC 11172-3, main_data_begin), and fade from one into the next."""
_ESTIMATED_S = 60.0
_MAX_BAD_PACKETS = 100_000


@dataclass(frozen=True, slots=True)
class Probe:
    """What a file says of itself. streams: channels of each sound stream; duration_s: by its container, None if it does not say."""

    path: Path
    container: str
    codec: str
    rate_hz: int
    streams: tuple[int, ...]
    duration_s: float | None
    start_s: float
    tags: Mapping[str, str] = field(default_factory=dict)

    @property
    def channels(self) -> int:
        return sum(self.streams)

    def stream_of(self, channel: int) -> tuple[int, int]:
        """(stream, channel within it) of a channel of the file; RecordingError when the file has no such channel."""
        rest = channel
        for stream, count in enumerate(self.streams):
            if 0 <= rest < count:
                return stream, rest
            rest -= count
        raise RecordingError(f"channel {channel} asked for, but the file has {self.channels} (counted from 0)", str(self.path),
                             "name one of the file's channels in the session file")


@dataclass(frozen=True, slots=True)
class Block:
    """Readable sound of one channel, from sample start (16 kHz, recording's clock). What lies between blocks could not be read."""

    channel: int
    start: int
    sound: Sound

    @property
    def end(self) -> int:
        return self.start + len(self.sound)


def probe(path: Path) -> Probe:
    """Read what the file says of itself, without decoding it. Raises RecordingError for what is no sound file."""
    with _opened(path) as container:
        streams = tuple(stream.codec_context.channels for stream in container.streams.audio)
        first = container.streams.audio[0]
        check_rate(path, container.format.name, first.codec_context.sample_rate)
        zero = zero_s(container, path)
        length = length_s(container, path) or _length_by_packets(container, zero)
        return Probe(path, container.format.name, first.codec_context.name, first.codec_context.sample_rate, streams, length,
                     zero, dict(container.metadata))


def read_blocks(path: Path, channels: Sequence[int] = (0,), start_s: float = 0.0, end_s: float | None = None) -> Iterator[Block]:
    """Readable sound of the channels within [start_s, end_s), in blocks of about a second, in time order for each channel.

    Channels of one stream come from one reading of the file; those of different streams follow each other.
    """
    info = probe(path)
    wanted: dict[int, list[tuple[int, int]]] = {}
    for channel in channels:
        stream, inner = info.stream_of(channel)
        wanted.setdefault(stream, []).append((channel, inner))
    for stream, pairs in wanted.items():
        with _opened(path) as container:
            yield from _blocks_of_stream(container, (stream, info.start_s), pairs, start_s, end_s)


def read_span(path: Path, channel: int, span: Span) -> Sound:
    """The samples of a span (16 kHz mono float32); zeros where nothing could be read. The same call gives the same samples."""
    out = np.zeros(span.end - span.start, np.float32)
    for block in read_blocks(path, (channel,), span.start_s, span.end_s):
        first, last = max(block.start, span.start), min(block.end, span.end)
        if first < last:
            out[first - span.start:last - span.start] = block.sound[first - block.start:last - block.start]
    return out


def read_open(recording: Recording, channel: int, span: Span) -> Sound:
    """The samples of a span as `read_span` gives them, silent where the recording's sound is excluded or erased."""
    sound = read_span(Path(recording.path), channel, span)
    for barred_channel, barred in recording.kept_out:
        if barred_channel == channel and barred.overlap(span):
            sound[max(0, barred.start - span.start):max(0, barred.end - span.start)] = 0.0
    return sound


def check_path(name: str | Path) -> Path:
    """The path of a sound file, or a RecordingError: an address, nothing there, a folder, nothing in it."""
    text = str(name)
    try:
        path = Path(name).expanduser()
        if not path.exists() and ADDRESS.match(text):
            raise RecordingError("an address is not a recording; nothing is fetched from a network", text,
                                 "save the sound as a file and give its path")
        if path.is_dir():
            raise RecordingError("this is a folder, not a sound file", text, "name the sound file in it")
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):  # a pipe or a device may never end, or never begin
            raise RecordingError("this is not a plain file", text, "save the sound as a file and give its path")
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise RecordingError("no such sound file", text, "check the name, or give --recordings the folder that holds it") from None
    except OSError as error:
        raise RecordingError(f"the file cannot be opened: {error.strerror or error}", text, "check its permissions") from error
    except (ValueError, RuntimeError) as error:
        raise RecordingError(f"this is no name of a file: {error}", repr(text), "mend the name in the session file") from error
    if found.st_size == 0:
        raise RecordingError("the file is empty (0 bytes)", text, "copy it again from the recorder")
    return path


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    checked = check_path(path)
    try:
        container = av.open(str(checked.resolve()), options=_OPTIONS, metadata_errors="replace")
    except (FFmpegError, ValueError, OSError) as error:
        raise RecordingError("not a sound file that can be read (WAV, FLAC, MP3, M4A, Ogg, Opus, or a film with sound)", str(path),
                             "check that it is a recording and was copied whole") from error
    with container:
        if not container.streams.audio or not all(s.codec_context and s.codec_context.channels for s in container.streams.audio):
            raise RecordingError("the file holds no sound", str(path), "give the file that has the recorded loops")
        yield container


def _length_by_packets(container: Any, zero: float) -> float | None:
    # Some containers do not say how long they are (a film that was streamed to disk, a bare stream): the stamps of their packets do.
    stream, end = container.streams.audio[0], None
    try:
        for packet in container.demux(stream):
            if packet.pts is not None:
                end = float((packet.pts + (packet.duration or 0)) * stream.time_base)
    except FFmpegError:
        pass
    return None if end is None else end - zero


def _blocks_of_stream(container: Any, place: tuple[int, float], pairs: list[tuple[int, int]], start_s: float,
                      end_s: float | None) -> Iterator[Block]:
    index, zero = place
    stream = container.streams.audio[index]
    stream.thread_type = "NONE"
    if start_s > 1.0:
        _seek(container, stream, start_s + zero)
    resampler: Resampler | None = None
    for at_s, frame in _stamped(container, stream, zero, start_s - _SETTLED_S):
        if end_s is not None and at_s > end_s + _PREROLL_S:
            break
        if at_s + frame.samples / frame.sample_rate < start_s - _PREROLL_S:
            continue
        if resampler is None or not resampler.goes_on(at_s, frame.sample_rate, STAMP_TOLERANCE_S):
            if resampler is not None:
                yield from _named(pairs, resampler.finish())
            resampler = Resampler(at_s, frame.sample_rate, [inner for _, inner in pairs])
        yield from _named(pairs, resampler.feed(Raw.of(frame)))
    if resampler is not None:
        yield from _named(pairs, resampler.finish())


def _named(pairs: list[tuple[int, int]], pieces: tuple[int, list[Sound]] | None) -> Iterator[Block]:
    if pieces is not None:
        start, sounds = pieces
        for (channel, _), sound in zip(pairs, sounds, strict=True):
            yield Block(channel, start, sound)


def _seek(container: Any, stream: Any, at_s: float) -> None:
    if container.format.name in STAMPLESS:
        return  # no index and no stamps: a seek would only guess, so these are read from the start, but not decoded
    try:
        container.seek(int(max(0.0, at_s - 1.0) / stream.time_base), stream=stream, backward=True)
    except FFmpegError:
        container.seek(0)


def _stamped(container: Any, stream: Any, zero: float, from_s: float = 0.0) -> Iterator[tuple[float, Any]]:
    """Frames with the second at which each begins; frames that cannot be decoded are left out, so their time stays a hole.

    Frames that tell again what was told (a piece of the file stands in it twice) are passed over. from_s: frames before it need not be told.
    """
    follows_s = 0.0
    shift_s: float | None = None
    latest_s = _latest_s(container, zero)
    told_s = (length_s(container, Path(container.name)) or 0.0) if container.format.name == "flac" else 0.0  # until then nothing begins anew
    for lost_s, frame in _frames(container, stream, zero + from_s):
        at_s = follows_s if frame.pts is None else float(frame.pts * frame.time_base) - zero + lost_s
        if shift_s is None:  # the few milliseconds that an encoder puts before the first sound are no hole
            shift_s = at_s if abs(at_s) < _ENCODER_S else 0.0
        at_s = max(0.0, at_s - shift_s)
        if at_s < follows_s - 10 * STAMP_TOLERANCE_S:
            if container.format.name in ABSOLUTE and (at_s > _ENCODER_S or follows_s < told_s - _ENCODER_S):
                continue
            shift_s += at_s - follows_s  # stamps began anew (recordings put one behind the other): go on counting
            at_s = follows_s
        elif at_s > max(latest_s, follows_s + STAMP_TOLERANCE_S):  # a damaged stamp: no file of this length goes on there
            at_s = follows_s
        follows_s = at_s + frame.samples / frame.sample_rate
        yield at_s, frame


def _latest_s(container: Any, zero: float) -> float:
    """The last second at which a frame of the file may begin; a minute is granted to containers that only estimate their length."""
    length = length_s(container, Path(container.name))
    return max(length or 0.0, (container.size or 0) / LEAST_BYTES_A_SECOND if length is None else 0.0) + _ESTIMATED_S + max(0.0, -zero)


def _frames(container: Any, stream: Any, from_s: float = 0.0) -> Iterator[tuple[float, Any]]:
    """Decoded frames, each with the seconds that were lost before it without a stamp to say so.

    from_s: the stamp before which files that know no seeking are counted through without decoding, their first moment excepted.
    """
    bad, lost_s, behind_s = 0, 0.0, 0.0
    stamped = container.format.name not in STAMPLESS
    lost, tick_s = LostFrames(stamped, Path(container.name)), float(stream.time_base)
    heads, moved_s = FlacHeads(container, stream), 0.0
    packets = container.demux(stream)
    while bad < _MAX_BAD_PACKETS:
        try:
            packet = next(packets)
            behind_s, moved_s = lost.behind(packet), heads.moved(packet)
            if not stamped and packet.pts is not None and packet.size and _ENCODER_S < packet.pts * tick_s + lost_s + behind_s < from_s:
                lost_s, behind_s = lost_s + behind_s, 0.0
                continue
            frames = packet.decode()
            if not lost.leans_on_lost:
                yield from ((lost_s + moved_s, readable(frame)) for frame in frames if frame.samples and frame.sample_rate in RATES_HZ)
        except StopIteration:
            return
        except (FFmpegError, ValueError) as error:
            _still_there(Path(container.name), error)
            bad += 1
            lost.failed()
            packets = container.demux(stream)
        lost_s += behind_s
        behind_s = 0.0


def _still_there(path: Path, error: Exception) -> None:
    """Damaged sound is passed over; a drive that is gone is not damage. Raises RecordingError where the file cannot be read any more."""
    if isinstance(error, OSError):
        try:
            with path.open("rb") as file:
                file.seek(-1, os.SEEK_END)
                file.read(1)
        except OSError as gone:
            raise RecordingError(f"reading stopped: {gone.strerror or gone}", str(path),
                                 "check the drive (is it still connected?) and give the same command again") from error


def duration_samples(info: Probe) -> int:
    """A file's length by its container in samples at 16 kHz; 0 where the container does not say."""
    return round((info.duration_s or 0.0) * HEARING_RATE_HZ)
