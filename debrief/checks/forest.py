"""Boosted trees as data: log odds of a row from its witnesses, and what each witness adds to them.

The trees are fitted by a library (tests/bench/calibrate.py) and kept in forest.json; to read them takes a few lines, and needs no library.
A tree asks for one witness after another; a witness that is not known takes the side that the fit found best for such rows. On its way down
a row's log odds change at every question: that change is counted to the witness asked there, so that what all witnesses add makes up the
total (Saabas, "Interpreting random forests", 2014; named from memory).
"""
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

LEAF = -1
TOGETHER = 256


@dataclass(frozen=True)
class Forest:
    """Nodes of all trees in one row of arrays.

    witnesses: the names asked for, by their number; graded: whether one that is not known is unknown (not 0); roots: the first node of each tree;
    asked: the number of a node's witness, LEAF where it has none; at_most: up to which value it goes left; unknown_left: whether it goes there
    where the witness is not known; left, right: nodes; value: log odds of the rows that come to the node.
    """

    witnesses: tuple[str, ...]
    graded: NDArray[np.bool_]
    roots: NDArray[np.int32]
    asked: NDArray[np.int32]
    at_most: NDArray[np.float64]
    unknown_left: NDArray[np.bool_]
    left: NDArray[np.int32]
    right: NDArray[np.int32]
    value: NDArray[np.float64]

    @property
    def usual(self) -> float:
        """The total of a row of which nothing is known yet."""
        return float(self.value[self.roots].sum())

    def total(self, known: Mapping[str, float]) -> float:
        """Log odds from witnesses by name."""
        return self.usual + sum(self.parts([known])[0].values())

    def parts(self, rows: Sequence[Mapping[str, float]]) -> list[dict[str, float]]:
        """What each witness adds to the usual log odds of each row; those that add nothing are left out."""
        return [part for start in range(0, len(rows), TOGETHER) for part in self._parts(rows[start:start + TOGETHER])]

    def _parts(self, rows: Sequence[Mapping[str, float]]) -> Iterator[dict[str, float]]:
        width = len(self.witnesses)
        unknown = np.where(self.graded, np.nan, 0.0)
        given = np.array([[row.get(name, other) for name, other in zip(self.witnesses, unknown, strict=True)] for row in rows])
        added = np.zeros(len(rows) * width)
        nodes, row = np.tile(self.roots, len(rows)), np.repeat(np.arange(len(rows)), len(self.roots))
        going = self.asked[nodes] != LEAF
        while going.any():
            nodes, row = nodes[going], row[going]
            asked = self.asked[nodes]
            value = given[row, asked]
            below = np.where(np.isnan(value), self.unknown_left[nodes], value <= self.at_most[nodes])
            following = np.where(below, self.left[nodes], self.right[nodes])
            added += np.bincount(row * width + asked, self.value[following] - self.value[nodes], minlength=len(added))
            nodes, going = following, self.asked[following] != LEAF
        for part in added.reshape(len(rows), width):
            yield {self.witnesses[at]: float(part[at]) for at in np.flatnonzero(part)}


def forest_of(data: Mapping[str, Any]) -> Forest:
    """A forest from what forest.json holds."""
    nodes = data["nodes"]
    return Forest(tuple(data["witnesses"]), np.isin(data["witnesses"], data["graded"]), np.array(data["roots"], np.int32), np.array(nodes["asked"], np.int32),
                  np.array(nodes["at_most"], float), np.array(nodes["unknown_left"], bool), np.array(nodes["left"], np.int32),
                  np.array(nodes["right"], np.int32), np.array(nodes["value"], float))


@cache
def shipped_forest() -> Forest:
    """The forest that ships with the package."""
    return forest_of(json.loads(resources.files(__package__).joinpath("forest.json").read_text(encoding="utf-8")))
