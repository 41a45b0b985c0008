"""Ratings and readouts of several sessions, or of several raters in one, side by side: what changed, and what is missing in one.

Ratings are matched by axis, scale and condition (card, step, hand, load ... as the row has them), readouts by parameter, subject, class
and, where steps were heard in every session and the sessions share a card, the card that was open; what one session leaves unsaid does not part
it from the others (compare_match.py). Nothing is averaged: a cell holds every value in the order of time,
corrected ones left out. Readouts are shown in the unit of the first session that has one; a value whose unit does not convert stays as
it is and says so.
"""
import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

from markupsafe import Markup

from .. import __version__
from ..errors import InputError
from ..records.rows import Row
from ..units import compatible, convert
from .compare_match import Draft, about, joined, shared_cards
from .compare_plot import strip
from .contents import Contents
from .formats import CAUTION
from .row_text import SIGNS, shown, time_of
from .sheet import environment, policy, static_text
from .tables import guarded
from .whole_files import write_whole

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a cell: as it is compared (None where it is no number), as people read it, and its row."""

    number: Decimal | None
    text: str
    row: Row


@dataclass(frozen=True, slots=True)
class Line:
    """kind: the table; what: axis or parameter; about: scale and condition, or subject and class; cells: one for each column.

    letters: of each column's session; sessions: of all that are compared; raters: of each column, '' where a column is a session.
    """

    kind: str
    what: str
    about: str
    unit: str
    cells: tuple[tuple[Value, ...], ...]
    letters: tuple[str, ...]
    sessions: tuple[str, ...]
    raters: tuple[str, ...] = ()

    @property
    def missing(self) -> frozenset[str]:
        """Sessions in which nobody gave it."""
        return frozenset(self.sessions) - {letter for letter, cell in zip(self.letters, self.cells, strict=True) if cell}

    @property
    def changed(self) -> bool:
        """Do the last values of the columns that have one differ?"""
        return len({_compared(item) for item in self._last()}) > 1

    @property
    def moved(self) -> bool:
        """Do the last values of one rater, or of readouts, differ between sessions?"""
        by: dict[str, set[Any]] = {}
        for rater, cell in zip(self.raters or ("",) * len(self.cells), self.cells, strict=True):
            by.setdefault(rater, set()).update(map(_compared, cell[-1:]))
        return any(len(found) > 1 for found in by.values())

    @property
    def alone(self) -> bool:
        """Is there one column at most to be compared?"""
        return sum(map(bool, self.cells)) < 2

    @property
    def doubtful(self) -> bool:
        """Is any of the values that are compared in doubt?"""
        return any(item.row.certainty == "doubtful" for item in self._last())

    def _last(self) -> list[Value]:
        return [cell[-1] for cell in self.cells if cell]


def _compared(item: Value) -> Any:
    return item.text if item.number is None else item.number, item.row.get("value_alt")


@dataclass(frozen=True, slots=True)
class Comparison:
    """columns: names, one for each session (and rater, for ratings); lines of ratings first."""

    titles: tuple[str, ...]
    ratings: tuple[tuple[str, ...], tuple[Line, ...]]
    readouts: tuple[tuple[str, ...], tuple[Line, ...]]

    @property
    def summary(self) -> str:
        lines = [*self.ratings[1], *self.readouts[1]]
        differ = [line for line in lines if line.changed]
        return (f"{len(lines)} lines: {len(differ)} differ, {sum(line.doubtful for line in differ)} of them by a value in doubt; "
                f"{sum(bool(line.missing) for line in lines)} are missing somewhere")


def compared(held: Sequence[Contents], names: Sequence[str]) -> Comparison:
    """The sessions in the order given. Raises InputError for more than there are letters, or when nothing in them can be compared."""
    if len(held) > len(LETTERS):
        raise InputError(f"{len(held)} sessions are too many to stand side by side", todo=f"give at most {len(LETTERS)}")
    titles = tuple(f"{LETTERS[i]}: {item.session.title or Path(name).name}" for i, (item, name) in enumerate(zip(held, names, strict=True)))
    result = Comparison(titles, _ratings(held), _readouts(held))
    if not result.ratings[1] and not result.readouts[1]:
        raise InputError("these sessions hold no ratings and no readouts", todo="give folders whose runs found some")
    return result


def _standing(rows: Iterable[Row], kind: str) -> Iterable[Row]:
    return (row for row in rows if row.kind == kind and not row.get("superseded"))


def _ratings(held: Sequence[Contents]) -> tuple[tuple[str, ...], tuple[Line, ...]]:
    columns: dict[tuple[int, str], str] = {}
    for i, item in enumerate(held):
        raters = sorted({str(row.get("subject") or "rater not known") for row in _standing(item.rows, "ratings")})
        columns |= {(i, rater): f"{LETTERS[i]} {rater}" for rater in raters} or {(i, ""): f"{LETTERS[i]} no ratings"}
    order = list(columns)
    letters = tuple(LETTERS[i] for i, _ in order)
    found: dict[Any, Draft[Value]] = {}
    for i, item in enumerate(held):
        for row in _standing(item.rows, "ratings"):
            condition = row.get("condition")
            parts = {name: str(value) for name, value in sorted(condition.items())} if isinstance(condition, Mapping) else {}
            draft = _draft(found, (str(row.get("axis") or "axis not known"), str(row.get("scale") or ""), parts), letters)
            draft.cells[order.index((i, str(row.get("subject") or "rater not known")))].append(_value(row, ""))
    return tuple(columns.values()), _lines("ratings", found, {}, tuple(rater for _, rater in order))


def _draft(found: dict[Any, Draft[Value]], line: tuple[str, str, Mapping[str, str]], letters: tuple[str, ...]) -> Draft[Value]:
    what, fixed, parts = line
    return found.setdefault((what, fixed, tuple(parts.items())), Draft(what, fixed, parts, [[] for _ in letters], letters))


def _cards(contents: Contents) -> list[tuple[float, str]]:
    """When which card was open: session seconds of every step that names its card and is not in doubt."""
    steps = [row for row in contents.of("steps") if row.get("card") and row.certainty != "doubtful" and row.place.start_s is not None]
    return sorted((row.place.start_s or 0.0, str(row.get("card"))) for row in steps)


def _card_at(cards: Sequence[tuple[float, str]], row: Row) -> str:
    at_s = row.place.start_s
    before = [card for start_s, card in cards if at_s is not None and start_s <= at_s]
    return before[-1] if before else ""


def _readouts(held: Sequence[Contents]) -> tuple[tuple[str, ...], tuple[Line, ...]]:
    units: dict[tuple[str, str], str] = {}
    cards = [_cards(item) for item in held]
    given = [(i, row, (str(row.get("parameter")), str(row.get("class") or ""), str(row.get("subject") or "")), _card_at(cards[i], row))
             for i, item in enumerate(held) for row in _standing(item.rows, "readouts") if row.get("parameter")]
    open_cards: dict[tuple[str, str], dict[int, set[str]]] = {}
    for i, _, key, card in given:
        open_cards.setdefault(key[:2], {}).setdefault(i, set()).add(card)
    letters = tuple(LETTERS[: len(held)])
    found: dict[Any, Draft[Value]] = {}
    for i, row, key, card in given:
        unit = units[key[:2]] = units.get(key[:2]) or str(row.get("unit") or "")
        by_card = all(cards) and shared_cards(open_cards[key[:2]].values())
        parts = ({"subject": key[2]} if key[2] else {}) | ({"card": card} if card and by_card else {})
        _draft(found, (key[0], key[1], parts), letters).cells[i].append(_value(row, unit))
    return letters, _lines("readouts", found, units)


def _lines(kind: str, found: Mapping[Any, Draft[Value]], units: Mapping[tuple[str, str], str], raters: tuple[str, ...] = ()) -> tuple[Line, ...]:
    made = [Line(kind, draft.what, about(draft, first=kind == "ratings"), units.get((draft.what, draft.fixed), ""),
                 tuple(map(tuple, draft.cells)), tuple(draft.letters), tuple(dict.fromkeys(draft.letters)), raters) for draft in joined(found.values())]
    return tuple(sorted(made, key=lambda line: (line.what.casefold(), line.about)))


def _value(row: Row, unit: str) -> Value:
    value, own = row.get("value"), str(row.get("unit") or "")
    if not isinstance(value, Decimal):
        return Value(None, shown(row.get("value_text") or value), row)
    if own and unit and own != unit:
        if not compatible(own, unit):
            return Value(None, f"{shown(value)} {own}", row)
        number = convert(value, own, unit)
        return Value(number, f"{shown(round(number, 3).normalize())} ({shown(value)} {own})", row)
    alternative = row.get("value_alt")
    return Value(value, f"{shown(value)} or {shown(alternative)}" if alternative is not None else shown(value), row)


# written out


def write_comparison(result: Comparison, out: Path) -> None:
    """compare.html, self-contained, and compare.csv, one line for each value."""
    style = static_text("sheet.css")
    page = environment().get_template("compare.html").render(
        result=result, style=Markup(style), policy=policy(style, ""), strip=strip, signs=SIGNS, time_of=time_of,  # noqa: S704
        caution=CAUTION, version=__version__)
    write_whole(out / "compare.html", page)
    write_whole(out / "compare.csv", _csv(result))


def _csv(result: Comparison) -> str:
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(["kind", "what", "about", "unit", "column", "value", "said", "certainty", "session_time", "row"])
    for columns, lines in (result.ratings, result.readouts):
        for line in lines:
            for name, cell in zip(columns, line.cells, strict=True):
                writer.writerows(_cells(line, name, item) for item in cell or (None,))
    return text.getvalue()


def _cells(line: Line, column: str, item: Value | None) -> list[str]:
    """One value a line; an empty cell is a line without a value."""
    said = ["", "", "", "", ""] if item is None else ["" if item.number is None else shown(item.number), item.text, item.row.certainty,
                                                      time_of(item.row), str(item.row.number or "")]
    return [guarded(text) for text in (line.kind, line.what, line.about, line.unit, column, *said)]
