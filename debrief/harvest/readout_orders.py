"""Values that name nothing and stand in an order: as another station told them, as this one told them before, or a bare list."""
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from ..records.talk import Number
from .readout_fitting import Fitting
from .readout_found import CARRY_TURNS, Found
from .readout_words import FILLERS, HEDGES

SAME_ORDER = "its place in the list of the station before"
NEAR_SIZE = 3.0
_LIST_TURNS = 6
_MOST_LISTED, _MUCH_LIKE = 5, 1.6
_LEAST_LISTED = 13
_LISTED = HEDGES | FILLERS | frozenset("and now at the most up down coming going to or by stop stopped steady".split())


class Orders(Fitting):
    """What is told by its place in a list."""

    @cached_property
    def _only_values(self) -> bool:
        """Whether the turn says hardly more than values."""
        taken = {i for n in self.terms.values.values() for i in range(n.start, n.end)}
        return len({word for i, word in enumerate(self.view.words) if i not in taken} - _LISTED) <= max(2, len(self.terms.values))

    def _by_own_list(self, made: Found) -> Found | None:
        """'Discs are two ten and two sixty.' 'One forty, one seventy.': as many bare values as a turn before told, each much like the one in its place."""
        mine = sorted(self.terms.values.values(), key=lambda n: n.start)
        if made.unit is not None or not 2 <= len(mine) <= _MOST_LISTED or made.number not in mine or not self._only_values:
            return None
        lists: dict[int, list[Found]] = {}
        for turn, found in self.memory.near(self.view.turn, CARRY_TURNS):
            if turn.index < self.view.turn.index and (turn.station == self.view.turn.station or None in (turn.station, self.view.turn.station)):
                lists.setdefault(turn.index, []).insert(0, found)
        for _, items in sorted(lists.items(), reverse=True):
            if len(items) == len(mine) and all(item.words and item.sort == "measured" for item in items) and len({item.words for item in items}) > 1 \
                    and all(self._much_like(number, item) for number, item in zip(mine, items, strict=True)):
                told = items[mine.index(made.number)]
                return replace(made, words=told.words, planned=told.planned, subject=made.subject or told.subject, given_unit=told.given_unit,
                               how=SAME_ORDER, doubt=("the parameter is not named",))
        return None

    def _much_like(self, number: Number, item: Found) -> bool:
        return self._ratio(Found(number, number.end, (), None), item) <= _MUCH_LIKE and ("." in number.text) == ("." in item.number.text)

    def _by_last_list(self, made: Found) -> Found | None:
        """'Suit three point seven, oxygen ninety one, water eighty eight.' 'Three point eight, ninety four, ninety': another station's list in
        the same order."""
        mine = sorted(self.terms.values.values(), key=lambda n: n.start)
        if made.unit is not None or len(mine) < 2 or any(f.how != SAME_ORDER for f in self.kept if f.number.start < made.number.start):
            return None
        lists: dict[int, list[Found]] = {}
        for turn, found in self.memory.near(self.view.turn, _LIST_TURNS):
            if turn.station != self.view.turn.station and None not in (turn.station, self.view.turn.station):
                lists.setdefault(turn.index, []).insert(0, found)
        theirs = next((items for _, items in sorted(lists.items(), reverse=True) if len(items) >= 2), [])
        place = mine.index(made.number) if made.number in mine else len(theirs)
        if place >= len(theirs) or not theirs[place].words or theirs[place].sort != "measured":
            return None
        told = theirs[place]
        close = self._ratio(made, told) <= NEAR_SIZE / 2 and ("." in made.number.text) == ("." in told.number.text)
        if not close or (place == 0 and not self._goes_along(mine, theirs)):
            return None
        return replace(made, words=told.words, planned=told.planned, given_unit=told.given_unit, how=SAME_ORDER,
                       doubt=("the parameter is not named",))

    def _goes_along(self, mine: Sequence[Number], theirs: Sequence[Found]) -> bool:
        """The second value fits the other list as well."""
        one, other = abs(float(mine[1].value)), abs(float(theirs[1].number.value))
        return bool(one and other) and max(one, other) / min(one, other) <= NEAR_SIZE / 2

    def _bare_list(self, made: Found) -> Found | None:
        """'Thirty, thirty five, forty at the most': two values and more that are all a turn says; nobody named them, and none was told just before."""
        values = list(self.terms.values.values())
        told = {value for _, old in self.memory.near(self.view.turn, 3) for value in (old.number.value, *old.number.others)}
        enough = len(values) >= 2 and sum(n.value >= _LEAST_LISTED or "." in n.text for n in values) >= 2
        if made.unit is not None or not enough or not self._only_values or {n.value for n in values} & told or self.view.names:
            return None
        return replace(made, how="no parameter named", doubt=("the parameter is not named",))
