"""How sure each field is, and why, from witnesses that are kept apart.

Ladder: heard by a person > repeated > clear > doubtful. A calibrated chance that the row is right, from its witnesses, decides between
clear and doubtful. For values boosted trees weigh the witnesses (forest.json, wordings.json), one forest for all talk, and a line for text (no
word probabilities) and one for what was heard and weighed make chances of their log odds; other kinds have a logistic regression each. These,
their counts and their version lie in calibration.json; tests/bench/calibrate.py made them, by sessions left out. The field that the witnesses
speak against most is the one in doubt. Two readings of a number that are both fair stay doubtful, and so does a row that is in doubt as a whole.
Some witnesses (VETOES) need no counting: a percentage of 225, a clock that shows hours on a tape of minutes, a value at more than twice
its limit, a sound that another value fits better, fuel in metres, a rating by one who rates nothing, a name that only its unit suggests, a
name taken on although another reading was asked for, a clock that neither plan nor talk knows: such rows are doubtful whatever else speaks for
them. A row of a saved transcript without word probabilities has no sound behind it: it is at best clear, however often it is repeated, and says
so.
"""
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from math import exp

from ..records.rows import Field, Row
from .forest import Forest, shipped_forest
from .grounds import FOR
from .repeats import NAME_FIELD, main_field
from .review import Findings, Review
from .witnesses import GRADED, Witnesses, field_of

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
    """chance right = logistic(total + bend x what total is above knee - sag x what it is below foot).

    total = bias + sum of weight x witness, or, where there is a forest, bias + slope x its total. usual: what a graded witness that is not
    known counts as (others: 0); bend, sag: above the knee and below the foot log odds grow quicker or slower than between.
    """

    bias: float
    weights: Mapping[str, float]
    usual: Mapping[str, float]
    clear_from: float
    knee: float = 0.0
    bend: float = 0.0
    foot: float = 0.0
    sag: float = 0.0
    slope: float = 1.0
    forest: Forest | None = None

    def parts(self, rows: Sequence[Mapping[str, float]]) -> list[dict[str, float]]:
        """What each witness adds to the log odds of each row, against one of the usual kind."""
        if self.forest is not None:
            return [{name: self.slope * part for name, part in parts.items()} for parts in self.forest.parts(rows)]
        usual = self.usual
        return [{name: weight * (row.get(name, usual.get(name, 0.0)) - usual.get(name, 0.0)) for name, weight in self.weights.items()} for row in rows]

    def chance(self, witnesses: Mapping[str, float], parts: Mapping[str, float] | None = None) -> float:
        """parts: what the witnesses add, where it is known already."""
        total = self._usual + sum((self.parts([witnesses])[0] if parts is None else parts).values())
        total += self.bend * max(0.0, total - self.knee) - self.sag * max(0.0, self.foot - total)
        chance = 1 / (1 + exp(-max(-30.0, min(30.0, total))))
        return min(chance, VETO_CHANCE) if any(witnesses.get(name) for name in VETOES) else chance

    @property
    def _usual(self) -> float:
        if self.forest is not None:
            return self.bias + self.slope * self.forest.usual
        return self.bias + sum(self.weights.get(name, 0.0) * value for name, value in self.usual.items())


@dataclass(frozen=True, slots=True)
class Calibration:
    """models: by setting and group of kinds ('values', 'others'); missed: weights of checks/missed.py."""

    version: str
    models: Mapping[str, Mapping[str, Model]]
    missed: Mapping[str, float]

    def model(self, row: Row, witnesses: Mapping[str, float]) -> Model:
        """The model that weighs a row's witnesses."""
        groups = self.models["sound" if "turn: word probability" in witnesses else "text"]
        return groups["values" if row.kind in VALUE_KINDS else "others"]


