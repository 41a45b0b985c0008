"""Values beyond a limit of the session: a row of its own kind each, and a reason to look at the readout.

A limit applies to a measured readout when it names the same parameter, the units can be compared, and the subject or card it is for is
not another one. Units are converted exactly (NIST SP 811 factors). A temperature given in bare degrees is compared in the limit's unit.
A value heard clearly beyond its limit is clear: being out of bounds says nothing about the hearing.
"""
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import partial

from ..harvest.progress import progress
from ..harvest.talk import Talk
from ..harvest.view import content
from ..records.rows import Field, Row
from ..session import Limit, Session
from ..units import canonical, compatible, convert, dimension_of
from .review import Findings, Review, Told

NAME = "limits"
SHARED = 0.5


def limits(review: Review) -> Findings:
    """A row of exceedances for each measured value beyond a limit; the readout gets a reason to look."""
    told = Told(review, NAME)
    added: list[Row] = []
    for position, row in review.of("readouts"):
        for why, exceedance in beyond_limits(row, review.talk.session, partial(card_of, review.talk, row)):
            told.row(position, str(row.get("parameter")), why, serious=True)
            added.append(exceedance)
    return told.findings(added)


def card_of(talk: Talk, row: Row) -> str | None:
    """The card that was open when the row was said."""
    return progress(talk).at(row.turn).card if row.turn is not None else None


def beyond_limits(row: Row, session: Session, card: Callable[[], str | None]) -> Iterator[tuple[str, Row]]:
    """Why to look, and the row of exceedances, for each limit that a readout is beyond. card: asked only where a limit holds for one card."""
    for limit, bound, edge in _exceeded(row, session, card):
        yield (f"{_plain(row)} is {'above' if bound == 'max' else 'below'} the limit of {edge:g} {limit.unit or ''}".rstrip(),
               _exceedance(row, limit, bound, edge))


def _exceeded(row: Row, session: Session, card: Callable[[], str | None]) -> Iterator[tuple[Limit, str, float]]:
    value = row.get("value")
    if row.get("class") not in (None, "", "measured") or not isinstance(value, Decimal) or row.get("superseded") or not row.get("parameter"):
        return
    for limit in session.limits:
        if not _same_parameter(row, limit) or not _applies(row, limit, card):
            continue
        told = _in_unit_of(value, row, limit)
        if told is None:
            continue
        if limit.max is not None and told > Decimal(str(limit.max)):
            yield limit, "max", limit.max
        elif limit.min is not None and told < Decimal(str(limit.min)):
            yield limit, "min", limit.min


def _same_parameter(row: Row, limit: Limit) -> bool:
    """Whether all words of the limit's parameter are among those of the readout and its subject, or the reverse."""
    wanted = set(content(limit.what))
    said = set(content(str(row.get("parameter"))))
    whole = said | set(content(str(row.get("subject") or "")))
    return bool(wanted) and bool(said) and (wanted <= whole or (said <= wanted and 2 * len(said & wanted) / (len(said) + len(wanted)) > SHARED))


def _applies(row: Row, limit: Limit, card: Callable[[], str | None]) -> bool:
    """A limit 'for card 14' counts while that card is open; one for a subject only for that subject."""
    scope = (limit.applies_to or "").lower()
    if not scope:
        return True
    if scope.startswith("card"):
        held = card()
        return held is not None and held == scope.removeprefix("card").strip()
    named = f"{row.get('subject') or ''} {row.get('parameter') or ''} {row.station or ''}".lower()
    return scope in named or not row.get("subject")


def _in_unit_of(value: Decimal, row: Row, limit: Limit) -> Decimal | None:
    """The value in the limit's unit; None where they cannot be compared."""
    wanted, given = canonical(limit.unit), row.get("unit")
    unit = canonical(str(given)) if given else None
    if wanted is None or unit is None or unit == wanted or (unit == "deg" and dimension_of(wanted) == "temperature"):
        return value
    return convert(value, unit, wanted) if compatible(unit, wanted) else None


def _exceedance(row: Row, limit: Limit, bound: str, edge: float) -> Row:
    fields = {"parameter": row.fields["parameter"], "value": row.fields["value"],
              "unit": row.fields.get("unit") or Field(None, "assumed"),
              "limit": Field(_edge_in_unit_of(row, limit, edge), "plan", why=(f"the session file limits {limit.what} to {edge:g} {limit.unit or ''}".rstrip(),)),
              "bound": Field(bound, "plan")}
    return Row("exceedances", fields, row.evidence, row.loop, row.station, row.turn, doubt=row.doubt, witnesses=row.witnesses)


def _edge_in_unit_of(row: Row, limit: Limit, edge: float) -> Decimal:
    """The limit in the unit of the row, since the row names one unit for both: exact where the limit is given in it."""
    wanted, given = canonical(limit.unit), row.get("unit")
    unit = canonical(str(given)) if given else None
    exact = Decimal(f"{edge:.12g}")
    if wanted is None or unit is None or unit == wanted or not compatible(unit, wanted):
        return exact
    return Decimal(f"{convert(exact, wanted, unit):.6g}")


def _plain(row: Row) -> str:
    return f"{row.get('value')} {row.get('unit') or ''}".rstrip()
