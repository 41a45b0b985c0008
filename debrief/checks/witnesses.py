"""What speaks for and against a row, as numbers that are kept apart and shown.

Every witness is a number from 0 (absent) to 1; what is not known is left out, and the calibration says what that counts for. A name
with a colon ('tie: the list goes on') is one of a family of grounds that exclude each other; the part before the colon is the family.
The plan ranks here and supplies nothing: that a parameter stands in the plan speaks for its binding, never for its value.
"""
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from math import log10
from statistics import fmean, median

from ..harvest.answers import OWN_MARGIN
from ..harvest.attribution import WEAK
from ..harvest.progress import progress
from ..harvest.view import content, views
from ..records.rows import Part, Row
from ..records.talk import Token, Turn
from ..session import Parameter, PlannedReadout
from ..units import canonical, compatible
from .grounds import plainness
from .kind_witnesses import of_kind
from .repeats import NAME_FIELD, main_field, repeats
from .review import Review
from .sense_witnesses import of_sense, of_talk, remember
from .series import Series, times_beyond
from .word_witnesses import Spot, about_name, around_value, composed, corrected_near, spot_of, surroundings
from .wording_witness import WORDING, shown_by, wordings

FIELD_OF = {"value": "value", "word": "value", "weighing": "value", "unit": "unit", "tie": "name", "name": "name", "history": "value",
            "station": "subject", "class": "class"}
"""Which field a witness speaks of, by its first word; others speak of the whole row."""
GRADED = frozenset(("word probability", "weighing margin", OWN_MARGIN, "free hearing agreed", "name: word probability", "turn: word probability",
                    "recording: word probability", "name: far from the value", "name: words away", "history: far in magnitude", "name: rare words",
                    "words beside: probability", "words beside: lowest probability", "words beside: rare", "words beside: odd together",
                    "talk: numbers explained", "talk: names in doubt", "talk: plain rows", WORDING))
"""Witnesses that are measured: where one is not known it counts as the usual one, not as 0."""
VALUE_KINDS = frozenset(("readouts", "ratings", "clock_calls"))
FEW = 50
"""In a longer series one value does not move the median."""
EVEN = 2.5
"""Values called one after another on the way somewhere are at most so many times one another."""
LONGER = 5
"""How many times as long as the talk a time must be to be doubted: talk may begin long after its clocks, or be cut."""
_MARKS = set("*^~_|\\")


