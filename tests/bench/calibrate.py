"""Fits the certainty of rows to labels and writes calibration.json, forest.json and wordings.json beside debrief/checks/certainty.py.

    python tests/bench/calibrate.py SCORER --typed SETS ... --loops FOLDER ... --heard SETS --runs RUNS [--also RUNS SETS ...] [--write] [--plot FILE]

Values (readouts, ratings, clock calls): boosted trees over the witnesses, one forest for all talk (value_fit.py), and for each setting (text: no
word probabilities; sound: what a recogniser heard, weighed or not) a line that makes chances of its log odds. Other kinds: logistic regression
with a quadratic penalty (Newton's method), one for each setting; a witness that fewer than LEAST rows have takes no part, nor one whose weight
would point the other way than checks/grounds.py allows. Rows that are in doubt whatever the chance take no part in any.
--loops: folders of talk with labels (golden/sure), as text: what was written after the reading, or to mislead it, tells more than the sets that
it was made with. --also: runs of other labelled sets (speak_loops.py makes one).
Quoted are chances of rows of sessions that took no part in the fit (values: a twelfth of the sessions left out at a time, other kinds one) under
all their conditions; log odds are then straightened by these rows. The threshold for `clear` is the lowest at which the wrong share of those
sessions' rows is at most the setting's target; where no threshold reaches it, the one with the lowest upper bound.
"""
import argparse
import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from labelled_loops import loops
from labelled_rows import VALUE_KINDS, Judged, heard, runs, typed, where_said
from listening import SLACK_S
from numpy.typing import NDArray
from value_fit import Valued
from value_fit import settle as settle_forest

from debrief.checks.certainty import Model, kind_witness, settled_before
from debrief.checks.forest import Forest, forest_of
from debrief.checks.grounds import AGAINST, FOR
from debrief.checks.missed import missed_witnesses
from debrief.checks.witnesses import GRADED, Witnesses
from debrief.checks.wording_witness import WORDING, Wordings
from debrief.records.talk import Turn

FOLDER = Path(__file__).parents[2] / "debrief" / "checks"
LEAST, BINS, KNEE = 6, 10, 0.9
FOOT = {"values": 0.5, "others": 0.7}
"""Where the line bends at its lower end: above most wrong rows, of which other kinds have few and none with a low chance."""
RECORDING = "recording: word probability"
PENALTY = 2.0
NOT_FITTED = frozenset(("qualitative", "coverage", "exceedances", "events"))
"""Kinds whose labels do not list everything, or that repeat other rows."""
TARGETS = {"text": {"values": 0.1, "others": 0.05}, "sound": {"values": 0.077, "others": 0.09}}
"""Wrong share among sure rows of sessions that were left out, by setting. On text four rows in five of those are of loops full of what misleads."""
BAD, ALSO, NOISY = "snr8", "also", ("15dB", "mixed")
"""Sound at 8 dB, other sets' runs and what another recogniser heard take part in the fit; on sound the threshold of other kinds is chosen on --runs alone."""
Vector = NDArray[np.float64]


@dataclass
class Rows:
    """Witnesses, verdicts, where each row comes from, and how much it counts in a fit."""

    witnesses: list[Mapping[str, float]]
    right: Vector
    sessions: NDArray[np.str_]
    conditions: NDArray[np.str_]
    counts: Vector
    shown: list[frozenset[str]]


def gather(items: Sequence[Judged], values: bool) -> Rows:
    found: list[tuple[Mapping[str, float], bool, str, str, frozenset[str]]] = []
    for item in items:
        known = Witnesses(item.review)
        for position, (row, verdict) in enumerate(zip(item.review.rows, item.verdicts, strict=True)):
            if verdict is not None and (row.kind in VALUE_KINDS) == values and row.kind not in NOT_FITTED and not settled_before(row):
                found.append((known.of(position) | {kind_witness(row.kind): 1.0}, verdict, item.session, item.condition,
                              known.shown(position) if values else frozenset()))
    return Rows([w for w, *_ in found], np.array([v for _, v, *_ in found], float), np.array([s for _, _, s, *_ in found]),
                np.array([c for *_, c, _ in found]), np.ones(len(found)), [shown for *_, shown in found])


