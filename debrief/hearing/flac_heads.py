"""FLAC frames number themselves (RFC 9639, 9.1): where damage lies between two of them, the demuxer gives the one before it the stamp behind it."""
from typing import Any

_FLAC_8_BITS, _FLAC_16_BITS = 6, 7
_RATE_BYTES = {12: 1, 13: 2, 14: 2}
_FIXED, _VARIABLE = 0xF8, 0xF9


class FlacHeads:
    """Fed with the packets of one FLAC stream; says how far the stamp of each lies from what its own first frame says."""

    def __init__(self, container: Any, stream: Any) -> None:
        info = bytes(stream.codec_context.extradata or b"")[:4] if container.format.name == "flac" else b""
        least, most = int.from_bytes(info[:2]), int.from_bytes(info[2:4])
        self._block = most if least == most else 0
        self._rate_hz = stream.codec_context.sample_rate

    def moved(self, packet: Any) -> float:
        """Seconds to be added to the packet's stamp; 0 where its frame does not say, or says the same."""
        if not self._block or packet.pts is None or not packet.size:
            return 0.0
        sample = first_sample(bytes(memoryview(packet)[:16]), self._block)
        return 0.0 if sample is None else sample / self._rate_hz - float(packet.pts * packet.time_base)


def first_sample(head: bytes, block: int) -> int | None:
    """The number of the first sample of the frame whose head this is; None where it is none, or a damaged one. block: samples a frame."""
    if len(head) < 6 or head[0] != 0xFF or head[1] not in (_FIXED, _VARIABLE):
        return None
    ones = 8 - (~head[4] & 0xFF).bit_length()
    if ones in (1, 8):
        return None
    more = max(0, ones - 1)
    number = head[4] & (0x7F >> ones)
    for byte in head[5:5 + more]:
        if byte & 0xC0 != 0x80:
            return None
        number = number << 6 | byte & 0x3F
    end = 5 + more + {_FLAC_8_BITS: 1, _FLAC_16_BITS: 2}.get(head[2] >> 4, 0) + _RATE_BYTES.get(head[2] & 15, 0)
    if len(head) <= end or _crc(head[:end]) != head[end]:
        return None
    return number if head[1] == _VARIABLE else number * block


def _crc(data: bytes) -> int:
    """CRC-8 of a frame's head: polynomial 0x07, begun at 0 (RFC 9639, 9.1.8)."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1 ^ 0x07) & 0xFF if crc & 0x80 else crc << 1
    return crc
