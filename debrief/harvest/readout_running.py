"""What runs on: values that name nothing are of what this station read out last, of what was just told, or of what was ordered.

Of several that a value could be of, the likeliest by size, age, way of telling and station. Each ground that is a guess is kept as doubt.
"""
import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.talk import Number, Turn
from .plan_book import Planned
from .readout_found import BY_UNIT, CARRY_TURNS, NEAR_TURNS, Found
from .readout_orders import Orders
from .readout_words import SIDES
from .view import stem

_ALIKE = 1.1
_BY_SIZE, _BY_AGE, _BY_FORM, _BY_STATION, _OF_RATES = 2.0, 0.08, 0.8, 0.6, 1.0
"""What a doubling of the value, a turn, a point that the other lacks, another station and a rate ask for; only their order of size matters."""
_MINE = frozenset("mine ours i've we've i'm we're".split())
_LONG_AGO = 10
_OF_VEHICLE = frozenset("depth speed airspeed altitude height heading course pitch roll mach knots angle bank".split())
_TELL_APART = SIDES | {"peak", "mean", "max", "min"}
_NEVER_ORDERED = frozenset("wind gust gusts heart pulse blood breathing respiration saturation sats humidity visibility swell waves wave weather".split())
"""Nobody orders the wind, the sea or a heart."""
OF_STATION = "what the plan asks of this station"
_LATELY, _MOSTLY = 10, 3
_MOMENT, _FAR_ORDER = 2, 10.0
_WHILE, _LIKE = 25, 1.5
_FAR_SIZE = 30.0
"""A value is taken for the last parameter told in its unit, and for the speaker's last, where it is no more than so many times as large or small."""


