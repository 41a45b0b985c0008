"""How sure each field is, and why, from witnesses that are kept apart.

Ladder: heard by a person > repeated > clear > doubtful. A calibrated chance that the row is right, from its witnesses, decides between
clear and doubtful; its weights, counts and version lie in calibration.json, and tests/bench/calibrate.py made it, leaving one session out
at a time. There is one fit for text (no word probabilities) and one for what was heard and weighed. The field that the witnesses speak
against most is the one in doubt. Two readings of a number that are both fair stay doubtful, and so does a row that is in doubt as a whole.
Some witnesses (VETOES) need no counting: a percentage of 225, a clock that shows hours on a tape of minutes, a value at more than twice
its limit, a sound that another value fits better, fuel in metres, a rating by one who rates nothing, a name that only its unit suggests, a
name taken on although another reading was asked for, a clock that neither plan nor talk knows: such rows are doubtful whatever else speaks for
them. A row of a saved transcript without word probabilities has no sound behind it: it is at best clear, however often it is repeated, and says
so.
"""
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from math import exp

from ..records.rows import Field, Row
from .repeats import NAME_FIELD, main_field
from .review import Findings, Review
from .witnesses import Witnesses, field_of

NO_SOUND = "no sound stands behind it"
CHANCE = "chance wrong"
VALUE_KINDS = frozenset(("readouts", "ratings", "clock_calls"))
NOT_HEARD = frozenset(("coverage", "exceedances"))
"""Kinds made from other rows or from silence: they carry the certainty of what they are made from."""
LEAST_FOR_BLAME = 0.3
VETOES = ("value: a percentage beyond all", "value: a time longer than the talk", "history: far beyond its limit",
          "weighing: another value fits better", "weighing: another number fits better", "unit: not of the plan's kind", "station: not one that rates",
          "tie: named by its unit", "tie: another reading was asked for",
          "tie: no clock is named, and none is planned")
VETO_CHANCE = 0.3
"""Share right among rows that weighing gave another value; the other vetoes are too rare to count (common practice, no source)."""


def kind_witness(kind: str) -> str:
    return f"kind: {kind}"


@dataclass(frozen=True, slots=True)
class Model:
    """chance right = logistic(total + bend x what total is above knee - sag x what it is below foot), total = bias + sum of weight x witness.

    usual: what a graded witness that is not known counts as (others: 0); bend, sag: above the knee and below the foot log odds grow quicker or
    slower than between.
    """

    bias: float
    weights: Mapping[str, float]
    usual: Mapping[str, float]
    clear_from: float
    knee: float = 0.0
    bend: float = 0.0
    foot: float = 0.0
    sag: float = 0.0

    def parts(self, witnesses: Mapping[str, float]) -> dict[str, float]:
        """What each witness adds to the log odds, against a row of the usual kind."""
        return {name: weight * witnesses.get(name, self.usual.get(name, 0.0)) for name, weight in self.weights.items()}

    def chance(self, witnesses: Mapping[str, float]) -> float:
        total = self.bias + sum(self.parts(witnesses).values())
        total += self.bend * max(0.0, total - self.knee) - self.sag * max(0.0, self.foot - total)
        chance = 1 / (1 + exp(-max(-30.0, min(30.0, total))))
        return min(chance, VETO_CHANCE) if any(witnesses.get(name) for name in VETOES) else chance


@dataclass(frozen=True, slots=True)
class Calibration:
    """models: by setting and group of kinds ('values', 'others'); missed: weights of checks/missed.py."""

    version: str
    models: Mapping[str, Mapping[str, Model]]
    missed: Mapping[str, float]

    def model(self, row: Row, witnesses: Mapping[str, float]) -> Model:
        groups = self.models["sound" if "turn: word probability" in witnesses else "text"]
        return groups["values" if row.kind in VALUE_KINDS else "others"]


@cache
def calibration() -> Calibration:
    """The calibration that ships with the package."""
    data = json.loads(resources.files(__package__).joinpath("calibration.json").read_text(encoding="utf-8"))
    parts = ("bias", "weights", "usual", "clear_from", "knee", "bend", "foot", "sag")
    models = {setting: {group: Model(*(m[name] for name in parts)) for group, m in groups.items()}
              for setting, groups in data["settings"].items()}
    return Calibration(data["version"], models, data["missed"])