class Witnesses:
    """The witnesses of all rows of a review; what several rows share is worked out once."""

    def __init__(self, review: Review) -> None:
        self.review = review
        self.turns: Sequence[Turn] = review.talk.turns
        self.repeats = repeats(review)
        remember(review.talk, review.rows)
        self.talk = dict(of_talk(review.talk, review.rows))

    def of(self, position: int) -> dict[str, float]:
        """The witnesses of the row at a position."""
        found = dict(self._own[position])
        if self.review.rows[position].kind in VALUE_KINDS:
            found["talk: plain rows"] = self._plain
        return found

    @cached_property
    def _own(self) -> Sequence[dict[str, float]]:
        """The witnesses of each row by itself."""
        return [self._of(position) for position in range(len(self.review.rows))]

    @cached_property
    def _plain(self) -> float:
        """The share of values against which nothing serious speaks: talk of a kind that is read well has many, other talk few."""
        return fmean([own["plain"] for row, own in zip(self.review.rows, self._own, strict=True) if row.kind in VALUE_KINDS] or [0.0])

    def _of(self, position: int) -> dict[str, float]:
        row = self.review.rows[position]
        found = {name: float(item) for name, item in row.witnesses.items() if isinstance(item, int | float)
                 and name in ("weighing margin", OWN_MARGIN, "free hearing agreed")}
        if OWN_MARGIN in found:
            found["weighing: another number fits better"] = float(found[OWN_MARGIN] < 0)
            found[OWN_MARGIN] = min(max(found[OWN_MARGIN], 0.0), 8.0) / 8
        if "weighing margin" in found:
            found["weighing margin"] = min(max(found["weighing margin"], 0.0), 8.0) / 8
            found["weighing asked"] = 1.0
            found["weighing: another value fits better"] = float(found["weighing margin"] == 0.0)
        found |= dict(self._value(row)) | dict(self._name(row)) | dict(self._unit(row)) | dict(self._hearing(row))
        found |= dict(self._session(position, row)) | dict(self._turn(row)) | dict(self._words(row))
        found |= dict(of_kind(row, None if row.turn is None else views(self.review.talk)[row.turn], self.review.talk.session))
        return found | plainness(found, row.kind)

    def shown(self, position: int) -> frozenset[str]:
        """What the words around a row's value show (wording_witness.py), for a fit; nothing where no words are known."""
        row = self.review.rows[position]
        spot = self._spot(row)
        return frozenset() if spot is None else shown_by(row, spot, self.turns)

    # the parts

    def _tokens(self, part: Part) -> list[Token]:
        """The words of a piece of evidence, where it lies within one segment."""
        if part.segment is None or part.first_word is None or part.last_word is None:
            return []
        words = self._by_segment.get(part.segment, {})
        return [token for word in range(part.first_word, part.last_word + 1) for token in words.get(word, ())]

    @cached_property
    def _by_segment(self) -> Mapping[str, Mapping[int, list[Token]]]:
        found: dict[str, dict[int, list[Token]]] = defaultdict(lambda: defaultdict(list))
        for turn in self.turns:
            for token in turn.tokens:
                found[token.segment][token.word].append(token)
        return found

    def _part(self, row: Row, name: str) -> Part | None:
        item = row.fields.get(name)
        return row.evidence[item.part] if item is not None and item.part is not None else None

    def _value(self, row: Row) -> Iterator[tuple[str, float]]:
        """How the number was read: alone or with a unit, from pieces, with a second reading, as a single digit."""
        name = main_field(row)
        item, part = row.fields.get(name), self._part(row, name) or row.place
        if item is None:
            return
        text = part.text.strip(".,;:!?-— ")
        yield "value: two readings", float(bool(item.others))
        yield "value: doubted by grammar", float(item.certainty == "doubtful")
        yield "value: odd marks", float(bool(_MARKS & set(part.text)) or part.text.rstrip(" .,").endswith("-"))
        yield "value: in pieces", float(any(mark in text for mark in (",", " - ", "—")) or text.count("-") > 1)
        yield "value: told anew by weighing", float(any(token.why for token in self._tokens(part)))
        yield "value: a range", float(row.get("value_high") is not None)
        number = item.value
        if isinstance(number, Decimal):
            whole = number == number.to_integral_value()
            yield "value: one digit", float(whole and abs(number) < 10)
            yield "value: with decimals", float(not whole)
            yield "value: many digits", float(len(number.as_tuple().digits) > 3)

    def _name(self, row: Row) -> Iterator[tuple[str, float]]:
        """What ties the value to its parameter, axis or clock, and how well that name is known."""
        item = row.fields.get(NAME_FIELD.get(row.kind, ""))
        if item is None:
            return
        yield "name: none", float(not item.value)
        yield "name: spoken", float(bool(item.value) and item.origin == "spoken")
        yield "name: doubted", float(item.certainty == "doubtful")
        yield from ((f"tie: {why}", 1.0) for why in item.why)
        if item.value:
            stems = frozenset(content(str(item.value)))
            yield "name: in the plan", float(stems in self._planned)
            yield "name: part of a planned one", float(bool(stems) and stems not in self._planned and self._is_planned(str(item.value)))
            if row.turn is not None and (card := progress(self.review.talk).at(row.turn).card) is not None:
                yield "name: due on the open card", float(stems in self._due(card))
                yield "name: not due on the open card", float(stems not in self._due(card))
            yield "name: said of other values", float(self._names[row.kind, stems] > 1)
            yield "name: many words", float(len(stems) > 3)
        where = row.evidence[item.part] if item.part is not None and item.part > 0 else None
        if where is not None and where.first_word is not None and where.segment == row.place.segment and row.place.first_word is not None:
            yield "name: far from the value", min(abs(row.place.first_word - (where.last_word or where.first_word)), 12) / 12

    def _unit(self, row: Row) -> Iterator[tuple[str, float]]:
        item = row.fields.get("unit")
        if row.kind not in ("readouts", "comparisons"):
            return
        if item is None or not item.value:
            yield "unit: none", 1.0
            return
        yield f"unit: {item.origin}", 1.0
        planned = self._unit_planned(str(row.get("parameter") or ""))
        if planned is not None:
            yield "unit: another than the plan's", float(canonical(str(item.value)) != canonical(planned))
            yield "unit: not of the plan's kind", float(not compatible(canonical(str(item.value)), canonical(planned)))
        yield "unit: doubted", float(item.certainty == "doubtful")
        if item.origin != "spoken":
            yield from ((f"unit by {_family(why)}", 1.0) for why in item.why)

    def _hearing(self, row: Row) -> Iterator[tuple[str, float]]:
        """Word probabilities of the value's and of the name's words, and of the turn around them."""
        value = _least(self._tokens(self._part(row, main_field(row)) or row.place))
        if value is None and isinstance(given := row.witnesses.get("word probability"), int | float):
            value = float(given)
        if value is not None:
            yield "word probability", value
            yield "word probability low", float(value < 0.5)
        named = self._part(row, NAME_FIELD.get(row.kind, ""))
        spoken = _least(self._tokens(named)) if named is not None and named is not row.place else None
        if spoken is not None:
            yield "name: word probability", spoken
        if row.turn is not None:
            known = [token.probability for token in self.turns[row.turn].tokens if token.probability is not None]
            if known:
                yield "turn: word probability", fmean(known)
                yield "recording: word probability", self._probability

    def _words(self, row: Row) -> Iterator[tuple[str, float]]:
        spot = self._spot(row)
        if spot is None:
            return
        yield from around_value(spot, row, self.review.talk)
        yield from composed(spot)
        yield from surroundings(spot)
        yield from corrected_near(spot, row, self.review.talk)
        if row.kind in VALUE_KINDS:
            yield from of_sense(spot, row, self.review.talk)
            yield from self.talk.items()
            if shown := shown_by(row, spot, self.turns):
                yield WORDING, wordings().chance(shown)
        name = row.get(NAME_FIELD.get(row.kind, ""))
        if name:
            yield from about_name(spot, str(name), row)
            yield "name: not in the plan that there is", float(bool(self._planned) and not self._is_planned(str(name)))

    def _spot(self, row: Row) -> Spot | None:
        part = self._part(row, main_field(row)) or row.place
        if row.turn is None or part.first_word is None:
            return None
        last = part.last_word if part.last_word is not None else part.first_word
        at = [i for i, token in enumerate(self.turns[row.turn].tokens) if token.segment == part.segment and part.first_word <= token.word <= last]
        return spot_of(views(self.review.talk)[row.turn], at)

    def _is_planned(self, name: str) -> bool:
        stems = frozenset(content(name))
        return any(stems <= planned or planned <= stems for planned in self._planned)

    def _session(self, position: int, row: Row) -> Iterator[tuple[str, float]]:
        """Repetition, history, read-back, scale, and reasons to look."""
        named = row.fields.get(NAME_FIELD.get(row.kind, ""))
        yield "repeated", float(bool(self.repeats.get(position)) and (named is None or named.origin == "spoken"))
        yield "a reason to look", float(bool(row.look))
        if row.kind == "readouts":
            yield f"class: {row.get('class') or 'measured'}", 1.0
            yield "class: past", float(bool(row.get("past")))
            yield "value: about", float(bool(row.get("approximate")))
            yield from self._in_history(position, row)
            yield "history: far beyond its limit", float(any(times_beyond(why) for why in row.look))
        if row.kind == "clock_calls":
            told = next((abs(float(value)) for name in ("offset_s", "remaining_s") if isinstance(value := row.get(name), Decimal)), 0.0)
            yield "value: a time longer than the talk", float(told > LONGER * self._length_s > 0)
        if row.turn is not None:
            yield "read back right", float(_said(row) in self._read_back[True].get(row.turn, ""))
            yield "read back wrong", float(row.turn in self._read_back[False])
        if row.kind == "ratings":
            yield "station: not one that rates", float(bool(self._raters) and row.get("subject") is not None and row.get("subject") not in self._raters)
            teller = self.turns[row.turn].station if row.turn is not None else None
            yield "station: not the rater's own", float(teller is not None and row.get("subject") is not None and teller != row.get("subject"))
            yield "superseded", float(bool(row.get("superseded")))
            yield "rated more than once", float(self._rated[_rated_key(row)] > 1)
            yield "hedged", float(bool(row.get("hedge")))

    def _in_history(self, position: int, row: Row) -> Iterator[tuple[str, float]]:
        """Its magnitude against the other values of the parameter (a step of the logarithm is a factor of ten), and its nearest ones."""
        value, series = row.get("value"), self._series[_series_key(row)]
        if not isinstance(value, Decimal) or len(series.values) < 2:
            return
        yield "history: known", 1.0
        size, place = abs(float(value)), series.places[position]
        usual = series.usual if len(series.values) > FEW else median(series.values[:place] + series.values[place + 1:])
        if size and usual:
            yield "history: far in magnitude", min(abs(log10(size / usual)), 2.0) / 2
        first, last = series.run(place)
        steps = [b - a for a, b in pairwise(series.values[first:last])]
        even = all(max(a, b) <= EVEN * min(a, b) for a, b in pairwise(series.values[first:last]))
        yield "history: in a run of one direction", float(last - first > 2 and even and (all(s > 0 for s in steps) or all(s < 0 for s in steps)))
        near = [series.values[at] for at in (first - 1, last) if 0 <= at < len(series.values)]
        yield "history: near its neighbours", float(any(abs(size - other) <= 0.3 * max(other, size) for other in near))

    def _turn(self, row: Row) -> Iterator[tuple[str, float]]:
        """Who speaks, and how much else is told in the turn."""
        if row.turn is None:
            return
        turn = self.turns[row.turn]
        yield "station: known", float(turn.station is not None)
        yield "station: guessed", float(any(WEAK in ground for ground in turn.attribution))
        yield "turn: long", min(len(turn.tokens), 60) / 60
        yield "turn: many numbers", min(len(self.review.talk.numbers[turn.index]), 8) / 8
        yield "turn: a question", float(any("?" in token.text for token in turn.tokens))

    # what rows share

    @cached_property
    def _probability(self) -> float:
        """The mean probability of all words of the session that have one."""
        return fmean(token.probability for turn in self.turns for token in turn.tokens if token.probability is not None)

    @cached_property
    def _planned(self) -> frozenset[frozenset[str]]:
        session = self.review.talk.session
        names = [name for card in session.cards for item in card.readouts for name in (item.what, *item.also_called)]
        names += [axis for card in session.cards for item in card.ratings for axis in item.axes]
        names += [item.what for item in session.parameters] + [item.what for item in session.limits] + [clock.name for clock in session.clocks]
        return frozenset(stems for name in names if (stems := frozenset(content(name))))

    def _due(self, card: str) -> frozenset[frozenset[str]]:
        """Names of what a card asks for, as stems."""
        return self._due_by_card.get(card, frozenset())

    @cached_property
    def _due_by_card(self) -> Mapping[str, frozenset[frozenset[str]]]:
        return {card.id: frozenset(frozenset(content(name)) for name in (
            *(name for item in card.readouts for name in (item.what, *item.also_called)), *(axis for item in card.ratings for axis in item.axes)))
            for card in self.review.talk.session.cards}

    @cached_property
    def _raters(self) -> frozenset[str]:
        """Stations that the session file lets rate; none where it does not say."""
        session = self.review.talk.session
        asked = {name for card in session.cards for planned in card.ratings for name in planned.by}
        return frozenset(asked | {station.name for station in session.stations if station.rates})

    @cached_property
    def _units(self) -> Mapping[frozenset[str], str]:
        session = self.review.talk.session
        known: list[Parameter | PlannedReadout] = [*session.parameters, *(item for card in session.cards for item in card.readouts)]
        return {frozenset(content(name)): item.unit for item in known if item.unit for name in (item.what, *item.also_called)}

    def _unit_planned(self, name: str) -> str | None:
        """The unit that the session file gives the parameter of just this name."""
        return self._units.get(frozenset(content(name))) if name else None

    @cached_property
    def _length_s(self) -> float:
        """Seconds from the first turn to the last; 0 where turns have no times."""
        known = [turn.start_s for turn in self.turns if turn.start_s is not None]
        return max(known) - min(known) if known else 0.0

    @cached_property
    def _names(self) -> Mapping[tuple[str, frozenset[str]], int]:
        found: dict[tuple[str, frozenset[str]], int] = defaultdict(int)
        for row in self.review.rows:
            item = row.fields.get(NAME_FIELD.get(row.kind, ""))
            if item is not None and item.value and item.origin == "spoken":
                found[row.kind, frozenset(content(str(item.value)))] += 1
        return found

    @cached_property
    def _series(self) -> Mapping[tuple[str, str], "Series"]:
        found: dict[tuple[str, str], Series] = defaultdict(Series)
        for position, row in self.review.of("readouts"):
            value = row.get("value")
            if isinstance(value, Decimal):
                found[_series_key(row)].add(position, row.turn, abs(float(value)))
        return found

    @cached_property
    def _read_back(self) -> Mapping[bool, Mapping[int, str]]:
        """Turns whose words came back right, and wrong, with the values that came back."""
        said: dict[tuple[object, ...], int] = {(turn.tokens[0].segment, turn.start_s, turn.line_index): turn.index
                                               for turn in self.turns if turn.tokens}
        found: dict[bool, dict[int, str]] = {True: {}, False: {}}
        for _, row in self.review.of("readbacks"):
            for part in row.evidence:
                turn = said.get((part.segment, part.start_s, part.line_index)) if part.role == "said" else None
                if turn is not None and isinstance(match := row.get("match"), bool):
                    found[match][turn] = f"{found[match].get(turn, '')}, {row.get('readback')} "
        return found

    @cached_property
    def _rated(self) -> Mapping[tuple[str, str], int]:
        found: dict[tuple[str, str], int] = defaultdict(int)
        for _, row in self.review.of("ratings"):
            found[_rated_key(row)] += 1
        return found


