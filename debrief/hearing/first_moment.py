"""Second 0 of a file and its length, where damage or a cut has moved its first stamp.

Players count from the first stamp they meet. Where the beginning is lost, that would move every later second forward without a word, so
lost beginnings are told from files that were cut out of a longer one: FLAC counts its samples from the first one ever and says how many
there are (RFC 9639, 8.2 and 9.1.5); Ogg numbers its pages, so pages that are gone leave a gap (RFC 3533, 6).
"""
import mmap
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

LEAST_BYTES_A_SECOND = 1.0
"""Sound that takes less is none: such a length was read from a damaged head or stamp."""
ABSOLUTE = frozenset({"flac", "ogg"})
"""Containers whose stamps count samples: one that goes back to a later place than the beginning is sound that is told twice."""
_PAGE = struct.Struct("<4sBBqIIIB")
_NO_PACKET_ENDS = -1
_SHORT_PACKETS = 2_000
"""What an encoder puts before the first sample, in units of the stream; stamps are lowered by it, ends of pages are not."""


def zero_s(container: Any, path: Path) -> float:
    """The stamp, in seconds, that counts as second 0 of the file."""
    first = (container.start_time or 0) / 1e6
    name = container.format.name
    if first <= 0:
        return first
    stated = (container.duration or 0) / 1e6
    if name == "flac" and first < stated:
        return 0.0
    if name == "ogg" and (not stated or first < stated) and _pages_are_missing(path, first / container.streams.audio[0].time_base):
        return 0.0
    return first


def length_s(container: Any, path: Path) -> float | None:
    """The length by the container's word; None where it gives none, or one that no file of this size can have."""
    if not container.duration:
        return None
    length = container.duration / 1e6
    if container.format.name == "ogg":  # its word is the last stamp, also where the first one is no 0
        length -= zero_s(container, path)
    return length if 0 < length * LEAST_BYTES_A_SECOND <= path.stat().st_size else None


def _pages_are_missing(path: Path, first: float) -> bool:
    """Is sound gone before the first stamp that was met: a gap in the numbers of the pages, or a page that ends before that stamp?"""
    last = None
    for granule, number in _pages(path):
        if granule > 0:
            return granule <= first + _SHORT_PACKETS or (last is not None and number > last + 1)
        last = number
    return False


def _pages(path: Path) -> Iterator[tuple[int, int]]:
    """(granule, number) of the pages of the first stream; damaged and half-lost pages are passed over, as decoders do."""
    stream = None
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        at = data.find(b"OggS")
        while 0 <= at <= len(data) - _PAGE.size:
            _, version, _, granule, serial, number, _, _ = _PAGE.unpack_from(data, at)
            stream = serial if stream is None else stream
            if version == 0 and serial == stream and granule != _NO_PACKET_ENDS and _is_whole(data, at):
                yield granule, number
            at = data.find(b"OggS", at + 4)


def _is_whole(data: mmap.mmap, at: int) -> bool:
    """Does the page that begins here have the checksum it states (RFC 3533, 6: polynomial 0x04c11db7, nothing reflected, its own place as zeros)?"""
    lengths = data[at + 27:at + 27 + data[at + 26]]
    page = bytearray(data[at:at + 27 + len(lengths) + sum(lengths)])
    stated, page[22:26] = int.from_bytes(page[22:26], "little"), bytes(4)
    crc = 0
    for byte in page:
        crc = (crc << 8 & 0xFFFFFFFF) ^ _CRC[crc >> 24 ^ byte]
    return crc == stated


def _crc_of(byte: int) -> int:
    crc = byte << 24
    for _ in range(8):
        crc = (crc << 1 & 0xFFFFFFFF) ^ (0x04C11DB7 if crc & 0x80000000 else 0)
    return crc


_CRC = tuple(map(_crc_of, range(256)))
