"""Ratings: judgements on a declared scale, with rater, axis, conditions, hedges and corrections. Ordinal scales are never averaged."""
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from ..records.rows import Field, Row
from ..session import Scale
from ..wording.english import is_function_word
from .attribution import NAMED, surely_attributed
from .progress import progress
from .rating_axes import Axis, AxisBook, AxisMention
from .rating_free import OPEN_TURNS, UNSCALED, Opened, given, opened, taken_up
from .rating_same import told_the_same
from .rating_values import HEDGES, Value
from .rating_values import values as values_of
from .talk import Talk, part
from .view import View, once, phrases, views

_CORRECTS = phrases("correction | make that | make it | no | i mean | scratch that | sorry | rather | negative | actually")
_CALLS = frozenset("rating ratings rate please first then order numbers score".split())
_FROM_ME = phrases("from me | for me | agree | same here")
_BOTH_WAYS = phrases("both ways | both directions | in both | each way | either way")
_COPIES = frozenset("copy copied roger understood understand noted".split())
_RECENT, _KEPT, _NEAR, _CALL = 12, 300, 5, 3
_GIVEN = "_rating rows"
_SIDES = {"left": ("hand", "left"), "right": ("hand", "right")}
_FIRST = {"first": "1", "second": "2", "third": "3", "fourth": "4"}


@dataclass
class _Open:
    """What the talk asks to be rated: axes in order, by whom; last: axes rated last by each rater."""

    axes: tuple[Axis, ...] = ()
    turn: int = -99
    rater: str | None = None
    last: dict[str | None, tuple[Axis, ...]] = field(default_factory=dict)
    where: dict[str, str] = field(default_factory=dict)


def ratings(talk: Talk) -> list[Row]:
    """Rows of every rating given; one superseded later is kept and marked. Claims the numbers of the values."""
    walk = _Walk(talk, AxisBook.of(talk.session))
    for view in views(talk):
        if not view.turn.commentary and not view.turn.set_aside:
            walk.turn(view)
            walk.same(view)
    once(talk, _GIVEN, lambda _: walk.rows)
    return walk.rows


def given_ratings(talk: Talk) -> list[Row]:
    """The rows that ratings has found in the talk; none before it has run."""
    return once(talk, _GIVEN, lambda _: [])


def _within(old: object, new: object) -> bool:
    """Whether every condition of the older rating holds for the newer one too."""
    return isinstance(old, Mapping) and isinstance(new, Mapping) and all(new.get(key) == value for key, value in old.items())


def _way(view: View, end: int, start: int = 0) -> str | None:
    """A direction said within the seven words before `end`, none of them before `start`."""
    window = " ".join(view.words[max(start, end - 7):end])
    found = [(window.rfind(way), way) for way in ("left to right", "right to left") if way in window]
    return max(found)[1] if found else None


def _last_joined(view: View, mentions: list[AxisMention]) -> list[AxisMention]:
    """The last axis named, with those tied to it by nothing but 'and' ('trim knob and heater knob are both threes')."""
    kept = mentions[-1:]
    for mention in reversed(mentions[:-1]):
        if set(view.words[mention.end:kept[0].start]) - {"and"} or view.sentence(mention.start) != view.sentence(kept[0].start):
            break
        kept.insert(0, mention)
    return kept