def _said(row: Row) -> str:
    """A row's value as read-backs list values, between their marks."""
    value = next((item for name in ("value", "offset_s", "remaining_s", "answer") if (item := row.get(name)) is not None), None)
    return f" {value.normalize():f} " if isinstance(value, Decimal) else f" {value} "


def _series_key(row: Row) -> tuple[str, str]:
    return str(row.get("parameter") or "").casefold(), str(row.get("unit") or "")


def _rated_key(row: Row) -> tuple[str, str]:
    return str(row.get("axis")), str(row.get("subject"))


def _family(why: str) -> str:
    """'the session file gives wind in kt' and 'the usual unit of quantity' without the name in them."""
    for known in ("the session file gives", "the usual unit of such talk", "the usual unit of", "spoken with this parameter", "last value"):
        if known in why:
            return known
    return "other grounds"


def _least(tokens: Sequence[Token]) -> float | None:
    return min((token.probability for token in tokens if token.probability is not None), default=None)


def field_of(witness: str, row: Row) -> str:
    """The field of a row that a witness speaks of: its main field where it speaks of the whole."""
    about = FIELD_OF.get(witness.split(maxsplit=1)[0].rstrip(":"), "value")
    name = {"value": main_field(row), "name": NAME_FIELD.get(row.kind, "")}.get(about, about)
    return name if name in row.fields else main_field(row)
