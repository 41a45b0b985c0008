"""Turns trained adapters (adapter.npz of train.py) into the ear that ships: whole numbers of 8 bits, each adapter at a chosen strength.

    python tests/bench/ear/pack_ear.py OUT.ear ADAPTER.npz=0.33 [ADAPTER.npz=0.5 ...] [--rank 48] [--model BASE_FOLDER] [--merged FOLDER]

Several adapters are added up. --rank: at most so many components a matrix, the strongest ones. --merged: also the merged model in FOLDER, as the tool
makes it. Printed: the file's size, how far rounding moves a correction, and the digest of the merged model.bin, which is to be pinned in
debrief/hearing/models.py.
"""
import argparse
import shutil
from pathlib import Path

import numpy as np

from debrief.hearing.ear import Correction, Ear, ear_bytes, merge, read_ear
from debrief.hearing.models import BASE_FILES, BASE_MODEL, cache_folder, sha256_of


def turned(rank: int) -> np.ndarray:
    """A rotation that spreads every component over all of them, so that none of them sets the step of the rounding alone."""
    matrix, _ = np.linalg.qr(np.random.default_rng(7).standard_normal((rank, rank)))
    return matrix


def packed(up: np.ndarray, down: np.ndarray, most: int) -> Correction:
    """Factors rebalanced (singular values shared by both), turned, and rounded with one step a row of up and one a column of down."""
    left_q, left = np.linalg.qr(up)
    right_q, right = np.linalg.qr(down.T)
    u, sizes, v = np.linalg.svd(left @ right.T)
    u, sizes, v = u[:, :most], sizes[:most], v[:most]
    root, turn = np.sqrt(sizes), turned(len(sizes))
    up, down = (left_q @ u * root) @ turn, turn.T @ (v * root[:, None] @ right_q.T)
    rows = np.maximum(np.abs(up).max(1), 1e-12) / 127
    columns = np.maximum(np.abs(down).max(0), 1e-12) / 127
    return Correction(np.rint(up / rows[:, None]).astype(np.int8), np.rint(down / columns[None]).astype(np.int8),
                      rows.astype(np.float32), columns.astype(np.float32))


def factors(adapters: list[str]) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """(up, down) in float64 by the name of the matrix in model.bin; of several adapters, side by side."""
    parts: dict[str, list[tuple[np.ndarray, np.ndarray]]] = {}
    for adapter in adapters:
        path, _, scale = adapter.rpartition("=")
        with np.load(path) as saved:
            for name in sorted(name.removesuffix(".up") for name in saved.files if name.endswith(".up")):
                if np.any(saved[f"{name}.up"]):
                    place = name.removeprefix("matrices.").replace("-", "/") + "/weight"
                    parts.setdefault(place, []).append((float(scale) * saved[f"{name}.up"].astype(np.float64), saved[f"{name}.down"].astype(np.float64)))
    return {place: (np.concatenate([up for up, _ in pairs], 1), np.concatenate([down for _, down in pairs], 0)) for place, pairs in parts.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("adapters", nargs="+")
    parser.add_argument("--rank", type=int, default=48)
    parser.add_argument("--model", type=Path, default=cache_folder() / BASE_MODEL)
    parser.add_argument("--merged", type=Path)
    asked = parser.parse_args()
    corrections, moved = {}, []
    for place, (up, down) in factors(asked.adapters).items():
        corrections[place] = packed(up, down, asked.rank)
        exact = up @ down
        moved.append(float(np.linalg.norm(corrections[place].added() - exact) / np.linalg.norm(exact)))
    asked.out.write_bytes(ear_bytes(Ear(BASE_FILES["model.bin"], corrections)))
    print(f"{asked.out}: {asked.out.stat().st_size:,} bytes, {len(corrections)} matrices; rounding moves a correction by {np.mean(moved):.4f} of "
          f"itself (most {max(moved):.4f})")
    if asked.merged:
        asked.merged.mkdir(parents=True, exist_ok=True)
        for name in BASE_FILES:
            if name != "model.bin":
                shutil.copyfile(asked.model / name, asked.merged / name)
        merge(asked.model / "model.bin", read_ear(asked.out), asked.merged / "model.bin")
        print(f"model.bin {sha256_of(asked.merged / 'model.bin')}")


if __name__ == "__main__":
    main()