def balanced(conditions: NDArray[np.str_]) -> Vector:
    """How much each row counts where every set counts alike: 'sure typed' and 'sure recognised' are one, 'run clean' and 'run 15dB', 'also run ...'."""
    names, sets = np.unique([str(condition).rpartition(" ")[0] for condition in conditions], return_inverse=True)
    rows = np.bincount(sets)
    return np.asarray(len(conditions) / len(names) / rows[sets])


def fit(rows: Rows, chosen: NDArray[np.bool_]) -> dict[str, Any]:
    """bias, weights, and what an absent graded witness counts as."""
    taking = [w for w, take in zip(rows.witnesses, chosen, strict=True) if take]
    count = Counter(name for w in taking for name, value in w.items() if value)
    names = sorted(name for name, n in count.items() if n >= LEAST)
    usual = {name: float(np.mean([w[name] for w in taking if name in w])) for name in names if name in GRADED}
    matrix = np.array([[1.0, *(w.get(name, usual.get(name, 0.0)) for name in names)] for w in taking])
    names, solved = _signed(names, matrix, np.column_stack([rows.right[chosen], rows.counts[chosen]]))
    usual = {name: value for name, value in usual.items() if name in names}
    return {"bias": round(float(solved[0]), 4), "weights": {n: round(float(v), 4) for n, v in zip(names, solved[1:], strict=True)},
            "usual": {name: round(value, 4) for name, value in usual.items()}}


def _signed(names: Sequence[str], matrix: Vector, told: Vector) -> tuple[list[str], Vector]:
    """The witnesses whose weights point the way they may, and the bias and weights with only these; the others are left out step by step.

    told: for each row whether it is right, and how much it counts.
    """
    kept = list(range(len(names)))
    while True:
        solved = newton(matrix[:, [0, *(at + 1 for at in kept)]], told[:, 0], PENALTY, told[:, 1])
        wrong = {at for at, weight in zip(kept, solved[1:], strict=True)
                 if names[at] in FOR and weight < 0 or names[at] in AGAINST and weight > 0}
        if not wrong:
            return [names[at] for at in kept], solved
        kept = [at for at in kept if at not in wrong]


def newton(matrix: Vector, right: Vector, strength: float, counts: Vector | float = 1.0) -> Vector:
    penalty = np.eye(matrix.shape[1]) * strength
    penalty[0, 0] = 1e-6
    weights = np.zeros(matrix.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-matrix @ weights))
        slope = matrix.T @ (matrix * (counts * chance * (1 - chance))[:, None]) + penalty
        step = np.linalg.solve(slope, matrix.T @ (counts * (chance - right)) + penalty @ weights)
        weights = weights - step
        if np.abs(step).max() < 1e-8:
            break
    return weights


def chances(model: Mapping[str, Any], rows: Rows, chosen: NDArray[np.bool_], forest: Forest | None = None) -> Vector:
    bends = (model.get(name, 0.0) for name in ("knee", "bend", "foot", "sag"))
    known = Model(model["bias"], model["weights"], model["usual"], 1.0, *bends, model.get("slope", 1.0), forest)
    taking = [w for w, take in zip(rows.witnesses, chosen, strict=True) if take]
    return np.array([known.chance(w, parts) for w, parts in zip(taking, known.parts(taking), strict=True)])


def left_out(rows: Rows) -> Vector:
    """The chance of each row from a fit without its session."""
    found = np.zeros(len(rows.right))
    for session in sorted(set(rows.sessions)):
        out = rows.sessions == session
        found[out] = chances(fit(rows, ~out), rows, out)
    return found


