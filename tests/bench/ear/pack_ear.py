"""Turns a trained adapter (adapter.npz of train.py) into the ear that ships: whole numbers of 8 bits, at a chosen strength.

    python tests/bench/ear/pack_ear.py ADAPTER.npz OUT.ear --scale 0.75 [--model BASE_FOLDER --merged FOLDER]

--merged: also the merged model in FOLDER, as the tool makes it. Printed: the file's size, how far rounding moves a correction, and the digest of the
merged model.bin, which is to be pinned in debrief/hearing/models.py.
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


def packed(up: np.ndarray, down: np.ndarray, scale: float) -> Correction:
    """Factors rebalanced (singular values shared by both), turned, and rounded with one step a row of up and one a column of down."""
    left_q, left = np.linalg.qr(up.astype(np.float64))
    right_q, right = np.linalg.qr(down.astype(np.float64).T)
    u, sizes, v = np.linalg.svd(left @ right.T)
    root, turn = np.sqrt(sizes), turned(len(sizes))
    up, down = (left_q @ u * root) @ turn, turn.T @ (v * root[:, None] @ right_q.T)
    rows = np.maximum(np.abs(up).max(1), 1e-12) / 127
    columns = np.maximum(np.abs(down).max(0), 1e-12) / 127
    return Correction(np.rint(up / rows[:, None]).astype(np.int8), np.rint(down / columns[None]).astype(np.int8),
                      (rows * scale).astype(np.float32), columns.astype(np.float32))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("adapter", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--model", type=Path, default=cache_folder() / BASE_MODEL)
    parser.add_argument("--merged", type=Path)
    asked = parser.parse_args()
    corrections, worst = {}, []
    with np.load(asked.adapter) as saved:
        names = sorted(name.removesuffix(".up") for name in saved.files if name.endswith(".up"))
        for name in names:
            up, down = saved[f"{name}.up"], saved[f"{name}.down"]
            place = name.removeprefix("matrices.").replace("-", "/") + "/weight"
            corrections[place] = packed(up, down, asked.scale)
            exact = asked.scale * (up.astype(np.float64) @ down)
            worst.append(float(np.linalg.norm(corrections[place].added() - exact) / max(1e-12, np.linalg.norm(exact))))
    asked.out.write_bytes(ear_bytes(Ear(BASE_FILES["model.bin"], corrections)))
    print(f"{asked.out}: {asked.out.stat().st_size:,} bytes, {len(corrections)} matrices; rounding moves a correction by {np.mean(worst):.4f} of "
          f"itself (most {max(worst):.4f})")
    if asked.merged:
        asked.merged.mkdir(parents=True, exist_ok=True)
        for name in BASE_FILES:
            if name != "model.bin":
                shutil.copyfile(asked.model / name, asked.merged / name)
        merge(asked.model / "model.bin", read_ear(asked.out), asked.merged / "model.bin")
        print(f"model.bin {sha256_of(asked.merged / 'model.bin')}")


if __name__ == "__main__":
    main()
