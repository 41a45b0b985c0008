"""What must hold between values: relations and orders that the session file names, units mixed up, and a reference run.

    [[relations]]
    kind = "dew point"                # or "sum", "falls", "rises"
    of = "dew point"                  # the parameter that is held against the others; of falls and rises, the one that moves one way
    from = ["temperature", "humidity"]  # dew point: these two, in this order; sum: its parts
    tolerance = 1.0                   # in the unit of `of`

Dew point: WMO-No. 8 (Guide to Instruments), Annex 4.B. Factors between units: NIST SP 811, by way of units.convert.
"""
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from statistics import median

from ..harvest.view import content
from ..records.rows import Row
from ..session import Relation
from ..units import canonical, compatible, convert
from .consistency import dew_point_c
from .history import Series, histories, usual_values
from .review import Findings, Review, Told

WITHIN_S = 120.0
SAME, MIXED_TOLERANCE, CHANGED_SHARE = 0.5, 0.04, 0.2
_MIXED = (("psi", "kPa"), ("psi", "bar"), ("ft", "m"), ("kt", "km/h"), ("kg", "lb"), ("C", "F"))


def relations(review: Review) -> Findings:
    """Values that break a relation or an order that the session file names."""
    told = Told(review, "relation")
    for relation in review.talk.session.relations:
        check = _one_way if relation.kind in ("falls", "rises") else _worked_out
        check(review, relation, told)
    return told.findings()


def _named(review: Review, name: str) -> list[tuple[int, Row, float]]:
    """Standing measured values of a parameter, in order."""
    wanted = set(content(name))
    found = []
    for position, row in review.of("readouts"):
        said = set(content(str(row.get("parameter") or "")))
        value = row.get("value")
        plain = row.get("class") in (None, "", "measured") and not row.get("superseded") and not row.get("past")
        if plain and isinstance(value, Decimal) and wanted and wanted <= said | set(content(str(row.get("subject") or ""))):
            found.append((position, row, float(value)))
    return found


def _one_way(review: Review, relation: Relation, told: Told) -> None:
    """A parameter that may only fall (fuel) or only rise (depth on the way down)."""
    sign = 1 if relation.kind == "rises" else -1
    for (p, one, a), (q, two, b) in pairwise(_named(review, relation.of)):
        if one.get("unit") == two.get("unit") and sign * (b - a) < -relation.tolerance:
            told.row(q, relation.of, f"{b:g} after {a:g}: {relation.of} only {relation.kind}", p)


def _worked_out(review: Review, relation: Relation, told: Told) -> None:
    """A value that others give by calculation, told within two minutes of them."""
    for position, row, value in _named(review, relation.of):
        near = [_nearest(review, name, row) for name in relation.from_]
        known = [item for item in near if item is not None]
        if len(known) < len(relation.from_):
            continue
        due = _due(relation, row, known)
        if due is not None and abs(value - due) > relation.tolerance:
            how = " and ".join(f"{item[1].get('parameter')} {item[2]:g}" for item in known)
            told.row(position, relation.of, f"{value:g} where {how} give {due:.4g}", *(item[0] for item in known))


def _nearest(review: Review, name: str, to: Row) -> tuple[int, Row, float] | None:
    at = to.place.start_s
    timed = [(abs(item[1].place.start_s - at), item) for item in _named(review, name)
             if at is not None and item[1].place.start_s is not None and item[1] is not to]
    near = [pair for pair in timed if pair[0] <= WITHIN_S]
    return min(near, key=lambda pair: pair[0])[1] if near else None


def _due(relation: Relation, row: Row, known: list[tuple[int, Row, float]]) -> float | None:
    """What a value should be, in the unit of its row; None where the units do not tell."""
    unit = canonical(str(row.get("unit") or ""))
    if relation.kind == "sum":
        parts = [_in_unit(value, canonical(str(item.get("unit") or "")), unit) for _, item, value in known]
        return sum(part for part in parts if part is not None) if None not in parts else None
    (_, warm, degrees), (_, _, humidity) = known[0], known[1]
    scale = canonical(str(warm.get("unit") or ""))
    celsius = _in_unit(degrees, scale, "C") if scale in ("C", "F") else None
    if celsius is None or unit not in ("C", "F") or not 0 < humidity <= 100:
        return None
    return _in_unit(dew_point_c(celsius, humidity), "C", unit)


def _in_unit(value: float, unit: str | None, wanted: str | None) -> float | None:
    """A value in another unit; as it is where one of the two was not said, None where they measure different things."""
    if not unit or not wanted or unit == wanted:
        return value
    return float(convert(Decimal(str(value)), unit, wanted)) if compatible(unit, wanted) else None


def unit_mix_up(review: Review) -> Findings:
    """A value that fits its parameter's history only in another unit: psi for kPa, feet for metres."""
    told = Told(review, "unit mix-up")
    for values in histories(review):
        if len(values) < 4:
            continue
        for (position, row, value), usual in zip(values, usual_values(values), strict=True):
            for unit, other in _mixed(row, value, usual):
                told.row(position, str(row.get("parameter")), f"{value:g} beside its usual {usual:g}: {other} told as {unit}?")
    return told.findings()


def _mixed(row: Row, value: float, usual: float) -> Iterator[tuple[str, str]]:
    given = canonical(str(row.get("unit") or ""))
    for pair in _MIXED:
        for unit, other in (pair, pair[::-1]):
            if given == canonical(unit) and usual and compatible(unit, other):
                meant = float(convert(Decimal(str(value)), other, unit))
                if abs(meant / usual - 1) < MIXED_TOLERANCE and abs(value / usual - 1) > SAME:
                    yield unit, other


def changed_since_reference(review: Review) -> Findings:
    """A parameter whose median differs by a fifth and more from the run that the session file takes as reference."""
    told = Told(review, "changed since reference")
    before = {_series_name(values): median(value for _, _, value in values) for values in histories(Review(review.reference, review.talk))}
    for values in histories(review):
        old, new = before.get(_series_name(values)), median(value for _, _, value in values)
        if old and abs(new / old - 1) >= CHANGED_SHARE:
            told.row(values[0][0], str(values[0][1].get("parameter")), f"{new:g} where the reference run had {old:g}")
    return told.findings()


def _series_name(values: Series) -> tuple[str, str, str]:
    row = values[0][1]
    return str(row.get("parameter")).casefold(), str(row.get("subject") or "").casefold(), str(row.get("unit") or "")