def calibrated(model: Mapping[str, Any], out: Vector, rows: Rows) -> tuple[dict[str, Any], Vector]:
    """Both with the log odds straightened: a fit is too sure of sessions that it has not seen, by as much as these figures show.

    First by how well the whole recording was heard (few recordings are in a fit, so that it learns too little of it), then by a bent line.
    """
    odds = np.log(out / (1 - out))
    usual = model["usual"].get(RECORDING, 0.0)
    heard = np.array([w.get(RECORDING, usual) for w in rows.witnesses]) - usual
    _, slope, more = newton(np.column_stack([np.ones(len(out)), odds, heard]), rows.right, 0.1)
    lift = max(0.0, float(more / slope)) if slope > 0 and RECORDING in model["weights"] else 0.0
    odds = odds + lift * heard
    weights = {name: weight + (lift if name == RECORDING else 0.0) for name, weight in model["weights"].items()}
    line, out = straight(odds, rows.right, FOOT["others"])
    shift, slope = line.pop("shift"), line.pop("slope")
    return {**model, **line, "bias": round(shift + slope * (model["bias"] - lift * usual), 4), "slope": 1.0, "forest": False,
            "weights": {name: round(slope * weight, 4) for name, weight in weights.items()}}, out


def straight(odds: Vector, right: Vector, low: float) -> tuple[dict[str, float], Vector]:
    """Platt's line with two bends, at chances of KNEE and low, and the chances it makes: where most rows are right one line cannot serve both ends."""
    knee, foot = (np.log(at / (1 - at)) for at in (KNEE, low))
    above, below = np.maximum(odds - knee, 0.0), np.minimum(odds - foot, 0.0)
    shift, slope, more, less = newton(np.column_stack([np.ones(len(odds)), odds, above, below]), right, 0.1)
    if slope <= 0 or slope + more <= 0:  # a bent line would turn round: the straight one
        (shift, slope), more, less = newton(np.column_stack([np.ones(len(odds)), odds]), right, 1e-6), 0.0, 0.0
    less = max(less, -slope)
    line = {"shift": shift, "slope": slope, "knee": shift + slope * knee, "bend": more / slope, "foot": shift + slope * foot, "sag": less / slope}
    return {name: round(float(value), 4) for name, value in line.items()}, 1 / (1 + np.exp(-(shift + slope * odds + more * above + less * below)))


def threshold(chance: Vector, right: Vector, target: float) -> float:
    """The lowest chance, on a grid of hundredths, from which the wrong share is at most the target."""
    shares = [(step / 100, _wrong_share(chance, right, step / 100)) for step in range(50, 100)]
    fitting = [at for at, share in shares if share is not None and share <= target]
    return fitting[0] if fitting else min((share, at) for at, share in shares if share is not None)[1]


def _wrong_share(chance: Vector, right: Vector, at: float) -> float | None:
    sure = chance >= at
    return float(1 - right[sure].mean()) if sure.any() else None


def reliability(chance: Vector, right: Vector) -> list[dict[str, float]]:
    """Ten bins of chance: rows, mean chance, share right."""
    bins = np.minimum((chance * BINS).astype(int), BINS - 1)
    return [{"from": b / BINS, "rows": int((bins == b).sum()), "chance": round(float(chance[bins == b].mean()), 4),
             "right": round(float(right[bins == b].mean()), 4)} for b in range(BINS) if (bins == b).any()]


def figures(rows: Rows, chance: Vector, clear_from: float, labels: Mapping[str, int]) -> dict[str, Any]:
    """For each condition: rows, sure ones, wrong among them, and (for values) the share of labels found by a sure and right row."""
    found = {}
    for condition in sorted(set(rows.conditions)):
        sure = (rows.conditions == condition) & (chance >= clear_from)
        right, wrong = int(rows.right[sure].sum()), int((1 - rows.right[sure]).sum())
        found[condition] = {"sure": right + wrong, "wrong": wrong, "wrong share": round(wrong / max(1, right + wrong), 4)}
        if labels[condition]:
            found[condition]["sure and right"] = round(right / labels[condition], 4)
    return found


def settle_others(items: Sequence[Judged], setting: str) -> dict[str, Any]:
    """A fitted model of the kinds that are no values, with all that is told of it."""
    rows = gather(items, False)
    rows = replace(rows, counts=balanced(rows.conditions))
    every = np.ones(len(rows.right), bool)
    model, out = fit(rows, every), left_out(rows)
    model, out = calibrated(model, out, rows)
    return told(model, rows, (out, chances(model, rows, every)), Counter({item.condition: 0 for item in items}), TARGETS[setting]["others"])


