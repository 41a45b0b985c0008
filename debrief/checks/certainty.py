"""How sure each field is, and why, from witnesses that are kept apart.

Ladder: heard by a person > repeated > clear > doubtful. What extraction already doubts (grammar, binding, units) stays doubtful.
On sound, a calibrated chance from the witnesses decides between clear and doubtful; its data and version lie in calibration.json,
and tests/bench/calibrate.py made it, leaving one session out at a time. On a saved transcript without word probabilities no sound
stands behind a row: it is at best clear, however often it is repeated, and says so.
"""
import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from math import exp

from ..records.rows import Certainty, Field, Row
from .review import Findings, Review

VALUE_FIELD = {"readouts": "value", "ratings": "value", "clock_calls": "offset_s", "polls": "answer", "times": "seconds"}
SAME_THING = {"readouts": ("parameter", "subject", "unit"), "ratings": ("axis", "subject", "scale"), "clock_calls": ("clock",)}
NO_SOUND = "no sound stands behind it"


@dataclass(frozen=True, slots=True)
class Calibration:
    """chance right = logistic(bias + sum of weight x witness); missing: what an absent witness counts as."""

    version: str
    kinds: Mapping[str, Mapping[str, float]]
    missing: Mapping[str, float]
    clear_from: Mapping[str, float]

    def chance_right(self, row: Row) -> float:
        weights = self.kinds.get(row.kind) or self.kinds["readouts"]
        witnesses = witness_numbers(row)
        total = weights["bias"] + sum(weight * witnesses.get(name, self.missing.get(name, 0.0))
                                      for name, weight in weights.items() if name != "bias")
        return 1 / (1 + exp(-max(-30.0, min(30.0, total))))


@cache
def calibration() -> Calibration:
    """The calibration that ships with the package."""
    data = json.loads(resources.files(__package__).joinpath("calibration.json").read_text(encoding="utf-8"))
    return Calibration(data["version"], data["kinds"], data["missing"], data["clear_from"])


def witness_numbers(row: Row) -> dict[str, float]:
    """The witnesses of a row that are numbers, with what its fields tell: origins, doubts, alternatives."""
    numbers = {name: float(value) for name, value in row.witnesses.items() if isinstance(value, int | float)}
    main = row.fields.get(VALUE_FIELD.get(row.kind, "value"))
    named = row.fields.get("parameter") or row.fields.get("axis") or row.fields.get("clock")
    numbers["alternatives"] = float(bool(main and main.others))
    numbers["grammar doubts"] = float(row.certainty == "doubtful")
    numbers["name spoken"] = float(bool(named and named.origin == "spoken"))
    unit = row.fields.get("unit")
    numbers["unit spoken"] = float(bool(unit and unit.value and unit.origin == "spoken"))
    return numbers


def certainty(review: Review) -> Findings:
    """Every value row with its fields' certainty settled; other kinds keep what extraction said."""
    repeats = _repeats(review) if review.sound else {}
    changed = {}
    for position, row in enumerate(review.rows):
        if row.kind not in VALUE_FIELD:
            continue
        settled = _on_sound(row, repeats.get(position, ())) if _has_probability(row) else _on_text(row)
        if settled != row:
            changed[position] = settled
    return Findings(changed)


def _has_probability(row: Row) -> bool:
    return "word probability" in row.witnesses


def _on_text(row: Row) -> Row:
    fields = {name: replace(item, certainty="clear") if item.certainty == "repeated" else item for name, item in row.fields.items()}
    return replace(row, fields=fields, witnesses={**row.witnesses, "sound": NO_SOUND})


def _on_sound(row: Row, repeats: Sequence[int]) -> Row:
    known = calibration()
    chance = known.chance_right(row)
    witnesses = {**row.witnesses, "chance wrong": round(1 - chance, 4), "calibration": known.version,
                 "said in other turns": float(len(repeats))}
    name = VALUE_FIELD[row.kind]
    main = row.fields.get(name)
    if main is None:
        return replace(row, witnesses=witnesses)
    return replace(row, fields={**row.fields, name: _settled(main, chance, known.clear_from.get(row.kind, 0.9), repeats)},
                   witnesses=witnesses)


def _settled(main: Field, chance: float, clear_from: float, repeats: Sequence[int]) -> Field:
    level: Certainty = main.certainty
    why = main.why
    if main.certainty == "heard by a person":
        return main
    if chance < clear_from:
        level, why = "doubtful", (*why, f"the witnesses give it {chance:.0%}")
    elif repeats and main.certainty != "doubtful":
        level, why = "repeated", (*why, f"the same value in {len(repeats)} other turn{'s' if len(repeats) > 1 else ''}")
    return replace(main, certainty=level, why=why)


def _repeats(review: Review) -> dict[int, tuple[int, ...]]:
    """Positions of rows that say the same value of the same thing in another turn, in sound that does not overlap."""
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for kind, names in SAME_THING.items():
        for position, row in review.of(kind):
            value = row.get(VALUE_FIELD[kind])
            if value is not None:
                groups[kind, value, *(str(row.get(name) or "").casefold() for name in names)].append(position)
    return {one: others for group in groups.values() for one in group
            if (others := tuple(two for two in group if _apart(review.rows[one], review.rows[two])))}


def _apart(one: Row, two: Row) -> bool:
    if one.turn == two.turn or one.place.span is None or two.place.span is None:
        return False
    if "copy of" in one.witnesses or "copy of" in two.witnesses:
        return False
    if one.place.source == two.place.source:
        return one.place.span.overlap(two.place.span) == 0
    first, second = one.place.start_s, two.place.start_s
    return first is not None and second is not None and abs(first - second) > 2