@dataclass
class _Walk:
    talk: Talk
    book: AxisBook
    rows: list[Row] = field(default_factory=list)
    asked: _Open = field(default_factory=_Open)
    named: tuple[int, tuple[Axis, ...]] = (-99, ())
    free: Opened | None = None
    known: dict[str, Scale] = field(default_factory=dict)

    def _asked_bare(self, view: View) -> bool:
        """Whether the turn before is a question that names no axis ('what is it?')."""
        before = views(self.talk)[view.turn.index - 1]
        return before.asks(0, len(before.words)) and not self.book.find(before, None)

    def turn(self, view: View) -> None:
        standing = progress(self.talk).at(view.turn.index)
        mentions = self.book.find(view, standing.card)
        station = self.talk.session.station(view.turn.station) if surely_attributed(view.turn) else None
        raters = [s for s in self.talk.session.stations if s.rates]
        asked = opened(view, self.talk.session.scales, self.known)
        self.free = asked if asked and not mentions else self.free
        if station and raters and not station.rates and not self._rates_by_form(view, mentions):
            self._asks(view, mentions)
            return
        values = values_of(self.talk, self.book, view, bool(self.known) or self._opened_near(view) is not None)
        if not values and mentions:
            self.named = view.turn.index, tuple(axis for mention in mentions for axis in mention.axes)
        elif values and not mentions and view.turn.index - self.named[0] in (1, 2) and self._asked_bare(view):
            self.asked = replace(self.asked, axes=self.named[1], turn=view.turn.index - 1, where={})
        values = [value for value in values if not self._told_back(view, mentions, value)]
        if self._puts_right(view, values) or (not mentions and (asked is None or asked.scale.name == UNSCALED) and self._give_free(view, values)):
            return
        scaled = any(self.book.scale_at(view, i) for i in range(len(view.words))) or "rating" in view.words or "rate" in view.words
        fresh = view.turn.index - self.asked.turn <= 4
        if values and (mentions or fresh and self.asked.axes or scaled or view.find(_FROM_ME) or self._said_before(view, values[0].start)):
            self._give(view, mentions, values)
        elif (station is None or not raters) and (mentions or view.names and not values and len(view.words) <= _CALL):
            self._asks(view, mentions)

    def same(self, view: View) -> None:
        """Ratings that the turn gives by pointing at earlier ones."""
        if not self.rows or not {"same", "before", "unchanged", "change"} & set(view.words):
            return
        station = self.talk.session.station(view.turn.station)
        if station is not None and not station.rates and any(s.rates for s in self.talk.session.stations):
            return
        mentions = self.book.find(view, progress(self.talk).at(view.turn.index).card)
        for at, name, value in told_the_same(view, mentions, self.rows):
            if name in self.book.axes:
                row = self._row(view, self.book.axes[name], Value(at, at + 1, value), "", {})
                self.rows.append(row.with_fields(value=Field(value, "carried", "doubtful", 0, ("said to be the same as an earlier one",))))

    def _rates_by_form(self, view: View, mentions: Sequence[AxisMention]) -> bool:
        """Whether a turn that the sound gives to a station that rates nothing is full of ratings that nobody has just given: then the sound is wrong."""
        if NAMED in view.turn.attribution or view.asks(0, len(view.words)) or view.words[0] in _COPIES:
            return False
        given = [value for value in values_of(self.talk, self.book, view) if any(
            mention.end <= value.start <= mention.end + _NEAR and not value.alike for mention in mentions)]
        known = {row.get("value") for row in self.rows[-_RECENT:] if row.turn is not None and view.turn.index - row.turn <= 2}
        return bool(given) and not any(value.value in known for value in given)

    def _told_back(self, view: View, mentions: Sequence[AxisMention], value: Value) -> bool:
        """'One point five eight, quality three': what another station rated just before, said again at the head of a turn."""
        last = [row for row in self.rows[-6:] if row.turn is not None and row.turn == view.turn.index - 1]
        if last and not any(m.start < value.start for m in mentions) and self._list_told_back(view, last, value):
            return True
        if last and None in (last[0].station, view.turn.station) and not mentions and value.start <= view.sentence(0)[1] < len(view.words) \
                and value.value == last[-1].get("value") and view.asks(view.sentence(0)[1], len(view.words)):
            return True  # 'Into the wind, six. Away from it?', whoever speaks
        if not last or last[0].station in (None, view.turn.station) or value.start > 6 or "me" in view.words or view.asks(*view.sentence(value.start)):
            return False
        axes = {axis.name for mention in mentions if mention.start < value.start for axis in mention.axes}
        station = self.talk.session.station(view.turn.station)
        if station is not None and station.rates and (mentions or len(last) < 2):
            return False
        same = [row for row in last if row.get("value") == value.value and (not axes or row.get("axis") in axes)]
        listed = axes or len(last) > 1 or bool(_COPIES & set(view.words[:2]))
        return bool(same) and bool(listed) and value.start <= view.sentence(0)[1]

    @staticmethod
    def _list_told_back(view: View, last: Sequence[Row], value: Value) -> bool:
        """'Fourteen and eleven.' behind 'legs fourteen, breathing eleven': the figures of the turn before and no more, or one of them behind 'copy'."""
        given = [row.get("value") for row in last]
        if view.words[0] in _COPIES and value.value in (*given, *(row.get("value_alt") for row in last)):
            return True
        said = [number.value for _, number in sorted(view.numbers.items())][:len(given)]
        return bool(view.numbers) and min(view.numbers) <= 1 and len(given) > 1 and sorted(map(str, said)) == sorted(map(str, given))

    def _puts_right(self, view: View, values: Sequence[Value]) -> bool:
        """'No, six.' right behind the rating of the same station, as far as is known: the last rating is given anew."""
        last = self.rows[-1] if self.rows else None
        before = self.talk.turns[last.turn] if last is not None and last.turn is not None else None
        if last is None or before is None or not values or view.turn.index - before.index != 1 or view.words[0] not in _CORRECTS:
            return False
        if None not in (before.station, view.turn.station) and before.station != view.turn.station:
            return False
        axis = self.book.axes.get(str(last.get("axis")))
        if axis is None or self.book.find(view, None) or not self._on_scale(axis.scale, values[-1]):
            return False
        for value in values:
            self.talk.claim(view.turn, value.start, value.end, "ratings")
        anew = self._row(view, axis, values[-1], "", {})
        where = last.fields["condition"]
        if last in self.rows:
            self.rows[self.rows.index(last)] = last.with_fields(superseded=Field(True, "carried", why=("put right at once",)))
        self.rows.append(anew.with_fields(condition=where))
        return True

    def _asks(self, view: View, mentions: Sequence[AxisMention]) -> None:
        raters = {s.name for s in self.talk.session.stations if s.rates} or {s.name for s in self.talk.session.stations}
        only = bool(mentions) and len(view.words) == sum(m.end - m.start for m in mentions)
        named = next((m.station for m in view.names if m.station in raters), None)
        way = _way(view, len(view.words))
        if way and "again" in view.words:
            of = [row for row in self.rows if _within({"direction": way}, row.get("condition"))
                  and named in (None, row.get("subject"))]
            again = tuple(self.book.axes[str(row.get("axis"))] for row in of[-1:] if str(row.get("axis")) in self.book.axes)
            self.asked = replace(self.asked, axes=again, turn=view.turn.index, rater=named, where={"direction": way})
        elif mentions and (view.asks(0, len(view.words)) or not values_of(self.talk, self.book, view) and (set(view.words) & _CALLS or named or only)):
            self.asked = replace(self.asked, axes=tuple(a for m in mentions for a in m.axes), turn=view.turn.index, rater=named, where={})
        elif named and self.asked.axes and len(view.words) <= 6 and view.turn.index - self.asked.turn <= 6:
            self.asked = replace(self.asked, turn=view.turn.index, rater=named)

    def _give(self, view: View, mentions: Sequence[AxisMention], values: Sequence[Value]) -> None:
        current: tuple[Axis, ...] = ()
        queue = list(self.asked.axes)
        previous: list[Row] = []
        for index, value in enumerate(values):
            low = values[index - 1].end if index else 0
            high = values[index + 1].start if index + 1 < len(values) else len(view.words)
            before = _last_joined(view, [m for m in mentions if low <= m.start < value.start])
            behind = [m for m in mentions if value.end <= m.start < high and set(view.words[value.end:m.start]) & {"for", "on"}]
            if view.clause(value.start)[0] == value.start and not view.turn.tokens[value.end - 1].ends_clause:
                led = [m for m in mentions if m.start == value.end]  # 'eleven legs, ten breathing'
                before, behind = ([], led) if led else (before, behind)
            near = (value.start == low or view.find(HEDGES, low, value.start)) and not set(view.words[low:value.start]) & set(_SIDES)
            if index and not before and previous and (current or not queue) and all(row.get("value") == value.value for row in previous):
                self.talk.claim(view.turn, value.start, value.end, "ratings")
                continue
            if index and not before and near and previous:
                self._amend(view, previous, value)
                continue
            if index and not before and view.find(_CORRECTS, low, value.start) and previous:
                for row in previous:
                    self.rows.remove(row)
            current = () if before else self._said_before(view, value.start) or current
            chosen = tuple(a for m in (before or behind) for a in m.axes) or current or self._named_scale(view, value)
            doubt, listed = "", False
            if not chosen:
                queue = [] if self._rated_since(view) else queue
                listed, chosen = bool(queue[1:]), (queue.pop(0),) if queue else self._last_axes(view)
                doubt = "the axis is taken from the question" if len(self.asked.axes) > 1 else ""
            current = () if listed else chosen
            if before and view.find(_CORRECTS, low, before[0].start):
                self._take_back(view, chosen)
            fitting = [axis for axis in chosen if self._on_scale(axis.scale, value)] or list(self._unplanned(view, value))
            previous = [self._row(view, axis, value, doubt, extra) for axis in fitting for extra in self._ways(view, axis, value)]
            self.rows += previous
            self.asked.last[view.turn.station] = chosen
        pending = tuple(a for m in mentions if m.start >= values[-1].end for a in m.axes)
        if pending and view.turn.tokens[-1].ends_sentence and len(view.words) - values[-1].end > 3:
            self.asked = replace(self.asked, axes=pending, turn=view.turn.index, rater=view.turn.station, where={})

    def _take_back(self, view: View, axes: Sequence[Axis]) -> None:
        """'Legs thirteen, breathing eleven. No, legs fourteen.': what the same turn said of the axis before goes."""
        names = {axis.name for axis in axes}
        self.rows[:] = [row for row in self.rows if row.turn != view.turn.index or row.get("axis") not in names]

    def _opened_near(self, view: View) -> Opened | None:
        """What was asked a few turns ago to be rated; where no name was given, what was rated last, if the turn before asks for it."""
        free = self.free
        if free is None or not 0 < view.turn.index - free.turn <= OPEN_TURNS or self.book.axes and not free.name:
            return None
        last = self.rows[-1] if self.rows else None
        asks = "?" in self.talk.turns[view.turn.index - 1].text
        return replace(free, name=str(last.get("axis"))) if not free.name and last is not None and asks else free

    def _give_free(self, view: View, values: Sequence[Value]) -> bool:
        """Values on a scale that was asked, of what no plan lists; or of what was rated so before."""
        free = self._opened_near(view) or taken_up(view, values, self.talk.session.scales, self.known)
        rated = list(given(view, values, free)) if free is not None else []
        for item in rated:
            row = self._row(view, Axis(item.name, None if free is None or free.scale.name == UNSCALED else free.scale), item.value, "", {})
            row = row if item.alt is None else row.with_fields(value_alt=Field(item.alt.value, why=("said as the alternative",)), hedge=Field(True, part=0))
            self.rows.append(row)
            if free is not None:
                self.known[item.name] = free.scale
        return bool(rated)

    def _said_before(self, view: View, stop: int) -> tuple[Axis, ...]:
        """'I said five, but make that a six': the axis that this rater gave a five a moment ago."""
        quoted = {n.value for n in view.numbers.values() if n.end <= stop and "said" in view.before(n.start, 2) and view.find(_CORRECTS, n.end, stop)}
        own = [row for row in self.rows[-_RECENT:] if row.get("value") in quoted and row.station in (view.turn.station, None)
               and row.turn != view.turn.index and str(row.get("axis")) in self.book.axes]
        return (self.book.axes[str(own[-1].get("axis"))],) if own else ()

    def _last_axes(self, view: View) -> tuple[Axis, ...]:
        """What this rater rated last; for 'four from me', what anybody rated a moment ago."""
        own = self.asked.last.get(view.turn.station, ())
        last = self.rows[-1] if self.rows else None
        if last is None or view.turn.index - (last.turn or 0) > 4:
            return ()
        return (self.book.axes[str(last.get("axis"))],) if view.find(_FROM_ME) and last.get("axis") in self.book.axes else own

    def _rated_since(self, view: View) -> bool:
        """Whether this rater has rated something since the last question."""
        return any(row.turn is not None and self.asked.turn < row.turn < view.turn.index and row.station == view.turn.station
                   for row in self.rows[-6:])

    def _named_scale(self, view: View, value: Value) -> tuple[Axis, ...]:
        for index in range(value.start):
            found = self.book.scale_at(view, index)
            if found:
                return (Axis(found[1].name, found[1]),)
        return ()

    def _on_scale(self, scale: Scale | None, value: Value) -> bool:
        """On the axis's scale; where it has none, no higher than the highest of the session."""
        if scale is None:
            return not self.talk.session.scales or value.value <= max(Decimal(str(known.high)) for known in self.talk.session.scales)
        return Decimal(str(scale.low)) <= value.value <= Decimal(str(scale.high)) and value.of in (None, Decimal(str(scale.high)))

    def _unplanned(self, view: View, value: Value) -> tuple[Axis, ...]:
        """'Any hot spots?' 'One on the shoulder, call it a four out of ten': what was asked, else what the turn is of, on a scale of that height."""
        scale = next((s for s in self.talk.session.scales if value.of == Decimal(str(s.high))), None)
        if scale is None:
            return ()
        before = views(self.talk)[view.turn.index - 1] if view.turn.index else view
        asked = before.words if before is not view and before.asks(0, len(before.words)) else ()
        told = view.words[:next((i for i, word in enumerate(view.words) if word.endswith("'s") or word in ("is", "feels", "are")), -1) + 1]
        named = {word for mention in (*before.names, *view.names) for word in mention.station.lower().split()}
        for words in (asked, told):
            name = " ".join([word.removesuffix("'s") for word in words if word not in named and word.isalpha() | word.endswith("'s")
                             and not is_function_word(word)][-2:])
            if name:
                return (Axis(name, scale),)
        return ()

    def _amend(self, view: View, previous: list[Row], value: Value) -> None:
        """'Two, maybe a three': the first stands, the second is its alternative."""
        self.talk.claim(view.turn, value.start, value.end, "ratings")
        for at, row in enumerate(previous):
            if row.get("value") == value.value:
                continue
            new = row.with_fields(value_alt=Field(value.value, why=("said as the alternative",)), hedge=Field(True, part=0))
            self.rows[self.rows.index(row)] = previous[at] = new

    def _ways(self, view: View, axis: Axis, value: Value) -> list[dict[str, str]]:
        """'Fours for roll both ways': one rating for each direction that was rated before in this card; else just one."""
        _, stop = view.clause(value.start)
        if not view.find(_BOTH_WAYS, value.end, stop):
            return [{}]
        card = progress(self.talk).at(view.turn.index).card
        known = [where.get("direction") for row in self.rows if isinstance(where := row.get("condition"), Mapping) and where.get("card") == card]
        return [{"direction": way} for way in dict.fromkeys(known) if way] or [{}]

    def _row(self, view: View, axis: Axis, value: Value, doubt: str, extra: Mapping[str, str]) -> Row:
        turn = view.turn
        self.talk.claim(turn, value.start, value.end, "ratings")
        subject, guess = self._rater(view, axis)
        first, _ = view.clause(value.start)
        hedged = view.find(HEDGES, first, min(len(view.words), value.end + 3)) is not None
        where = {**self._conditions(view, value, axis), **extra}
        fields = {
            "axis": Field(axis.name, "carried" if doubt else "spoken", "doubtful" if doubt else "clear", why=(doubt,) if doubt else ()),
            "value": Field(value.value, "spoken", "doubtful", 0, ("heard as a word that sounds like it",)) if value.alike else Field(value.value, part=0),
            "scale": Field(axis.scale.name if axis.scale else None, "plan"),
            "subject": Field(subject, "carried" if guess else "spoken", "doubtful" if guess else "clear", why=(guess,) if guess else ()),
            "condition": Field(where, "carried"), "hedge": Field(hedged), "superseded": Field(False),
        }
        row = Row("ratings", fields, (part(turn, "value", value.start, value.end),), turn.loop, subject, turn.index)
        self._supersede(row)
        return row

    def _rater(self, view: View, axis: Axis) -> tuple[str | None, str]:
        own = self.talk.session.station(view.turn.station)
        if surely_attributed(view.turn) and (NAMED in view.turn.attribution or own is None or own.rates or not any(
                s.rates for s in self.talk.session.stations)):
            return view.turn.station, ""
        guessed = self.talk.session.station(view.turn.station)
        if guessed and (guessed.rates or not any(s.rates for s in self.talk.session.stations)):
            return guessed.name, "who speaks is a guess"
        if self.asked.rater and view.turn.index - self.asked.turn <= 4:
            return self.asked.rater, "the speaker is not known: the rater who was asked"
        return (axis.by[0], "") if len(axis.by) == 1 else (None, "the speaker is not known")

    def _conditions(self, view: View, value: Value, axis: Axis) -> dict[str, str]:
        standing = progress(self.talk).at(view.turn.index)
        found = {k: v for k, v in (("card", standing.card), ("step", standing.step)) if v}
        if len(axis.cards) == 1 and standing.card != axis.cards[0]:
            found = {"card": axis.cards[0]}
        if view.turn.index - self.asked.turn <= 2:
            found.update(self.asked.where)
        first, stop = view.clause(value.start)
        for index in range(max(0, value.start - 8), min(stop, len(view.words))):
            word = view.words[index]
            if word in _SIDES and "to" not in view.words[index - 1:index + 2]:
                found.update([_SIDES[word]])
            if word in _FIRST and first <= index < value.start:
                found["try"] = _FIRST[word]
        earlier = max((n.end for n in view.numbers.values() if n.end <= value.start), default=0)
        way = _way(view, value.start, earlier)
        if way:
            found["direction"] = way
        return found

    def _supersede(self, new: Row) -> None:
        """An earlier standing rating of the same rater, axis and conditions, with another value, no longer stands."""
        for at, row in enumerate(self.rows[-_KEPT:], max(0, len(self.rows) - _KEPT)):
            same = all(row.get(name) == new.get(name) for name in ("axis", "subject")) and _within(row.get("condition"), new.get("condition"))
            if same and row.turn != new.turn and row.get("value") != new.get("value") and row.get("subject"):
                self.rows[at] = row.with_fields(superseded=Field(True, "carried", why=("given anew later",)))