def settle_values(talk: Mapping[str, Sequence[Judged]]) -> tuple[dict[str, dict[str, Any]], Wordings, dict[str, Any]]:
    """The models of values by setting, weights of words, and what forest.json holds. talk: by setting.

    A set counts by the root of its rows: alike would leave most of what the large ones tell, and each row alike all of what the small ones do.
    """
    known = {setting: gather(items, True) for setting, items in talk.items()}
    rows = list(known.values())
    counts = np.sqrt(balanced(np.concatenate([item.conditions for item in rows])))
    valued = Valued([w for item in rows for w in item.witnesses], [shown for item in rows for shown in item.shown],
                    np.concatenate([item.right for item in rows]), np.concatenate([item.sessions for item in rows]), counts / counts.mean())
    words, forest, odds = settle_forest(valued)
    models, start = {}, 0
    for setting, part in known.items():
        own = odds[start:start + len(part.right)]
        start += len(part.right)
        line, out = straight(own, part.right, FOOT["values"])
        model = {"bias": line.pop("shift"), **line, "weights": {}, "usual": {}, "forest": True}
        named = [{**w, WORDING: words.chance(shown)} if shown else w for w, shown in zip(part.witnesses, part.shown, strict=True)]
        inside = chances(model, replace(part, witnesses=named), np.ones(len(own), bool), forest_of(forest))
        labels = Counter({item.condition: 0 for item in talk[setting]})
        for item in talk[setting]:
            labels[item.condition] += item.labels
        models[setting] = told(model, part, (out, inside), labels, TARGETS[setting]["values"])
    return models, words, forest


def told(model: Mapping[str, Any], rows: Rows, chance: tuple[Vector, Vector], labels: Mapping[str, int], target: float) -> dict[str, Any]:
    """A model with its threshold and figures. chance: of sessions left out, and in sample."""
    out, inside = chance
    own = np.char.startswith(rows.conditions, "run ")
    counted = (own if own.any() and not model["forest"] else np.ones(len(own), bool)) & ~np.char.endswith(rows.conditions, BAD)
    clear_from = threshold(out[counted], rows.right[counted], target)
    return {"clear_from": clear_from, "rows": len(rows.right), "wrong": int((1 - rows.right).sum()), "sessions": sorted(set(map(str, rows.sessions))),
            "left out": figures(rows, out, clear_from, labels), "in sample": figures(rows, inside, clear_from, labels),
            "reliability": reliability(out, rows.right), **model}


def settle_missed(items: Sequence[tuple[Judged, Path]]) -> dict[str, float]:
    """Weights of the number of values that a turn holds and no row tells, from sessions heard through noise and where their sets lie."""
    known: list[Mapping[str, float]] = []
    count: list[int] = []
    for item, sets in items:
        spoken = where_said(sets, item.session, item.missed)
        for index, witnesses in missed_witnesses(item.review).items():
            turn = item.review.talk.turns[index]
            known.append(witnesses)
            count.append(sum(_within(turn, start, end) for start, end in spoken))
    names = sorted(known[0])
    matrix = np.array([[1.0, *(w[name] for name in names)] for w in known])
    weights = poisson(matrix, np.array(count, float))
    return {name: round(float(value), 4) for name, value in zip(("bias", *names), weights, strict=True)}


def _within(turn: Turn, start_s: float, end_s: float) -> bool:
    begins = turn.start_s or 0.0
    return begins - SLACK_S <= (start_s + end_s) / 2 <= begins + (turn.span.duration_s if turn.span else 0.0) + SLACK_S


def poisson(matrix: Vector, count: Vector) -> Vector:
    penalty = np.eye(matrix.shape[1]) * 3.0
    penalty[0, 0] = 1e-6
    weights = np.zeros(matrix.shape[1])
    weights[0] = np.log(count.mean())
    for _ in range(60):
        mean = np.exp(np.clip(matrix @ weights, -8, 3))
        step = np.linalg.solve(matrix.T @ (matrix * mean[:, None]) + penalty, matrix.T @ (mean - count) + penalty @ weights)
        weights = weights - np.clip(step, -1, 1)
    return weights


