"""Values that name nothing themselves: the list that goes on, what the sentence is about, the question asked, what was told before.

Each ground that is a guess is kept as doubt, in words a user reads.
"""
from dataclasses import replace

from ..units import dimension_of
from .parameter_words import HEADS, INSTRUMENTS, WEAK_HEADS
from .plan_book import GENERIC, Planned
from .readout_bounds import bound_sort, told_last
from .readout_found import BY_UNIT, Found
from .readout_heights import is_height, round_thousands
from .readout_names import QUANTITIES
from .readout_orders import NEAR_SIZE, SAME_ORDER
from .readout_pairs import hours_and_minutes
from .readout_phrases import Phrase, head_word
from .readout_running import Running
from .readout_things import of_place, other_quantity
from .readout_words import DETERMINERS, HEDGES
from .view import stem

_BETWEEN = HEDGES | frozenset(("", *"and to from now then or is was over by i repeat coming up down at stopped".split()))
_MOST_MACH, _MOST_MARK, _OTHER = 3, 10, 5
_TIMES = (("minute",), ("hour",))
_WHEN, _STATES = frozenset("by at to through before until".split()), frozenset("full half no zero max maximum idle rated part".split())
_UNLIKE = 2
_IT, _MOST_BEFORE_IT = frozenset("it it's they they're".split()), 3
_SHORT_SENTENCE, _LONG_SENTENCE = 4, 6
"""Sentences that name what the next one tells of are as short as this; where it says 'it', a little longer."""


