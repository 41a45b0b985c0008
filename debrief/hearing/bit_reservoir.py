"""Frames of MPEG layer III borrow bits from frames before them; behind a hole these bits are lost, and what decodes then is no sound.

Each frame says in its side information how many bytes before it its own bits begin (main_data_begin: ISO/IEC 11172-3, 2.4.1.7; 13818-3).
"""

_MOST_BORROWED = 511


def own_and_borrowed(frame: bytes) -> tuple[int, int] | None:
    """(bytes of head, checksum and side information, bytes borrowed) of a frame of layer III; None for anything else."""
    if len(frame) < 8 or frame[0] != 0xFF or frame[1] & 0xE0 != 0xE0 or frame[1] >> 1 & 3 != 1 or frame[1] >> 3 & 3 == 1:
        return None
    first, mono = frame[1] >> 3 & 3 == 3, frame[3] >> 6 == 3
    at = 4 if frame[1] & 1 else 6
    if first:
        return at + (17 if mono else 32), frame[at] << 1 | frame[at + 1] >> 7
    return at + (9 if mono else 17), frame[at]


class BitReservoir:
    """Fed with frames in order; knows which of them lean on lost ones."""

    def __init__(self) -> None:
        self._held: int | None = None  # bytes of whole frames since something was lost; None where nothing was, or long ago

    def lost(self) -> None:
        """Something is missing before the next frame."""
        self._held = 0

    def lacks(self, frame: bytes) -> bool:
        """Does the frame borrow bytes that are lost?"""
        told = own_and_borrowed(frame)
        if self._held is None or told is None:
            return False
        own, borrowed = told
        lacking = borrowed > self._held
        held = self._held + max(0, len(frame) - own)
        self._held = held if held < _MOST_BORROWED else None
        return lacking