def talk_of(given: argparse.Namespace) -> tuple[dict[str, list[Judged]], list[tuple[Judged, Path]]]:
    """All labelled talk by setting, and what of it was heard through noise in a run, with the sets that hold its labels."""
    text = [item for sets in given.typed for item in typed(sets, given.scorer)] + [item for folder in given.loops for item in loops(folder)]
    once = [item for condition in ("clean", "", "snr8") for item in heard(given.heard, condition, given.scorer)]
    own = [(item, given.heard) for item in runs(given.runs, given.heard, given.scorer)]
    also = [(replace(item, condition=f"{ALSO} {item.condition}"), sets) for folder, sets in given.also for item in runs(folder, sets, given.scorer)]
    ran = [*own, *also]
    return {"text": text, "sound": [*once, *(item for item, _ in ran)]}, [(item, sets) for item, sets in ran if item.condition.endswith(NOISY)]


def plot(settings: Mapping[str, Mapping[str, Any]]) -> str:
    """Reliability as SVG: a panel each, chance across, share right up, a circle a bin (its area the rows), the diagonal in grey."""
    panels = []
    for at, (title, model) in enumerate((f"{name}, {group}", model) for name, groups in settings.items() for group, model in groups.items()):
        dots = "".join(f'<circle cx="{20 + 160 * item["chance"]:.1f}" cy="{190 - 160 * item["right"]:.1f}" r="{1 + item["rows"] ** 0.5 / 2:.1f}" '
                       f'fill="#246" fill-opacity="0.6"/>' for item in model["reliability"])
        panels.append(f'<g transform="translate({200 * at} 0)"><text x="20" y="18" font-size="11">{title}: {model["rows"]} rows</text>'
                      f'<path d="M20 190V30M20 190H180M20 190L180 30" stroke="#999" fill="none"/>{dots}</g>')
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="{200 * len(panels)}" height="210" font-family="sans-serif">{"".join(panels)}</svg>\n'


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scorer", type=Path)
    parser.add_argument("--typed", type=Path, nargs="+", required=True)
    parser.add_argument("--loops", type=Path, nargs="+", default=[])
    parser.add_argument("--heard", type=Path, required=True)
    parser.add_argument("--runs", type=Path, required=True)
    parser.add_argument("--also", type=Path, nargs=2, action="append", default=[], metavar=("RUNS", "SETS"))
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--plot", type=Path, help="file for the reliability drawing (SVG)")
    given = parser.parse_args()
    talk, noisy = talk_of(given)
    values, words, forest = settle_values(talk)
    settings = {name: {"values": values[name], "others": settle_others(items, name)} for name, items in talk.items()}
    missed = settle_missed(noisy)
    print("missed", missed)
    for name, groups in settings.items():
        for group, model in groups.items():
            print(name, group, f"{model['rows']} rows, {model['wrong']} wrong, clear from {model['clear_from']}")
            for condition in model["left out"]:
                print(f"   {condition:9} left out {model['left out'][condition]}\n   {'':9} in sample {model['in sample'][condition]}")
            print("   ", [(item["from"], item["rows"], item["chance"], item["right"]) for item in model["reliability"]])
    if given.plot:
        given.plot.write_text(plot(settings), encoding="utf-8")
    if given.write:
        made = "boosted trees (values), logistic regression (others), thresholds from sessions left out; tests/bench/calibrate.py"
        data = {"version": "2", "made": made, "missed": missed, "settings": settings}
        (FOLDER / "calibration.json").write_text(json.dumps(data, indent=1, sort_keys=True) + "\n", encoding="utf-8")
        for name, data in (("forest", forest), ("wordings", {"bias": words.bias, "weights": dict(sorted(words.weights.items()))})):
            (FOLDER / f"{name}.json").write_text(json.dumps(data, separators=(",", ":"), ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
