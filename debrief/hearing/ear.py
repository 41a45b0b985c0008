"""An ear: low-rank corrections of a recogniser's matrices, small enough to ship, merged into weights that are on the machine.

The file is data: a line of JSON (EarHead), then for every matrix its factors. Factors are whole numbers of 8 bits with a scale a row of
`up` and a scale a column of `down`: their product is a sum of whole numbers, exact in any order, and what follows is one multiplication
after the other in float64 and one rounding to float16. The same weights and ear give the same bytes on every machine, so the digest of
the merged file can be pinned.
"""
import hashlib
import json
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from ..errors import ModelError

FORMAT = "debrief-ear-1"
_LONGEST_HEAD = 1 << 20
_HALF = 4
"""CTranslate2's number for float16."""
_VERSION = 6
_AGAIN = "install the package again"
_FETCH = "delete the folder and run `debrief fetch` again"


@dataclass(frozen=True, slots=True)
class Correction:
    """What is added to one matrix (rows, inner): (up @ down) * up_scale[:, None] * down_scale[None].

    up: (rows, rank) and down: (rank, inner), int8; up_scale: (rows,), down_scale: (inner,), float32.
    """

    up: NDArray[np.int8]
    down: NDArray[np.int8]
    up_scale: NDArray[np.float32]
    down_scale: NDArray[np.float32]

    def added(self) -> NDArray[np.float64]:
        """(rows, inner), the same to the last bit on every machine: the sums are whole numbers far below 2 to the 53."""
        whole = self.up.astype(np.float64) @ self.down.astype(np.float64)
        return (whole * self.up_scale.astype(np.float64)[:, None]) * self.down_scale.astype(np.float64)[None]


@dataclass(frozen=True, slots=True)
class Ear:
    """base: sha256 of the model.bin it was made for; corrections: by the name of the matrix there."""

    base: str
    corrections: dict[str, Correction]


def read_ear(path: Path) -> Ear:
    """An ear from its file. Raises ModelError where it is cut short, too long or not an ear."""
    try:
        data = path.read_bytes()
        head = json.loads(data[:_LONGEST_HEAD].partition(b"\n")[0])
        if head["format"] != FORMAT:
            raise ValueError(f"its format is {head['format']!r}, not {FORMAT!r}")
        ear, used = _read_corrections(head, data, data.index(b"\n") + 1)
    except OSError as error:
        raise ModelError(f"the ear cannot be read: {error}", str(path), _AGAIN) from error
    except (ValueError, KeyError, TypeError) as error:
        raise ModelError(f"the ear is not whole or not an ear: {error}", str(path), _AGAIN) from error
    if used != len(data):
        raise ModelError(f"the ear is not whole or not an ear: {len(data):,} bytes where {used:,} are told", str(path), _AGAIN)
    return ear


def ear_bytes(ear: Ear) -> bytes:
    """The file of an ear."""
    matrices = [{"name": name, "rows": one.up.shape[0], "rank": one.up.shape[1], "inner": one.down.shape[1]}
                for name, one in sorted(ear.corrections.items())]
    head = json.dumps({"format": FORMAT, "base": ear.base, "matrices": matrices}).encode() + b"\n"
    parts = [part.astype(kind).tobytes() for _, one in sorted(ear.corrections.items())
             for part, kind in ((one.up, "<i1"), (one.down, "<i1"), (one.up_scale, "<f4"), (one.down_scale, "<f4"))]
    return b"".join([head, *parts])


def merge(base: Path, ear: Ear, target: Path) -> None:
    """Write the base's model.bin with the ear's corrections added. Raises ModelError for another base than the ear's own."""
    with base.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    if digest != ear.base:
        raise ModelError("the ear was made for other weights than these: the digest of model.bin differs", str(base), _FETCH)
    missing = set(ear.corrections)
    with base.open("rb") as file, target.open("wb") as out:
        try:
            for name, shape, head, payload in _variables(file):
                out.write(head)
                out.write(_corrected(name, shape, payload, ear.corrections[name]) if name in ear.corrections else payload)
                missing.discard(name)
        except (struct.error, ValueError) as error:
            raise ModelError(f"model.bin cannot be read: {error}", str(base), _FETCH) from error
    if missing:
        raise ModelError(f"model.bin lacks {', '.join(sorted(missing))}, which the ear corrects", str(base), _FETCH)


def _read_corrections(head: dict[str, Any], data: bytes, at: int) -> tuple[Ear, int]:
    def take(count: int, kind: str) -> NDArray[Any]:
        nonlocal at
        size = count * np.dtype(kind).itemsize
        if count < 0 or at + size > len(data):
            raise ValueError(f"{len(data):,} bytes are too few")
        at += size
        return np.frombuffer(data, kind, count, at - size)

    corrections = {}
    for item in head["matrices"]:
        rows, rank, inner = int(item["rows"]), int(item["rank"]), int(item["inner"])
        up, down = take(rows * rank, "<i1").reshape(rows, rank), take(rank * inner, "<i1").reshape(rank, inner)
        corrections[str(item["name"])] = Correction(up, down, take(rows, "<f4"), take(inner, "<f4"))
    return Ear(str(head["base"]), corrections), at


def _corrected(name: str, shape: tuple[int, ...], payload: bytes, correction: Correction) -> bytes:
    matrix = np.frombuffer(payload, "<f2").astype(np.float64).reshape(shape[0], -1)
    added = correction.added()
    if added.shape != matrix.shape:
        raise ValueError(f"{name} is {matrix.shape}, the ear's correction {added.shape}")
    with np.errstate(over="ignore"):
        merged: NDArray[np.float16] = (matrix + added).astype("<f2")
    if not np.isfinite(merged).all():
        raise ValueError(f"{name} is not finite with the ear's correction")
    return merged.tobytes()


def _variables(file: BinaryIO) -> Iterator[tuple[str, tuple[int, ...], bytes, bytes]]:
    """(name, shape, the bytes before its numbers, its numbers) of every variable; what stands behind the last comes under the name ''."""
    head = bytearray()

    def take(size: int) -> bytes:
        found = file.read(size)
        if len(found) != size:
            raise ValueError("it ends too early")
        head.extend(found)
        return found

    def number(form: str) -> int:
        return int(struct.unpack(form, take(struct.calcsize(form)))[0])

    def text() -> str:
        return take(number("<H"))[:-1].decode()

    if number("<I") != _VERSION:
        raise ValueError("it has another version than the ear knows")
    text()
    number("<I")
    for _ in range(number("<I")):
        name = text()
        shape = tuple(number("<I") for _ in range(number("<B")))
        kind, size = number("<B"), number("<I")
        payload = file.read(size)
        if len(payload) != size:
            raise ValueError("it ends too early")
        yield name if kind == _HALF else "", shape, bytes(head), payload
        head.clear()
    yield "", (), bytes(head), file.read()