@cache
def calibration() -> Calibration:
    """The calibration that ships with the package."""
    data = json.loads(resources.files(__package__).joinpath("calibration.json").read_text(encoding="utf-8"))
    parts = ("bias", "weights", "usual", "clear_from", "knee", "bend", "foot", "sag", "slope")
    models = {setting: {group: Model(**{name: m[name] for name in parts}, forest=shipped_forest() if m["forest"] else None) for group, m in groups.items()}
              for setting, groups in data["settings"].items()}
    return Calibration(data["version"], models, data["missed"])


def certainty(review: Review) -> Findings:
    """Every row with its fields' certainty settled; rows made from other rows keep what those had."""
    known = Witnesses(review)
    changed = {}
    for model, witnesses in _by_model(review, known):
        for (position, own), parts in zip(witnesses.items(), model.parts(list(witnesses.values())), strict=True):
            changed[position] = _settled(review.rows[position], model, (own, parts), len(known.repeats.get(position, ())))
    values = {(row.evidence[0], row.get("value")): row for row in changed.values() if row.kind == "readouts"}
    for position, row in review.of("exceedances"):
        source = values.get((row.place, row.get("value")))
        if source is not None:
            changed[position] = as_sure_as(row, source)
    return Findings(changed)


def _by_model(review: Review, known: Witnesses) -> list[tuple[Model, dict[int, dict[str, float]]]]:
    """Each model with the witnesses by position that it weighs: many rows at once are weighed sooner."""
    found: dict[int, tuple[Model, dict[int, dict[str, float]]]] = {}
    for position, row in enumerate(review.rows):
        if row.kind not in NOT_HEARD:
            witnesses = known.of(position) | {kind_witness(row.kind): 1.0}
            model = calibration().model(row, witnesses)
            found.setdefault(id(model), (model, {}))[1][position] = witnesses
    return list(found.values())


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


def _settled(row: Row, model: Model, known: tuple[Mapping[str, float], Mapping[str, float]], repeats: int) -> Row:
    """known: the row's witnesses, and what each adds."""
    witnesses, parts = known
    chance = model.chance(witnesses, parts)
    heard = "turn: word probability" in witnesses
    told: dict[str, float | str] = {**row.witnesses, **{name: round(value, 4) for name, value in witnesses.items()
                                                       if value and name != kind_witness(row.kind)},
                                    CHANCE: round(1 - chance, 4), "calibration": calibration().version}
    told |= {"said in other turns": float(repeats)} if heard else {"sound": NO_SOUND}
    name = main_field(row)
    if row.fields[name].certainty == "heard by a person" if name in row.fields else not row.fields:
        return replace(row, witnesses=told)
    fields = _doubted(row, witnesses, parts, chance) if chance < model.clear_from else _sure(row, chance, repeats if heard else 0)
    return replace(row, fields=fields, witnesses=told)


def _doubted(row: Row, witnesses: Mapping[str, float], parts: Mapping[str, float], chance: float) -> dict[str, Field]:
    """The field that the witnesses speak against most is doubtful, and says what was against it."""
    against: dict[str, list[tuple[float, str]]] = {}
    for name in VETOES:
        if witnesses.get(name):
            against.setdefault(field_of(name, row), []).append((-9.0, name))
    for name, loss in parts.items():
        if loss < -LEAST_FOR_BLAME and not name.startswith("kind:") and _may_blame(name, witnesses.get(name, 0.0)):
            against.setdefault(field_of(name, row), []).append((loss, name))
    blamed = min(against, key=lambda field: sum(loss for loss, _ in against[field]), default=main_field(row))
    blamed = blamed if blamed in row.fields else next(iter(row.fields))
    grounds = ", ".join(name for _, name in sorted(against.get(blamed, []))[:3])
    why = f"the witnesses give the row {chance:.0%}" + (f"; against it: {grounds}" if grounds else "")
    item = row.fields[blamed]
    return {**row.fields, blamed: replace(item, certainty="doubtful", why=(*item.why, why))}


def _may_blame(name: str, value: float) -> bool:
    """Whether it can be told as a ground against a row: what speaks against it and is there, what speaks for it and is not, or a grade."""
    return name in GRADED or bool(value) != (name in FOR)


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