class Carrier(Running):
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
        if (made.number.value, made.number.value_high) in self.memory.plan.scales or self._judged(made):
            return None
        if self.kept and self.kept[-1].how == SAME_ORDER and (same := self._by_last_list(made)) is not None:
            return same
        if (same := self._by_own_list(made) or other_quantity(self.view, made, self.kept[-1] if self.kept else None)) is not None:
            return same
        listed = self._list_goes_on(made)
        if listed is None and made.unit is None and self.bare.explain(made.number, self.view):
            return None
        if listed is None and hours_and_minutes(self.view, self.terms.values, made):
            return None
        other = bool(self.asked) and not is_height(self.asked[0].words)
        if listed is None and not other and (height := round_thousands(self.view, made, self.memory)) is not None:
            return height
        alone = (self._alone(made) or made.sort == "limit" or made.unit is not None or "." in made.number.text
                 or made.number.signed or (before is not None and (before.pronoun or before.topic) and before.link == "verb"))
        if listed is not None or not alone:
            return listed or self._bare_list(made)
        return (self._by_topic(made) or self._answer(made) or self._by_noun_before(made, before) or self._by_last_list(made) or self._by_aim(made)
                or self._by_pointed_aim(made)
                or self._carried_or_due(made) or self._by_unit(made) or self._by_step(made) or self._by_rate(made) or self._with_point(made)
                or self._bare_decimal(made) or self._bare_list(made) or self._limit_of_last(made))

    def _judged(self, made: Found) -> bool:
        """'I'd say a six': a mark that somebody gives, and no reading of what was told last."""
        number = made.number
        article = self.view.words[number.start - 1:number.start] in (("a",), ("an",))
        return article and made.unit is None and number.form in ("cardinal", "figures") and "." not in number.text and 0 <= number.value <= _MOST_MARK

    def _condition(self, made: Found, behind: Phrase) -> bool:
        """'Forty five by full current', 'six fifty at full load', 'not below one eighty for the bank': when or what for, and no name."""
        led = self.view.words[made.end] if behind.start > made.end else ""
        when = led in _WHEN or (led == "for" and made.sort in ("limit", "target"))
        return when and (made.unit is None or bool(_STATES & {word.lower() for word in behind.words}))

    def _at_place(self, made: Found, told: Found | None, behind: Phrase | None) -> Found | None:
        """What is told with the place behind it, whose words then name no other value."""
        found = of_place(self.view, made, told, behind, self.memory.said)
        self.used = behind.end if behind is not None and found is not told else self.used
        return found

    def _with_point(self, made: Found) -> Found | None:
        """'Going to three five' where 3.5 was ordered or told a moment ago: digits said without their point; the plain reading is kept."""
        number = made.number
        if number.form != "digits" or made.unit is not None or len(number.text) not in (2, 3) or number.others or number.text.startswith("0"):
            return None
        trial = replace(made, number=replace(number, value=number.value.scaleb(1 - len(number.text)), text=f"{number.text[0]}.{number.text[1:]}",
                                             others=(number.value,)))
        found = self._by_aim(trial) or self._carried(trial)
        return replace(found, doubt=(*found.doubt, "two readings are fair")) if found is not None and found.words else None

    def _by_pointed_aim(self, made: Found) -> Found | None:
        """'Going to three five' where a step of the open card asks for 3.5; the plain reading is kept."""
        number = made.number
        if number.form != "digits" or made.unit is not None or len(number.text) != 2 or number.others or number.text.startswith("0"):
            return None
        found = self._by_aim(replace(made, number=replace(number, value=number.value.scaleb(-1), text=f"{number.text[0]}.{number.text[1]}",
                                                          others=(number.value,))))
        return replace(found, doubt=(*found.doubt, "two readings are fair")) if found is not None and found.words else None

    def _by_aim(self, made: Found) -> Found | None:
        """A value of two figures and more that is just what a step of the open card asks for."""
        return self._by_step(made) if made.unit is None and made.number.value_high is None and len(made.number.text) > 1 else None

    def _carried_or_due(self, made: Found) -> Found | None:
        """What was told before; but where the open card asks for one parameter in this unit, and not for the one told before, that one."""
        if made.unit is not None and "/" in made.unit.names[0] and (rate := self._by_rate(made)) is not None:
            return rate  # the plan's only rate, whatever was ordered or told last
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
            if planned is None and (sort := bound_sort(phrase.words)) is not None:  # 'The limit there is forty': of what was told last
                return self._bounds_last(made, sort)
            trial = Found(made.number, made.end, phrase.words, None, planned=planned)
            if planned is None and {word.lower() for word in phrase.words} <= INSTRUMENTS:
                continue
            if made.unit is None and not self._possible(made, phrase.words):
                continue
            if made.unit is None or (trial.dimension is not None and self._fits(made.unit, trial)):
                return replace(made, words=phrase.words, phrase=phrase, planned=planned, subject=made.subject or phrase.subject,
                               how="what the sentence before is about")
        return None

    def _of_it(self, made: Found, before: Phrase | None) -> Found | None:
        """'Pads show eleven millimetres, before it was eleven point five', 'it was on sixty percent, it's at zero now': it is what was just told of."""
        last = self.kept[-1] if self.kept else None
        if before is None or not before.pronoun or self.view.words[before.start] not in _IT or last is None or not last.words or made.sort == "target":
            return None
        if any(token.ends_clause for token in self.view.turn.tokens[before.start:made.number.start]):
            return None  # 'it's dropping, sixteen'
        between = self.view.words[last.end:before.start]
        if len(between) > _MOST_BEFORE_IT or last.sort == "limit" or (made.unit is not None and not self._same_unit(made.unit, last)):
            return None
        return replace(made, words=last.words, planned=last.planned, subject=made.subject or last.subject, given_unit=last.given_unit,
                       how="the parameter of the value before", doubt=last.doubt)

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
        if before.how == "the question before" and len(self.asked) == len(self.terms.values) > len(self.kept) and self._ratio(made, before) > _UNLIKE:
            return None  # 'Temperature and sugar?' '36.8 and 7.4': as many were asked for as are told
        between = self.view.words[before.end:made.number.start]
        between = between[-1:] if self._each_of(made, between) else between
        near = len(between) <= 3 and all(word.strip("-") in _BETWEEN for word in between)
        if not near or (made.unit is not None and not self._same_unit(made.unit, before)):
            return None
        if "over" in between:
            return self._lower_of_pair(made, before)
        if made.unit is not None and before.unit is None and before.given_unit is None and before.planned is None and self._ratio(made, before) > _OTHER:
            return None  # 'specific gravity twelve fifty, seventy eight percent'
        if made.unit is None and self._unlike(made, before):
            return replace(made, how="the list goes on", doubt=("which parameter is not said",))
        own = before.unit.names[0] if before.unit is not None and not before.words else before.given_unit if before.how == "the list goes on" else None
        given = own if own is not None and made.unit is None else made.given_unit
        words = before.words or ((quantity,) if (quantity := QUANTITIES.get(dimension_of(given) or "")) else ())
        return replace(made, words=words, planned=before.planned, subject=made.subject or before.subject, how="the list goes on",
                       given_unit=given, doubt=before.doubt if before.words or not words else (*before.doubt, BY_UNIT))

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
            if (sort := bound_sort(phrase.words)) is not None:  # 'What's your alarm?' 'Five twenty': of what was told before
                return self._bounds_last(made, sort)
            planned = self.memory.plan.meant(phrase.words, made.subject or phrase.subject)
            trial = Found(made.number, made.end, phrase.words, None, planned=planned)
            unknown = phrase.head is None and planned is None
            if made.unit is None or unknown or self._fits(made.unit, trial):
                doubt = () if phrase.head or planned else ("the parameter is carried",)
                return replace(made, words=phrase.words, planned=planned, subject=made.subject or phrase.subject, how="the question before",
                               doubt=doubt)
        return None

    def _bounds_last(self, made: Found, sort: str) -> Found | None:
        """A bound that names nothing is of what was told last."""
        last = told_last(made, self.kept, [found for _, found in self.memory.near(self.view.turn)])
        return replace(made, words=last.words, planned=last.planned, sort=sort, how="what was just told", doubt=("the parameter is carried",),
                       given_unit=last.given_unit if made.unit is None else None) if last is not None else None

    def _by_noun_before(self, made: Found, before: Phrase | None = None) -> Found | None:
        """'Penstock filling. Two bar.', 'Gate's going up. Half.': the short sentence before tells of one thing, whatever it is called."""
        start, _ = self.view.sentence(made.number.start)
        if not start or made.sort == "target":
            return None
        first, last = self.view.sentence(start - 1)
        pronoun = before is not None and before.pronoun and self.view.words[before.start:before.end] in (("it",), ("it's",), ("that's",))
        if last - first > (_LONG_SENTENCE if pronoun else _SHORT_SENTENCE) or any(first <= n.start < last for n in self.terms.values.values()):
            return None
        phrase = self.terms.opening(first, last)
        if phrase is None or (phrase.end >= last and not pronoun) or not phrase.words or phrase.contrast:
            return None
        return replace(made, words=phrase.words, planned=self.memory.plan.meant(phrase.words), subject=made.subject or phrase.subject,
                       how="what the sentence before is about", doubt=("the parameter is carried",))

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
        return self._by_rate(made) or self._by_sentence(made) or replace(made, how="no parameter named", doubt=("the parameter is not named",))

    def _by_rate(self, made: Found) -> Found | None:
        """'Zero point zero four in the minute': the plan's only rate."""
        behind = self.view.words[made.end:made.end + 3]
        timed = behind[:1] in (("a",), ("per",)) and behind[1:2] in _TIMES or behind[:2] in (("in", "the"), ("in", "a")) and behind[2:] in _TIMES
        rate = made.unit is not None and "/" in made.unit.names[0] or (timed and (made.unit is not None or "." in made.number.text))
        fits = [item for item in self.memory.plan.planned if "rate" in item.what.lower().split() and item.unit not in ("bpm", "/min")] if rate else []
        if made.unit is not None and "/" in made.unit.names[0]:
            fits = [item for item in fits if item.unit is None or dimension_of(item.unit) == dimension_of(made.unit.names[0])]
        if len({item.what for item in fits}) != 1:
            return None
        return replace(made, words=tuple(fits[0].what.split()), planned=fits[0], how="what the plan asks of this station",
                       doubt=("the parameter is not named",))

    def _by_sentence(self, made: Found) -> Found | None:
        """'Your right airbrake looks like it's not flush. Maybe a centimetre up.': what the sentence before opens with."""
        start, _ = self.view.sentence(made.number.start)
        if not start or made.sort == "target":
            return None
        first, last = self.view.sentence(start - 1)
        phrase = self.terms.opening(first, last) if self.view.words[first] in DETERMINERS else None
        if phrase is None or phrase.contrast or phrase.end >= last or not phrase.words or any(first <= n.start < last for n in self.terms.values.values()):
            return None
        return replace(made, words=phrase.words, subject=made.subject or phrase.subject, how="what the sentence before is about",
                       doubt=("the parameter is carried",))

    def _by_step(self, made: Found) -> Found | None:
        """'Bring it up to one point five': a value that the open card's steps ask for names the card's only parameter in that unit."""
        aim = self.memory.aims.get(made.number.value)
        unit = aim.unit if aim is not None else None
        fits = [item for item in self.memory.due if unit is not None and item.unit == unit]
        if aim is not None:  # 'tank to 20 kPa' names the tank's pressure, where the cabin's is told in kPa too
            fits = [item for item in fits if any(names & aim.words - GENERIC for names in item.names)] or fits
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

    def _due_in_unit(self, made: Found) -> Planned | None:
        """The one parameter in this unit that the open card asks for, else the only one of the plan."""
        if made.unit is None:
            return None
        for planned in (self.memory.due, self.memory.plan.planned):
            fits = [item for item in planned if item.unit in made.unit.names and self._may_be_of(item)]
            if len({item.what for item in fits}) == 1:
                return fits[0]
        return None
