"""A model.bin of one small matrix, and an ear for it."""
import hashlib
import struct
from pathlib import Path

import numpy as np

from debrief.hearing.ear import Correction, Ear

MATRIX = (np.arange(12, dtype=np.float16).reshape(3, 4) / 8).astype(np.float16)


def text(value: str) -> bytes:
    return struct.pack("<H", len(value) + 1) + value.encode() + b"\0"


def variable(name: str, value: np.ndarray, kind: int) -> bytes:
    return text(name) + struct.pack("<B", value.ndim) + struct.pack(f"<{value.ndim}I", *value.shape) + struct.pack("<BI", kind, value.nbytes) + value.tobytes()


def model_bytes(matrix: np.ndarray) -> bytes:
    """A model.bin of three variables and an alias."""
    parts = [variable("a/bias", np.ones(3, np.float16), 4), variable("a/weight", matrix, 4), variable("heads", np.array(8, np.int16), 2)]
    return struct.pack("<I", 6) + text("MadeSpec") + struct.pack("<II", 3, len(parts)) + b"".join(parts) + struct.pack("<I", 1) + text("b") + text("a/weight")


def made_ear(base: Path, name: str = "a/weight", rows: int = 3) -> Ear:
    up = np.array([[100, -3], [0, 127], [-128, 5]], np.int8)[:rows]
    down = np.array([[1, 2, 3, 4], [-4, 3, -2, 1]], np.int8)
    scale = np.array([0.01, 0.02, 0.5], np.float32)[:rows]
    return Ear(hashlib.sha256(base.read_bytes()).hexdigest(), {name: Correction(up, down, scale, np.array([1, 0.1, 2, 0.03125], np.float32))})
