"""Samples a second, as the head of a file says them: refused where no recorder writes them or where the head contradicts itself."""
import struct
from pathlib import Path

from ..errors import RecordingError

RATES_HZ = range(1_000, 1_000_001)
"""Samples a second that a recorder may write; what a damaged head says beyond them would take any memory."""
_USUAL_HZ = frozenset({8_000, 11_025, 12_000, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000, 64_000, 88_200, 96_000, 176_400, 192_000})
_UNPACKED = (1, 3, 0xFFFE)
"""Format tags of WAV whose samples are plain numbers: only then do bytes a second follow from samples a second."""


def check_rate(path: Path, container: str, rate_hz: int) -> None:
    """Raises RecordingError where the rate cannot be true."""
    told = _by_bytes(path) if container == "wav" and rate_hz not in _USUAL_HZ else None
    if rate_hz not in RATES_HZ:
        raise RecordingError(f"the head of the file is damaged: it says {rate_hz:,} samples a second", str(path), "copy it again from the recorder")
    if told is not None and told != rate_hz:
        raise RecordingError(f"the head of the file is damaged: it says {rate_hz:,} samples a second, and so many bytes a second as {told:,.0f} "
                             "samples would take", str(path), "copy it again from the recorder, or mend its head: every time hangs on it")


def _by_bytes(path: Path) -> float | None:
    """Samples a second by what a WAV says of its bytes a second; None where it does not say so."""
    with path.open("rb") as file:
        head = file.read(4096)
    at = head.find(b"fmt ")
    if at < 0 or len(head) < at + 24:
        return None
    kind, _, _, bytes_a_second, frame_bytes = struct.unpack_from("<HHIIH", head, at + 8)
    return bytes_a_second / frame_bytes if kind in _UNPACKED and frame_bytes else None
