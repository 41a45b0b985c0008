"""MP3 and bare AAC carry no stamps: time lost to damage is told from the bytes that no frame accounts for.

A frame says in its head how long it is (MPEG audio: ISO/IEC 11172-3, 2.4.1.3 and 13818-3; ADTS: ISO/IEC 13818-7, 6.2). What a
packet holds beyond that, or what lies between two packets, was sound once; the usual length of a frame says how much. So was what lies before
the first packet and is neither a tag (ID3v2, APEv2) nor the frame that only tells of the file (Xing, Info, VBRI).
"""
from collections import deque
from pathlib import Path
from typing import Any

from .bit_reservoir import BitReservoir

STAMPLESS = frozenset({"mp3", "aac"})
_MPEG_1_KBIT = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
_MPEG_2_KBIT = (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)
_RATES_HZ = (44_100, 48_000, 32_000)
_REMEMBERED = 200
_TELLS_OF_THE_FILE = (b"Xing", b"Info", b"VBRI")
_CHAIN = 4
"""So many heads in a row, each where the one before says, are sound and no picture in a tag."""


class LostFrames:
    """Fed with the packets of one stream in order; says how many seconds are lost behind each."""

    def __init__(self, stamped: bool, path: Path) -> None:
        self._stamped, self._path = stamped, path
        self._sizes: deque[int] = deque(maxlen=_REMEMBERED)
        self._sum = 0
        self._follows = -1
        self._usual_head: bytes | None = None
        self._reservoir = BitReservoir()
        self.leans_on_lost = False
        """Does the packet that was told last borrow bits from lost ones, so that it decodes to no sound?"""

    def failed(self) -> None:
        """A packet could not be decoded: those behind it may lean on it."""
        self._reservoir.lost()

    def behind(self, packet: Any) -> float:
        """Seconds of sound lost between the packet before and the end of this one; 0 where stamps say it already."""
        if self._stamped or not packet.size or packet.pos is None or not packet.duration:
            return 0.0
        usual = self._sum / len(self._sizes) if self._sizes else packet.size
        data = bytes(memoryview(packet))
        declared = self._declared(data, usual)
        first = self._follows < 0
        if first:
            self._follows = self._begins(packet)
        between = packet.pos - self._follows
        self._follows = packet.pos + packet.size
        if between > 0 and not first:
            self._reservoir.lost()
        self.leans_on_lost = self._reservoir.lacks(data[:declared])
        if packet.size > declared:
            self._reservoir.lost()
        extra = max(0, between) + max(0, packet.size - declared)
        if len(self._sizes) == self._sizes.maxlen:
            self._sum -= self._sizes[0]
        self._sizes.append(min(declared, packet.size))
        self._sum += self._sizes[-1]
        lost = round(extra / usual)
        return lost * float(packet.duration * packet.time_base) if lost else 0.0

    def _declared(self, data: bytes, usual: float) -> int:
        """Bytes of the frame in the packet. A head that no other frame follows where it says is believed only if it is like those before."""
        declared = frame_bytes(data[:6])
        if declared is None:
            return round(usual)
        head = bytes((data[1], data[2] & 0x0C))
        if declared == len(data) or self._usual_head is None:
            self._usual_head = head
            return declared
        steady = self._sizes and max(self._sizes) - min(self._sizes) <= 1
        return declared if head == self._usual_head and not (steady and abs(declared - usual) > 1) else round(usual)

    def _begins(self, packet: Any) -> int:
        with self._path.open("rb") as file:
            return sound_begins(file.read(packet.pos), bytes(memoryview(packet)[:2]))


def sound_begins(before: bytes, sync: bytes) -> int:
    """The byte at which the sound of a file once began, given all bytes before its first packet, and the first two of that packet."""
    at = 0
    while before[at:at + 3] == b"ID3" and len(before) >= at + 10:
        size = sum((byte & 0x7F) << 7 * (3 - place) for place, byte in enumerate(before[at + 6:at + 10]))
        at += 10 + size + (10 if before[at + 5] & 0x10 else 0)
    if before[at:at + 8] == b"APETAGEX" and len(before) >= at + 32:
        at += 32 + int.from_bytes(before[at + 12:at + 16], "little")
    at = min(at, len(before), _chained(before, sync))  # a damaged tag may claim the sound behind it
    length = frame_bytes(before[at:at + 6]) or 0
    if any(word in before[at:at + min(length, 60)] for word in _TELLS_OF_THE_FILE):
        return min(at + length, len(before))
    return at if before[at:].strip(b"\0") else len(before)  # zeros behind a tag are its padding


def _chained(before: bytes, sync: bytes) -> int:
    """Where the first row of whole frames begins; the end where there is none."""
    first = before.find(sync)
    while first >= 0:
        at = first
        for _ in range(_CHAIN):
            length = frame_bytes(before[at:at + 6]) if before[at:at + 2] == sync else None
            if length is None:
                break
            at += length
        else:
            return first
        first = before.find(sync, first + 1)
    return len(before)


def frame_bytes(head: bytes) -> int | None:
    """The length that a frame's head declares, in bytes; None where it is no head of MPEG layer III or ADTS."""
    if len(head) < 6 or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return None
    layer = head[1] >> 1 & 3
    if layer == 0 and head[1] & 0xF6 == 0xF0:
        return (head[3] & 3) << 11 | head[4] << 3 | head[5] >> 5
    version, rate, kbit = head[1] >> 3 & 3, head[2] >> 2 & 3, head[2] >> 4
    if layer != 1 or version == 1 or rate == 3 or kbit in (0, 15):
        return None
    rate_hz = _RATES_HZ[rate] // {3: 1, 2: 2, 0: 4}[version]
    bits = (_MPEG_1_KBIT if version == 3 else _MPEG_2_KBIT)[kbit] * 1000
    return (144 if version == 3 else 72) * bits // rate_hz + (head[2] >> 1 & 1)
