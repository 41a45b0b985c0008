"""Values that name nothing themselves: the list that goes on, what the sentence is about, the question asked, what was told before.

Each ground that is a guess is kept as doubt, in words a user reads.
"""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.talk import Number, Turn
from ..units import dimension_of
from .parameter_words import HEADS, INSTRUMENTS, WEAK_HEADS
from .plan_book import Planned
from .readout_found import CARRY_TURNS, NEAR_TURNS, Found
from .readout_heights import round_thousands
from .readout_names import QUANTITIES
from .readout_orders import NEAR_SIZE, SAME_ORDER, Orders
from .readout_pairs import hours_and_minutes
from .readout_phrases import Phrase, head_word
from .readout_words import HEDGES
from .view import stem

_ALIKE, _UNLIKE = 1.1, 1.5
"""Where the last parameter's value is this much larger or smaller, one whose value was much the same is likelier meant."""
_BETWEEN = HEDGES | frozenset(("", *"and to now then or is over by i repeat coming up down at stopped".split()))
_MOST_MACH = 3
_SHORT_SENTENCE = 4
_FAR_SIZE = 30.0
"""A value is taken for the last parameter told in its unit, and for the speaker's last, where it is no more than so many times as large or small."""


class Carrier(Orders):
    """One turn's values that lean on others. asked: parameters that the question before asks for, in order; kept: what is bound so far."""

    def _planned(self, phrase: Phrase, behind: Phrase | None) -> Planned | None:
        words = (*phrase.words, *(behind.words if behind and (behind.contrast or behind.head) else ()))
        found = self.memory.plan.meant(words, phrase.subject) or self.memory.plan.meant(phrase.words, phrase.subject)
        head = phrase.head
        if found is None or head is None or HEADS[head].dimension is None or found.unit is None:
            return found
        theirs = dimension_of(found.unit)
        like = {"ratio": ("volume", "mass"), "mass": ("force",), "force": ("mass",)}.get(HEADS[head].dimension or "", ())
        called = frozenset(stem(word.lower()) for word in phrase.words) in found.names
        own = head in WEAK_HEADS or any(stem(head) in names for names in found.names)
        strong = called or HEADS[head].dimension == theirs or theirs in like or head_word([*phrase.words[:-1]]) == head or (own and len(phrase.words) > 1)
        return found if strong else None

    def _earlier(self, phrase: Phrase) -> Found | None:
        """The latest readout whose parameter holds these words of contrast ('backup' for 'backup bank')."""
        said = {word.lower() for word in phrase.words}
        return next((found for _, found in reversed(self.memory.said) if found.head and said <= {word.lower() for word in found.words}), None)

    def _told_before(self, made: Found, before: Phrase | None) -> Found | None:
        if (made.number.value, made.number.value_high) in self.memory.plan.scales:
            return None
        if self.kept and self.kept[-1].how == SAME_ORDER and (same := self._by_last_list(made)) is not None:
            return same
        if (same := self._by_own_list(made)) is not None:
            return same
        listed = self._list_goes_on(made)
        if listed is None and made.unit is None and self.bare.explain(made.number, self.view):
            return None
        if listed is None and hours_and_minutes(self.view, self.terms.values, made):
            return None
        if listed is None and (height := round_thousands(self.view, made, self.memory)) is not None:
            return height
        alone = (self._alone(made) or made.sort == "limit" or made.unit is not None or "." in made.number.text
                 or made.number.signed or (before is not None and (before.pronoun or before.topic) and before.link == "verb"))
        if listed is not None or not alone:
            return listed or self._bare_list(made)
        return (self._by_topic(made) or self._answer(made) or self._by_noun_before(made) or self._by_last_list(made) or self._by_aim(made)
                or self._carried_or_due(made) or self._by_unit(made) or self._by_step(made) or self._with_point(made)
                or self._bare_decimal(made) or self._bare_list(made) or self._limit_of_last(made))

    def _with_point(self, made: Found) -> Found | None:
        """'Going to three five' where 3.5 was ordered or told a moment ago: digits said without their point; the plain reading is kept."""
        number = made.number
        if number.form != "digits" or made.unit is not None or len(number.text) not in (2, 3) or number.others or number.text.startswith("0"):
            return None
        trial = replace(made, number=replace(number, value=number.value.scaleb(1 - len(number.text)), text=f"{number.text[0]}.{number.text[1:]}",
                                             others=(number.value,)))
        found = self._by_aim(trial) or self._carried(trial)
        return replace(found, doubt=(*found.doubt, "two readings are fair")) if found is not None and found.words else None

    def _by_aim(self, made: Found) -> Found | None:
        """A value of two figures and more that is just what a step of the open card asks for."""
        return self._by_step(made) if made.unit is None and made.number.value_high is None and len(made.number.text) > 1 else None

    def _carried_or_due(self, made: Found) -> Found | None:
        """What was told before; but where the open card asks for one parameter in this unit, and not for the one told before, that one."""
        carried = self._carried(made)
        if carried is None or made.unit is None or carried.planned in self.memory.due:
            return carried
        head = carried.head
        own = HEADS[head].dimension if head is not None else None
        if carried.planned is None and (own is None or own in {dimension_of(name) for name in made.unit.names}):
            return carried
        fits = [item for item in self.memory.due if item.unit in made.unit.names]
        if len({item.what for item in fits}) != 1:
            return carried
        return replace(made, words=tuple(fits[0].what.split()), planned=fits[0], how="what the open card asks for in this unit",
                       doubt=("the parameter is not named",))

    def _by_topic(self, made: Found) -> Found | None:
        """'I have been watching the inverter. It is approaching 140 degrees.'"""
        for phrase in self.terms.topics(made.number.start) if made.sort != "target" else ():
            planned = self._planned(phrase, None)
            trial = Found(made.number, made.end, phrase.words, None, planned=planned)
            if planned is None and {word.lower() for word in phrase.words} <= INSTRUMENTS:
                continue
            if made.unit is None and not self._possible(made, phrase.words):
                continue
            if made.unit is None or (trial.dimension is not None and self._fits(made.unit, trial)):
                return replace(made, words=phrase.words, phrase=phrase, planned=planned, subject=made.subject or phrase.subject,
                               how="what the sentence before is about")
        return None

    def _limit_of_last(self, made: Found) -> Found | None:
        """'Don't let it go under one': a limit of what was told last, however far from it."""
        last = next((found for _, found in self.memory.near(self.view.turn) if found.words), None) if made.sort == "limit" else None
        return replace(made, words=last.words, planned=last.planned, how="what was just told", doubt=("the parameter is carried",),
                       given_unit=last.given_unit) if last is not None else None

    def _bare_decimal(self, made: Found) -> Found | None:
        """'I'm at 3.8': a number with a decimal point is a reading, whatever of."""
        if self.view.words[made.number.start] == "point" and "mach" in self.memory.units.spoken and made.number.value < _MOST_MACH:
            return replace(made, words=("Mach",), how="no parameter named", doubt=("the parameter is not named",))
        signed = made.number.signed and self.view.words[made.number.start - 1:made.number.start] not in (("or",), ("t",))
        return replace(made, how="no parameter named", doubt=("the parameter is not named",)) if "." in made.number.text or signed else None

    def _alone(self, made: Found) -> bool:
        """Little else is said in the clause before the value."""
        start, _ = self._clause(made.number)
        if self.unmarked:
            start = max([start, *(n.end for n in self.terms.values.values() if n.end <= made.number.start)])
        return made.number.start - start <= 3

    def _list_goes_on(self, made: Found) -> Found | None:
        """'eight... ten... twelve', '25, 25, 25', '52 and 31.6'."""
        before = self.kept[-1] if self.kept else None
        if before is None or not (before.words or before.unit):
            return None
        between = self.view.words[before.end:made.number.start]
        between = between[-1:] if self._each_of(made, between) else between
        near = len(between) <= 3 and all(word.strip("-") in _BETWEEN for word in between)
        if not near or (made.unit is not None and not self._same_unit(made.unit, before)):
            return None
        if "over" in between:
            return self._lower_of_pair(made, before)
        if made.unit is None and self._unlike(made, before):
            return replace(made, how="the list goes on", doubt=("which parameter is not said",))
        own = before.unit.names[0] if before.unit is not None and not before.words else before.given_unit if before.how == "the list goes on" else None
        given = own if own is not None and made.unit is None else made.given_unit
        words = before.words or ((quantity,) if (quantity := QUANTITIES.get(dimension_of(given) or "")) else ())
        return replace(made, words=words, planned=before.planned, subject=made.subject or before.subject, how="the list goes on",
                       given_unit=given, doubt=before.doubt)

    def _each_of(self, made: Found, between: tuple[str, ...]) -> bool:
        """'59 on the suit and 48 on the cabin': the same of two things, each named behind its value."""
        behind = self.view.words[made.end:made.end + 1]
        return 3 <= len(between) <= 5 and between[-1] == "and" and between[0] in ("on", "in", "at", "for") and behind == between[:1]

    def _unlike(self, made: Found, before: Found) -> bool:
        """Values of one list that can hardly be of one parameter: far apart, or with and without a decimal point and some way apart."""
        if not made.number.value:
            return False  # 'one... point five... and zero' runs down to nothing
        ratio = self._ratio(made, before)
        return ratio > 20 or (ratio > 5 and ("." in made.number.text) != ("." in before.number.text))

    def _lower_of_pair(self, made: Found, before: Found) -> Found | None:
        """'120 over 80' is one blood pressure, told as two values."""
        if "blood" not in before.words and before.head not in ("systolic", "pressure"):
            return None
        stem = tuple(word for word in before.words if word.lower() != "systolic")
        self.kept[-1] = replace(before, words=(*stem, "systolic"), planned=None)
        return replace(made, words=(*stem, "diastolic"), subject=before.subject, how="the list goes on")

    def _answer(self, made: Found) -> Found | None:
        used = len([found for found in self.kept if found.how == "the question before"])
        left = self.asked[used:] or self.asked[-1:]
        for phrase in left:
            planned = self.memory.plan.meant(phrase.words, made.subject or phrase.subject)
            trial = Found(made.number, made.end, phrase.words, None, planned=planned)
            unknown = phrase.head is None and planned is None
            if made.unit is None or unknown or self._fits(made.unit, trial):
                doubt = () if phrase.head or planned else ("the parameter is carried",)
                return replace(made, words=phrase.words, planned=planned, subject=made.subject or phrase.subject, how="the question before",
                               doubt=doubt)
        return None

    def _carried(self, made: Found) -> Found | None:
        """What this station read out last, else what was just asked to change; by unit and by size."""
        if made.sort == "target":
            return self._ordered(made)
        reached = self._reached(made)
        if reached is not None:
            return reached
        own = [(self.view.turn, found) for found in reversed(self.kept)] + self.memory.own(self.view.turn)
        if made.unit is None and not self.kept and (just := self._just_told(made, own)) is not None:
            return just
        fits = [(turn, found) for turn, found in own if self._could_be(made, found)]
        same = [(turn, found) for turn, found in fits if found.number.value == made.number.value and found.given_unit is not None]
        if made.unit is None and fits and self._ratio(made, fits[0][1]) > _UNLIKE:
            fits = [item for item in fits if self._ratio(made, item[1]) <= _ALIKE] or fits
        for turn, found in same + fits:
            doubt = () if same and "still" in self._words_before(made) else self._carry_doubt(made, found, turn)
            return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject, given_unit=found.given_unit,
                           how="the speaker's last parameter", doubt=doubt)
        due = self._due_of_speaker(made)
        if due is not None:
            return replace(made, words=tuple(due.what.split()), planned=due, how="what the plan asks of this station",
                           doubt=("the parameter is not named",))
        told = [(other, found) for other, found in self.memory.near(self.view.turn) if other.station != self.view.turn.station and found.words]
        if made.unit is None and told and self._ratio(made, told[0][1]) > _ALIKE:
            told = [item for item in told if self._ratio(made, item[1]) <= _ALIKE] or told
        for _, found in told:
            if self._could_be(made, found, order=found.sort != "measured"):
                sure = found.sort != "measured" and not found.doubt and (made.unit or self._ratio(made, found) < 2)
                doubt = () if sure else ("the parameter is carried",)
                return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject,
                               given_unit=found.given_unit, how="what was just told or asked for", doubt=doubt)
        return None

    def _just_told(self, made: Found, own: Sequence[tuple[Turn, Found]]) -> Found | None:
        """What the turn before told, where this station's own last value is long ago and no nearer."""
        turn = self.view.turn
        told = next((found for other, found in self.memory.near(turn, 1) if other.station != turn.station and other.index < turn.index), None)
        fits = next((item for item in own if self._could_be(made, item[1])), None)
        if told is None or fits is None or turn.index - fits[0].index <= NEAR_TURNS or not self._could_be(made, told):
            return None
        if self._ratio(made, told) > max(self._ratio(made, fits[1]), _UNLIKE):
            return None
        return replace(made, words=told.words, planned=told.planned, subject=made.subject or told.subject, given_unit=told.given_unit,
                       how="what was just told or asked for", doubt=("the parameter is carried",))

    def _by_noun_before(self, made: Found) -> Found | None:
        """'Penstock filling. Two bar.', 'Gate's going up. Half.': the short sentence before tells of one thing, whatever it is called."""
        start, _ = self.view.sentence(made.number.start)
        if not start or made.sort == "target":
            return None
        first, last = self.view.sentence(start - 1)
        if last - first > _SHORT_SENTENCE or any(first <= n.start < last for n in self.terms.values.values()):
            return None
        phrase = self.terms.opening(first, last)
        if phrase is None or phrase.end >= last or not phrase.words or phrase.contrast:
            return None
        return replace(made, words=phrase.words, planned=self.memory.plan.meant(phrase.words), subject=made.subject or phrase.subject,
                       how="what the sentence before is about", doubt=("the parameter is carried",))

    def _reached(self, made: Found) -> Found | None:
        """'Climb to sixty feet.' 'Steady at sixty two'; 'roll to five hundred': 'two fifty... three eighty... five hundred': what was just
        ordered, where a value here is as good as the one ordered."""
        for turn, found in self.memory.near(self.view.turn) if made.sort == "measured" and not self.kept else ():
            if found.sort != "target" or not found.words or turn.station == self.view.turn.station or not found.number.value:
                continue
            if made.unit is not None and not self._fits(made.unit, found):
                continue
            if self._near_to(self._last_of_list(made.number), found) and abs(made.number.value) <= abs(found.number.value) * Decimal("1.1"):
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
                if self._could_be(made, found, order=True) and "wind" not in found.words]  # nobody orders the wind
        here = [(self.view.turn, found) for found in reversed(self.kept) if found.sort == "target" and self._could_be(made, found, order=True)]
        for turn, found in here + [item for item in said if item[0].station in called] + said:
            doubt = () if turn.station in called else ("the parameter is carried",)
            return replace(made, words=found.words, planned=found.planned, subject=found.subject, how="what is asked to change", doubt=doubt)
        return replace(made, how="what is asked to change", doubt=("the parameter is not named",)) if made.unit is None else None

    def _carry_doubt(self, made: Found, found: Found, turn: Turn) -> tuple[str, ...]:
        """Carried within a few turns, in the same unit or of much the same size, is clear where the speaker is known."""
        known = self.view.turn.station is not None and (found.head is not None or found.planned is not None or found.given_unit is not None)
        near = self.view.turn.index - turn.index <= NEAR_TURNS * 3
        same_unit = made.unit is None or found.given_unit in made.unit.names
        alike = (made.unit is not None and same_unit) or self._ratio(made, found) < 1.3 or (same_unit and self._tells_one_thing())
        return () if known and near and alike and not found.doubt else ("the parameter is carried",)

    def _tells_one_thing(self) -> bool:
        """Whether this station has only ever read out one parameter ('Bell's down five ... eight ... ten')."""
        return len({found.words for _, found in self.memory.own(self.view.turn)}) == 1

    def _could_be(self, made: Found, found: Found, order: bool = False) -> bool:
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

    def _by_unit(self, made: Found) -> Found | None:
        if made.unit is None:
            return self._unit_of_list(made)
        same = next((found for _, found in reversed(self.memory.said) if found.words and found.given_unit in made.unit.names
                     and "wind" not in found.words and (found.head or found.planned) and (found.planned is None or self._may_be_of(found.planned))), None)
        due = self._due_in_unit(made)
        if due is not None and (same is None or self._ratio(made, same) > NEAR_SIZE):
            return replace(made, words=tuple(due.what.split()), planned=due, how="the plan's only parameter in this unit",
                           doubt=("the parameter is not named",))
        if same is not None:
            return replace(made, words=same.words, planned=same.planned, how="the last parameter in this unit", doubt=("the parameter is not named",))
        return replace(made, how="no parameter named", doubt=("the parameter is not named",))

    def _by_step(self, made: Found) -> Found | None:
        """'Bring it up to one point five': a value that the open card's steps ask for names the card's only parameter in that unit."""
        unit = self.memory.aims.get(made.number.value)
        fits = [item for item in self.memory.due if unit is not None and item.unit == unit]
        quantity = QUANTITIES.get(dimension_of(unit) or "") if unit is not None else None
        doubt = ("the parameter is not named",)
        if len({item.what for item in fits}) == 1:
            return replace(made, words=tuple(fits[0].what.split()), planned=fits[0], how="what the step that asks for this value is about", doubt=doubt)
        if quantity is None:
            return None
        return replace(made, words=(quantity,), given_unit=unit, how="what the step that asks for this value is about", doubt=doubt)

    def _unit_of_list(self, made: Found) -> Found | None:
        """'Coming up, five, ten, twelve metres': the unit of the value that ends the list."""
        ahead = self._unit_ahead(made.number) if not self.kept else None
        due = self._due_in_unit(replace(made, unit=ahead)) if ahead is not None else None
        if due is None:
            return None
        return replace(made, words=tuple(due.what.split()), planned=due, how="the plan's only parameter in this unit",
                       doubt=("the parameter is not named",))

    def _may_be_of(self, item: Planned) -> bool:
        """A parameter that the plan asks of one station is told by that station, or where it is named; by any where nobody knows who speaks."""
        turn = self.view.turn
        stations = {station.name for station in self.memory.plan.session.stations}
        named = {turn.station, turn.addressee, *(mention.station for mention in self.view.names)}
        return turn.station is None or item.subject not in stations or item.subject in named

    def _due_of_speaker(self, made: Found) -> Planned | None:
        """The one parameter that the open card asks of the speaking station."""
        station = self.view.turn.station
        if station is None:
            return None
        fits = [item for item in self.memory.due if item.subject == station and (made.unit is None or item.unit in made.unit.names)]
        return fits[0] if len({item.what for item in fits}) == 1 else None

    def _due_in_unit(self, made: Found) -> Planned | None:
        """The one parameter in this unit that the open card asks for, else the only one of the plan."""
        if made.unit is None:
            return None
        for planned in (self.memory.due, self.memory.plan.planned):
            fits = [item for item in planned if item.unit in made.unit.names and self._may_be_of(item)]
            if len({item.what for item in fits}) == 1:
                return fits[0]
        return None
