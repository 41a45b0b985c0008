"""The two learnt parts of certainty of values, for calibrate.py: weights of words (wordings.json) and boosted trees (forest.json).

Sessions are parted into FOLDS; what is told of a row always comes from fits that have not seen its session, and the trees learn from words'
odds that were made so too.
"""
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import lightgbm
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from sklearn.linear_model import LogisticRegression

from debrief.checks.forest import LEAF, forest_of
from debrief.checks.grounds import AGAINST, FOR, SERIOUS
from debrief.checks.witnesses import GRADED
from debrief.checks.wording_witness import WORDING, Wordings

FOLDS = 12
OFTEN, STRENGTH, LEAST_WEIGHT = 4, 0.06, 0.01
"""A thing shown by fewer rows has no weight; how little the weights are held back (scikit-learn's C); weights nearer to 0 are not kept."""
TREES: Mapping[str, Any] = {
    "objective": "binary", "num_leaves": 15, "learning_rate": 0.03, "min_data_in_leaf": 40, "bagging_fraction": 0.7, "bagging_freq": 1, "feature_fraction": 0.3,
    "lambda_l2": 5.0, "verbose": -1, "seed": 1, "deterministic": True, "force_col_wise": True, "num_threads": 2}
ROUNDS = 400
ONE_WAY = SERIOUS | {"read back right", "read back wrong", "word probability", "weighing margin", "weighing margin of this number", "repeated", "superseded",
                     "name: in the plan", WORDING}
"""Witnesses that may move a chance one way only. All of them so would cost a tenth of the sure rows: what speaks for a row may not beside another thing."""
Vector = NDArray[np.float64]


@dataclass
class Valued:
    """Value rows of all talk: witnesses, what their words show, whether right, the session each is of, and how much it counts."""

    witnesses: Sequence[Mapping[str, float]]
    shown: Sequence[frozenset[str]]
    right: Vector
    sessions: NDArray[np.str_]
    counts: Vector


def folds(sessions: NDArray[np.str_]) -> NDArray[np.int64]:
    """The part that each row's session belongs to."""
    names = np.random.RandomState(3).permutation(np.unique(sessions))
    part = {name: at % FOLDS for at, name in enumerate(names)}
    return np.array([part[name] for name in sessions])


def fit_wordings(shown: Sequence[frozenset[str]], right: Vector) -> Wordings:
    count: dict[str, int] = {}
    for row in shown:
        for item in row:
            count[item] = count.get(item, 0) + 1
    names = sorted(name for name, rows in count.items() if rows >= OFTEN)
    at = {name: place for place, name in enumerate(names)}
    columns = [sorted(at[item] for item in row if item in at) for row in shown]
    ends = np.cumsum([0, *(len(row) for row in columns)])
    matrix = csr_matrix((np.ones(ends[-1]), np.concatenate(columns).astype(int), ends), (len(shown), len(names)))
    model = LogisticRegression(C=STRENGTH, solver="liblinear", max_iter=300, random_state=1).fit(matrix, right)
    return Wordings(round(float(model.intercept_[0]), 4), {name: round(float(weight), 4) for name, weight in zip(names, model.coef_[0], strict=True)
                                                           if abs(weight) >= LEAST_WEIGHT})


def _wordings_of(rows: Valued, chosen: NDArray[np.bool_]) -> Wordings:
    return fit_wordings([shown for shown, take in zip(rows.shown, chosen, strict=True) if take], rows.right[chosen])


def fit_forest(rows: Valued, chosen: NDArray[np.bool_]) -> dict[str, Any]:
    """What forest.json holds."""
    names = sorted({name for row, take in zip(rows.witnesses, chosen, strict=True) if take for name, value in row.items() if value})
    matrix = np.array([[row.get(name, np.nan if name in GRADED else 0.0) for name in names] for row, take in zip(rows.witnesses, chosen, strict=True) if take])
    ways = [(1 if name in FOR else -1 if name in AGAINST else 0) if name in ONE_WAY else 0 for name in names]
    data = lightgbm.Dataset(matrix, rows.right[chosen], weight=rows.counts[chosen], free_raw_data=False)
    booster = lightgbm.train({**TREES, "monotone_constraints": ways}, data, ROUNDS)
    return _as_data(names, booster.dump_model())


def _as_data(names: Sequence[str], dump: Mapping[str, Any]) -> dict[str, Any]:
    nodes: dict[str, list[Any]] = {key: [] for key in ("asked", "at_most", "unknown_left", "left", "right", "value")}

    def add(node: Mapping[str, Any]) -> int:
        place, leaf = len(nodes["asked"]), "leaf_value" in node
        nodes["asked"].append(LEAF if leaf else node["split_feature"])
        nodes["at_most"].append(0.0 if leaf else float(f"{node['threshold']:.6g}"))
        nodes["unknown_left"].append(0 if leaf or not _unknown_left(node) else 1)
        nodes["value"].append(round(node["leaf_value" if leaf else "internal_value"], 5))
        nodes["left"].append(0)
        nodes["right"].append(0)
        if not leaf:
            nodes["left"][place], nodes["right"][place] = add(node["left_child"]), add(node["right_child"])
        return place

    roots = [add(tree["tree_structure"]) for tree in dump["tree_info"]]
    return {"witnesses": list(names), "graded": sorted(set(names) & GRADED), "roots": roots, "nodes": nodes}


def _unknown_left(node: Mapping[str, Any]) -> bool:
    """Where a witness that was always known is not, the library takes it for 0."""
    return bool(node["default_left"]) if node["missing_type"] == "NaN" else node["threshold"] >= 0


def settle(rows: Valued) -> tuple[Wordings, dict[str, Any], Vector]:
    """Wordings and forest of all rows, and each row's log odds from fits that have not seen its session."""
    parts = folds(rows.sessions)
    unseen = np.zeros(len(rows.right))
    said = np.array([bool(row) for row in rows.shown])
    for part in range(FOLDS):
        out = parts == part
        words = _wordings_of(rows, said & ~out)
        unseen[out] = [words.chance(row) for row, left in zip(rows.shown, out, strict=True) if left]
    rows = Valued([{**row, WORDING: float(chance)} if shown else row for row, shown, chance in zip(rows.witnesses, rows.shown, unseen, strict=True)],
                  rows.shown, rows.right, rows.sessions, rows.counts)
    odds = np.zeros(len(rows.right))
    for part in range(FOLDS):
        out = parts == part
        forest = forest_of(fit_forest(rows, ~out))
        odds[out] = [forest.total(row) for row, left in zip(rows.witnesses, out, strict=True) if left]
        print(f"part {part + 1} of {FOLDS}: {out.sum()} rows", flush=True)
    return _wordings_of(rows, said), fit_forest(rows, np.ones(len(odds), bool)), odds