class Running(Orders):
    """One turn's values that go on with what was told before."""

    def _carried(self, made: Found) -> Found | None:
        """What this station read out last, else what was just asked to change; by unit, by size, by the way it was told."""
        if made.sort == "target":
            return self._ordered(made)
        of_named = self._due_of_speaker(made) if made.subject is not None and not self.kept else None
        if of_named is not None and of_named.subject == made.subject and made.unit is None:
            return self._asked_of_station(made, of_named)
        reached = self._reached(made)
        if reached is not None:
            return reached
        own = [(self.view.turn, found) for found in reversed(self.kept)] + self.memory.own(self.view.turn)
        told = [(other, found) for other, found in self.memory.near(self.view.turn) if other.station != self.view.turn.station and found.words]
        fits = [(turn, found) for turn, found in own if self._could_be(made, found) or self._runs_on(made, found)]
        same = [(turn, found) for turn, found in fits if found.number.value == made.number.value and found.given_unit is not None]
        told += self._planned_before(made) if self.view.turn.station is None and made.unit is None else []
        told = [item for item in told if item[1].planned is None or self._may_be_of(item[1].planned)]
        if made.unit is None and fits and not same:
            fits = self._likeliest(made, fits, [item for item in told if self._fits_told(made, *item)])
        for turn, found in same + fits:
            if (turn, found) in told:
                return self._just_told(made, found)
            doubt = () if same and "still" in self._words_before(made) else self._carry_doubt(made, found, turn)
            return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject, given_unit=found.given_unit,
                           how="the speaker's last parameter", doubt=doubt)
        due = self._due_of_speaker(made)
        if due is not None:
            return self._asked_of_station(made, due)
        last = next((found for turn, found in told if self._fits_told(made, turn, found)), None)
        return self._just_told(made, last) if last is not None else None

    @staticmethod
    def _asked_of_station(made: Found, due: Planned) -> Found:
        return replace(made, words=tuple(due.what.split()), planned=due, how=OF_STATION, doubt=("the parameter is not named",))

    def _planned_before(self, made: Found) -> list[tuple[Turn, Found]]:
        """Where nobody knows who speaks: the last value of each parameter of the plan, told some turns ago and much like this one."""
        latest: dict[str, tuple[Turn, Found]] = {}
        for turn, found in self.memory.near(self.view.turn, _WHILE):
            if found.planned is not None and found.sort == "measured" and found.planned.what not in latest:
                latest[found.planned.what] = (turn, found)
        return [(turn, found) for turn, found in latest.values() if self.view.turn.index - turn.index > NEAR_TURNS and self._ratio(made, found) <= _LIKE]

    def _fits_told(self, made: Found, turn: Turn, found: Found) -> bool:
        said = not found.how and turn.index == self.view.turn.index - 1 and bool(found.words) and made.unit is None and self._ratio(made, found) <= _ALIKE
        return said or self._could_be(made, found, order=found.sort != "measured") or self._on_its_way(made, turn, found)

    def _just_told(self, made: Found, found: Found) -> Found:
        """The same as another station told or asked for."""
        sure = found.sort != "measured" and not found.doubt and (made.unit or self._ratio(made, found) < 2)
        return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject, given_unit=found.given_unit,
                       how="what was just told or asked for", doubt=() if sure else ("the parameter is carried",))

    def _likeliest(self, made: Found, own: Sequence[tuple[Turn, Found]], told: Sequence[tuple[Turn, Found]]) -> list[tuple[Turn, Found]]:
        """Of what a value without name and unit could be of, the one that asks for least: near in size, told lately, told the same way, by this station,
        and read out again and again."""
        compares = bool(_MINE & set(self._words_before(made)))  # 'mine was seventy': of what was just told

        def asks(item: tuple[Turn, Found], other: bool) -> float:
            turn, found = item
            run = found in self.kept and sum(old.words == found.words for old in self.kept) > 1  # 'four hundred, two ten ... ninety'
            far = abs(math.log2(self._ratio(made, found))) * _BY_SIZE * (0.3 if run or (not other and self._runs_on(made, found)) else 1.0)
            age = min(self.view.turn.index - turn.index, _LONG_AGO) * _BY_AGE
            unlike = _BY_FORM * (("." in made.number.text) != ("." in found.number.text))
            rate = _OF_RATES * ("/" in (found.given_unit or ""))
            return far + age + unlike + rate + (0.0 if other == compares else _BY_STATION)

        items = [(asks(item, False), i, item) for i, item in enumerate(own)] + [(asks(item, True), i, item) for i, item in enumerate(told)]
        return [item for *_, item in sorted(items, key=lambda one: one[:2])]

    def _on_its_way(self, made: Found, turn: Turn, found: Found) -> bool:
        """'Take it to twenty.' 'Ninety five. Eighty eight.': what was ordered a moment ago, still far from it."""
        lately = found.sort == "target" and self.view.turn.index - turn.index <= _MOMENT
        ahead = self._unit_ahead(made.number) if made.unit is None and not self.kept else None
        if made.unit is not None or (ahead is not None and not self._fits(ahead, found)):
            return False
        return lately and bool(found.words) and self._ratio(made, found) <= _FAR_ORDER and self._possible(made, found.words, found.given_unit)

    def _runs_on(self, made: Found, found: Found) -> bool:
        """'Five. Twelve.' of a station that hardly reads out anything else: however far from the last."""
        if made.unit is not None or not found.words or found.doubt and not found.planned or self.view.turn.station is None:
            return False
        start, stop = self.view.clause(made.number.start)
        if stop - start > made.number.end - made.number.start:
            return False  # other words stand with it
        said = [old.words for _, old in self.memory.own(self.view.turn)[:_LATELY]]
        mostly = said.count(found.words) >= max(_MOSTLY, len(said) * 2 / 3)
        return mostly and self._possible(made, found.words, found.given_unit) and self._ratio(made, found) <= _FAR_SIZE

    def _reached(self, made: Found) -> Found | None:
        """'Climb to sixty feet.' 'Steady at sixty two'; 'roll to five hundred': 'two fifty... three eighty... five hundred': what was just
        ordered, where a value here is as good as the one ordered."""
        for turn, found in self.memory.near(self.view.turn) if made.sort == "measured" and not self.kept else ():
            if found.sort not in ("target", "plan") or not found.words or turn.station == self.view.turn.station or not found.number.value:
                continue
            if made.unit is not None and not self._fits(made.unit, found):
                continue
            if self._near_to(self._last_of_list(made.number), found) and (
                    abs(made.number.value) <= abs(found.number.value) * Decimal("1.1") or self._last_of_list(made.number) is not made.number):
                doubt = () if turn.index >= self.view.turn.index - 2 and not found.doubt else ("the parameter is carried",)
                return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject,
                               given_unit=found.given_unit, how="what was just told or asked for", doubt=doubt)
        return None

    def _last_of_list(self, number: Number) -> Number:
        """The last of the values that follow this one with no word of their own."""
        after = sorted((n for n in self.terms.values.values() if n.start >= number.end), key=lambda n: n.start)
        for other in after:
            if set(self.view.words[number.end:other.start]) - {"and", "then", "now", ""}:
                break
            number = other
        return number

    @staticmethod
    def _near_to(number: Number, found: Found) -> bool:
        return abs(number.value - found.number.value) <= abs(found.number.value) / 20

    def _words_before(self, made: Found) -> tuple[str, ...]:
        return self.view.words[max(0, made.number.start - 3):made.number.start]

    def _ordered(self, made: Found) -> Found | None:
        """'Winch, take us to eighteen': what the station that is called, else anybody, last read out of that size."""
        called = {mention.station for mention in self.view.names} | {self.view.turn.addressee}
        said = [(turn, found) for turn, found in self.memory.near(self.view.turn, CARRY_TURNS)
                if self._could_be(made, found, order=True) and not {word.lower() for word in found.words} & _NEVER_ORDERED]
        here = [(self.view.turn, found) for found in reversed(self.kept) if found.sort == "target" and self._could_be(made, found, order=True)]
        if {"her", "him"} & set(self._words_before(made)):  # 'take her to one twenty': the vehicle
            said = [item for item in said if {word.lower() for word in item[1].words} & _OF_VEHICLE]
        theirs = [item for item in said if item[0].station in called]
        one = len({found.words for _, found in theirs}) == 1
        for turn, found in here + theirs + said:
            doubt = () if turn.station in called and (one or found.given_unit is not None and made.unit is not None) else ("the parameter is carried",)
            return replace(made, words=found.words, planned=found.planned, subject=found.subject, how="what is asked to change", doubt=doubt)
        return replace(made, how="what is asked to change", doubt=("the parameter is not named",)) if made.unit is None else None

    def _carry_doubt(self, made: Found, found: Found, turn: Turn) -> tuple[str, ...]:
        """Carried within a few turns, in the same unit or of much the same size, is clear where the speaker is known."""
        known = self.view.turn.station is not None and (found.head is not None or found.planned is not None or found.given_unit is not None)
        near = self.view.turn.index - turn.index <= NEAR_TURNS * 3
        same_unit = made.unit is None or found.given_unit in made.unit.names
        alike = (made.unit is not None and same_unit) or self._ratio(made, found) < 1.3 or (same_unit and self._tells_one_thing())
        if BY_UNIT in found.doubt:
            return (BY_UNIT,)
        if self.memory.asked_else and not {stem(word.lower()) for word in found.words} & {stem(word) for word in self.memory.before}:
            return ("another reading was asked for",)
        return () if known and near and alike and not found.doubt else ("the parameter is carried",)

    def _tells_one_thing(self) -> bool:
        """Whether this station has only ever read out one parameter ('Bell's down five ... eight ... ten')."""
        return len({found.words for _, found in self.memory.own(self.view.turn)}) == 1

    def _could_be(self, made: Found, found: Found, order: bool = False) -> bool:
        if {word.lower() for word in found.words} <= _TELL_APART:
            return False
        if "wind" in found.words or (made.unit is None and not self._possible(made, found.words, found.given_unit)):
            return False
        if not found.words or found.how == "its place in the list" or (found.doubt and found.head is None and found.given_unit is None):
            return False
        ahead = None if made.unit is not None or self.kept else self._unit_ahead(made.number)
        like = self._ratio(made, found) <= _FAR_SIZE or not made.number.value or not found.number.value
        if ahead is not None:
            return like and self._fits(ahead, found)
        if made.unit is not None:
            return like and self._fits(made.unit, found) and (found.given_unit is None or found.given_unit in made.unit.names)
        return self._ratio(made, found) <= (4.0 if order else 2.5)

    def _may_be_of(self, item: Planned) -> bool:
        """A parameter that the plan asks of one station is told by that station, or where it is named; by any where nobody knows who speaks."""
        turn = self.view.turn
        stations = {station.name for station in self.memory.plan.session.stations}
        named = {turn.station, turn.addressee, *(mention.station for mention in self.view.names)}
        return turn.station is None or item.subject not in stations or item.subject in named

    def _due_of_speaker(self, made: Found) -> Planned | None:
        """The one parameter that the open card asks of the station named with the value, else of the speaking one, else the one that has a word in
        common with the speaking station's name or role ('tank and pumps': tank pressure)."""
        due = [item for item in self.memory.due if made.unit is None or item.unit in made.unit.names]
        for station in dict.fromkeys((made.subject, self.view.turn.station)):
            fits = [item for item in due if station is not None and item.subject == station]
            if len({item.what for item in fits}) == 1:
                return fits[0]
        words = self.memory.plan.words_of_station(self.view.turn.station)
        fits = [item for item in due if any(names & words for names in item.names)] if made.subject is None else []
        return fits[0] if len({item.what for item in fits}) == 1 else None