def certainty(review: Review) -> Findings:
    """Every row with its fields' certainty settled; rows made from other rows keep what those had."""
    known = Witnesses(review)
    changed = {}
    for position, row in enumerate(review.rows):
        if row.kind not in NOT_HEARD:
            changed[position] = _settled(row, known.of(position), len(known.repeats.get(position, ())))
    values = {(row.evidence[0], row.get("value")): row for row in changed.values() if row.kind == "readouts"}
    for position, row in review.of("exceedances"):
        source = values.get((row.place, row.get("value")))
        if source is not None:
            changed[position] = as_sure_as(row, source)
    return Findings(changed)


def as_sure_as(row: Row, source: Row) -> Row:
    """A row made from a readout, with what is known of how sure that one is; doubt of a field that the row does not have is its doubt too."""
    elsewhere = tuple(f"its readout is doubtful: {name}" for name, item in source.fields.items()
                      if item.certainty == "doubtful" and name not in row.fields)
    return replace(row, fields={**row.fields, **{name: source.fields[name] for name in row.fields if name in source.fields}},
                   doubt=(*source.doubt, *elsewhere), witnesses=source.witnesses)


def settled_before(row: Row) -> bool:
    """Whether a row is doubtful whatever its chance: in doubt as a whole, or in a field that no witness outweighs."""
    free = (NAME_FIELD.get(row.kind), "unit")
    return bool(row.doubt) or any(item.certainty == "doubtful" for key, item in row.fields.items() if key == main_field(row) or key not in free)


def _settled(row: Row, witnesses: Mapping[str, float], repeats: int) -> Row:
    model = calibration().model(row, witnesses)
    named = {**witnesses, kind_witness(row.kind): 1.0}
    chance = model.chance(named)
    heard = "turn: word probability" in witnesses
    told: dict[str, float | str] = {**row.witnesses, **{name: round(value, 4) for name, value in witnesses.items() if value},
                                    CHANCE: round(1 - chance, 4), "calibration": calibration().version}
    told |= {"said in other turns": float(repeats)} if heard else {"sound": NO_SOUND}
    name = main_field(row)
    if row.fields[name].certainty == "heard by a person" if name in row.fields else not row.fields:
        return replace(row, witnesses=told)
    fields = _doubted(row, model, named, chance) if chance < model.clear_from else _sure(row, chance, repeats if heard else 0)
    return replace(row, fields=fields, witnesses=told)


def _doubted(row: Row, model: Model, witnesses: Mapping[str, float], chance: float) -> dict[str, Field]:
    """The field that the witnesses speak against most is doubtful, and says what was against it."""
    against: dict[str, list[tuple[float, str]]] = {}
    for name in VETOES:
        if witnesses.get(name):
            against.setdefault(field_of(name, row), []).append((-9.0, name))
    for name, part in model.parts(witnesses).items():
        loss = part - model.weights[name] * model.usual.get(name, 0.0)
        if loss < -LEAST_FOR_BLAME and not name.startswith("kind:"):
            against.setdefault(field_of(name, row), []).append((loss, name))
    blamed = min(against, key=lambda field: sum(loss for loss, _ in against[field]), default=main_field(row))
    blamed = blamed if blamed in row.fields else next(iter(row.fields))
    grounds = ", ".join(name for _, name in sorted(against.get(blamed, []))[:3])
    why = f"the witnesses give the row {chance:.0%}" + (f"; against it: {grounds}" if grounds else "")
    item = row.fields[blamed]
    return {**row.fields, blamed: replace(item, certainty="doubtful", why=(*item.why, why))}


def _sure(row: Row, chance: float, repeats: int) -> dict[str, Field]:
    """Clear, or repeated; what extraction doubted of the binding is outweighed and keeps its grounds."""
    main, name = main_field(row), NAME_FIELD.get(row.kind)
    fields = dict(row.fields)
    for key, item in row.fields.items():
        if item.certainty == "repeated":
            fields[key] = replace(item, certainty="clear")
        elif item.certainty == "doubtful" and key != main and key in (name, "unit"):
            fields[key] = replace(item, certainty="clear", why=(*item.why, f"the witnesses give the row {chance:.0%} all the same"))
    if repeats and main in fields and fields[main].certainty == "clear":
        item = fields[main]
        why = f"the same value in {repeats} other turn{'s' if repeats > 1 else ''}"
        fields[main] = replace(item, certainty="repeated", why=(*item.why, why))
    return fields
