"""Which rows are wanted, as SQL; and values within bounds, where what cannot be compared is told and never mixed in silently.

Pressures: absolute, gauge and differential ones differ by a pressure that nobody told (units.py). A question in a unit that says no kind
finds all of them, each shown with its unit, and the answer counts the kinds; a question in psia, psig or psid finds its own kind and what
says none, and the answer counts what was left out.
"""
from collections.abc import Sequence
from dataclasses import dataclass, replace

from .choosing import Chooser
from .query import Query
from .reading import PRESSURE, PRESSURES
from .shape import Archive


@dataclass(frozen=True, slots=True)
class Wanted:
    """Conditions on rows. parts: on their columns; match: full-text query, '' for none; labels: one of each group must be on the row."""

    parts: tuple[str, ...]
    match: str = ""
    labels: tuple[tuple[int, ...], ...] = ()

    def ids(self, archive: Archive, most: int, inside: tuple[int, int] | None = None) -> list[int]:
        """Rows that fit, at most so many (negative: all), in no order; inside: only ids of this half-open range."""
        sql, values = self.sql(inside)
        return [item[0] for item in archive.all(f"{sql} LIMIT ?", (*values, most))]

    def counts(self, archive: Archive) -> dict[int, int]:
        """How many rows fit, by the name of their dimension."""
        sql, values = self.sql(None)
        # only asked with conditions on columns, so that the query is one over rows
        return {item[0]: item[1] for item in archive.all(f"SELECT dimension, count(*) {sql.removeprefix('SELECT id ')} GROUP BY dimension", values)}

    def sql(self, inside: tuple[int, int] | None) -> tuple[str, Sequence[str]]:
        """A query for ids. Rows themselves are read only where a condition is on their columns."""
        # the range stands inside each set as well, so that a set is never gathered whole for one session
        def within(column: str) -> str:
            return f" AND {column} >= {inside[0]} AND {column} < {inside[1]}" if inside else ""

        sets = [f"SELECT id FROM row_labels WHERE label IN ({', '.join(map(str, group))}){within('id')}" for group in self.labels]
        sets += [f"SELECT rowid FROM row_words WHERE row_words MATCH ?{within('rowid')}"] if self.match else []
        values = [self.match] if self.match else []
        if not self.parts and len(sets) == 1:
            return sets[0], values
        conditions = [*self.parts, *(f"id IN ({one})" for one in sets)]
        return f"SELECT id FROM rows WHERE {' AND '.join(conditions) or '1'}{within('id')}", values


@dataclass(frozen=True, slots=True)
class Bounded:
    """The values of a question with bounds."""

    archive: Archive
    query: Query
    rows: Wanted

    def wanted(self, dimensions: Sequence[str] | None = None) -> Wanted:
        """Rows whose value lies within the bounds. dimensions: others than those that the question compares."""
        query, more, less = self.query, *((">=", "<=") if self.query.inclusive else (">", "<"))
        names = [Chooser(self.archive).name_of(name) for name in dimensions or self._compared()]
        # 'IS NOT NULL' lets the partial indexes over values serve bounds from below too
        parts = [*self.rows.parts, f"dimension IN ({', '.join(map(str, names))})", "low IS NOT NULL"]
        parts += [f"high {more} {query.low.value!r}"] if query.low else []
        parts += [f"low {less} {query.high.value!r}"] if query.high else []
        return replace(self.rows, parts=(*parts, *([] if query.every_class else ["measured"])))

    def notes(self) -> list[str]:
        """What a person must know: values without a unit that were not compared, and kinds of pressure."""
        return [*self._unitless(), *(self._kinds() if (self.query.dimension or "") in (PRESSURE, *PRESSURES) else [])]

    def _compared(self) -> Sequence[str]:
        dimension = self.query.dimension or ""
        return (PRESSURE, *PRESSURES) if dimension == PRESSURE else (dimension, PRESSURE) if dimension in PRESSURES else (dimension,)

    def _unitless(self) -> list[str]:
        if not self.query.parameter or not self.query.dimension:
            return []
        chooser = Chooser(self.archive)
        parts = (*self.rows.parts, "low IS NOT NULL", f"dimension = {chooser.name_of('')}", *([] if self.query.every_class else ["measured"]))
        count = sum(replace(self.rows, parts=parts).counts(self.archive).values())
        return [f"{count} more values of it carry no unit and were not compared"] if count else []

    def _kinds(self) -> list[str]:
        chooser = Chooser(self.archive)
        names = {chooser.name_of(name): kind for name, kind in ((PRESSURE, ""), *PRESSURES.items())}
        if not any(kind and name >= 0 for name, kind in names.items()):
            return []
        counts = {names[name]: count for name, count in self.wanted((PRESSURE, *PRESSURES)).counts(self.archive).items()}
        asked = PRESSURES.get(self.query.dimension or "", "")
        if not asked:
            told = [f"{count} as {kind}" for kind, count in counts.items() if kind]
            told += [f"{counts['']} without saying which"] if "" in counts else []
            return [f"of these pressures are told: {', '.join(told)}; they are not the same measure"] if len(counts) > 1 else []
        others = [f"{count} told as {kind} pressure" for kind, count in counts.items() if kind not in ("", asked)]
        notes = [f"not compared: {', '.join(others)}"] if others else []
        return [*notes, *([f"{counts['']} of these do not say which kind of pressure they are"] if counts.get("") else [])]
