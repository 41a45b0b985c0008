"""Binding of values to parameters in one turn: own words first, then what was told before (readout_carry).

Each value leans on less the more it says itself. Grounds that are guesses are kept as doubt, in words a user reads.
"""
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from ..records.talk import Number
from ..units import dimension_of
from .degrees import FULL_CIRCLE
from .mood_words import CHANGES
from .no_values import is_called_step
from .parameter_words import HEADS, INSTRUMENTS, MEASURES, WEAK_HEADS
from .readout_bounds import bound_behind, bound_sort, without_bounds
from .readout_class import asks, bounds, denied, differs, supposed, value_class
from .readout_found import NO_NAME, Found
from .readout_heights import HIGHEST_LEVEL, in_thousands, is_stop, of_the_vehicle, passes, sinks
from .readout_limits import Limits
from .readout_names import joined, one_of
from .readout_pairs import altimeter_setting, blood_pressure, counts_time, orbit
from .readout_phrases import COUNTED, NUMBERED, Phrase, head_word, is_head, is_tag
from .readout_sources import is_source
from .readout_things import distance_from, led_by_preposition, one_thing, opens_clause, read_on, way
from .readout_units import narrowed, spoken_unit
from .readout_warmth import runs_warm
from .readout_wind import is_course, is_wind_from
from .readout_words import AFTER_VALUE, BREAKS, CONTRASTS, READING_VERBS
from .take_backs import MOST_MENDED, corrects, in_place_of, not_taken_back

_BOUNDS, _BEYOND = frozenset("min max minimum maximum".split()), frozenset("above below over under past".split())
_TELLS_VALUE = _BEYOND | frozenset("is at reads to".split())
_TURNED = frozenset("turn turns notch notches click clicks".split())
SIDES = frozenset("left right port starboard front rear forward aft upper lower".split())


def _instrument(phrase: Phrase) -> bool:
    return bool(phrase.words) and {word.lower() for word in phrase.words} <= INSTRUMENTS


class Binder(Limits):
    """One turn's values, in order."""

    def bind(self, numbers: Sequence[Number]) -> list[Found]:
        """Every value that is a readout."""
        for number in numbers:
            found = self._found(number)
            before = self.kept[-1] if self.kept else None
            mends = before is not None and corrects(self.view, before.end, number.start)
            if found is None or self._said_already(found):
                continue
            if before is not None and mends and self._ratio(before, found) <= MOST_MENDED:
                found = in_place_of(self.kept, found, self._alike(before, found))
            self.kept.append(self._class_of_list(before, found))
        return self._units_of_list(self._hedged_pairs(not_taken_back(self.view, self.kept)))

    def _found(self, number: Number) -> Found | None:
        view = self.view
        start, stop = self._clause(number)
        if (other := self._other_bound(number)) is not None or bounds(view, start, number.start):
            return other or self._bound(number)
        if (pair := blood_pressure(self.view, self.terms.values, number) or orbit(self.view, self.terms.values, number)) is not None:
            return pair
        if asks(view, number, (start, stop)) or differs(view, number) or denied(view, start, number.start) or self._repeated(number):
            return None
        if supposed(view, start, number.start) and spoken_unit(view, number.start, number.end) is None:
            return self._bound(number) if view.words[number.start - 1] in _BEYOND else None
        unit = narrowed(spoken_unit(view, number.start, number.end), view, number.start, self.memory.units.spoken, self.memory.before)
        if unit is not None and dimension_of(unit.names[0]) == "time" or unit is None and counts_time(self.view, self.terms.values, number):
            return None
        end = unit.end if unit else number.end
        made = Found(number, end, (), unit, sort=value_class(view, number, start, stop))
        before = self.terms.before(self._low(number), number.start)
        behind = self.terms.behind(end, self._stop(number))
        if unit is None and (self._counts(number, before, behind) or self._wished_zero(number, before, behind)):
            return None
        found = self._checked(self._by_words(made, before, behind))
        return None if found is not None and found.planned is None and self._judged(made) else found

    def _low(self, number: Number) -> int:
        """Where the words of this value may begin: behind the value before, and behind what told that one apart."""
        last = max((n.end for n in self.terms.values.values() if n.end <= number.start), default=0)
        if 0 < last == number.start - 1 and self.view.words[last] in SIDES and set(self.view.words[number.end:number.end + 1]) & SIDES - {self.view.words[last]}:
            last = number.start  # '11 left 13 right'
        unit = self.kept[-1].end if self.kept and self.kept[-1].unit is not None else 0
        if unit > number.start or (unit and not self.view.turn.tokens[unit - 1].ends_clause and self.view.words[unit:unit + 1] != ("and",)):
            unit = 0  # 'oil 62 amps 27', written without commas: the unit names the next value
        return max(last, unit, self.used if self.used <= number.start else 0)

    def _stop(self, number: Number) -> int:
        return min((n for n in self.terms.values if n >= number.end), default=len(self.view.words))

    def _repeated(self, number: Number) -> bool:
        """'... 120 over 80, repeat 120 over 80'."""
        since = next((i for i in range(number.start - 1, -1, -1) if self.view.words[i] in ("repeat", "repeating")), None)
        return since is not None and any(found.number.value == number.value and found.end <= since for found in self.kept)

    def _counts(self, number: Number, before: Phrase | None, behind: Phrase | None) -> bool:
        """'three bolts', 'two divers': a count of things, and no value of an instrument."""
        after = self.view.words[number.end] if number.end < len(self.view.words) else ""
        if number.signed:
            return False
        if _TURNED & set(self.view.words[number.end:number.end + 2]):
            return True
        if self.view.turn.tokens[number.end - 1].ends_clause or not after or after in AFTER_VALUE or after in READING_VERBS or self._leads_on(number):
            return False
        if number.end in self.terms.values or not any(c.isalpha() for c in after) or "." in number.text or after in CONTRASTS:
            return False
        if before is not None and before.head is not None and before.link != "far" and (after in BREAKS or self._stands_at(number)):
            return False
        if self.unmarked and one_of(after) == after and number.value != 1:
            return False  # 'casing 26 31 35 gas is coming up', written without a mark: what follows is said next
        near = range(number.end, min(number.end + 4, len(self.view.words)))
        follows = any(is_head(self.view.words[i], self.memory.plan) for i in near)
        return (behind is None and not follows) or (behind is not None and behind.head is None)

    def _stands_at(self, number: Number) -> bool:
        """'Bank A position is at 225 steps', 'if module pressure goes under 735 close the vent': a number of several figures behind what tells a value."""
        return self.view.words[number.start - 1] in _TELLS_VALUE and (len(number.text) > 2 or number.end - number.start > 1)

    def _leads_on(self, number: Number) -> bool:
        """'Oil temps 62 water 70': the words behind are the name of the next value."""
        for index in range(number.end, min(number.end + 5, len(self.view.words))):
            if index in self.terms.values:
                return index > number.end
            if self.view.turn.tokens[index].ends_clause or (self.view.words[index] in BREAKS and self.view.words[index] not in READING_VERBS):
                return False
        return False

    def _wished_zero(self, number: Number, before: Phrase | None, behind: Phrase | None) -> bool:
        """'I've got zero yaw', 'for zero attitude': a condition wanted or had, in words, and no reading of an instrument."""
        direct = behind is not None and behind.start == number.end and behind.head is not None
        return number.value == 0 and direct and not (before and before.head and before.link in ("verb", "dash"))

    def _by_words(self, made: Found, before: Phrase | None, behind: Phrase | None) -> Found | None:
        """Own words: a known head before, a known head behind, words of contrast, then weaker grounds."""
        if (known := self._by_form(made) or runs_warm(self.view, self.terms, made, before) or self._by_bound(made, before) \
                or distance_from(self.view, self.terms, made, before)) is not None:
            return known
        before = None if before is not None and (self._beyond(made, before) or self._only_orders(made, before)) else before
        if before is not None and before.words and self._asked_of_many(made, before) and (told := self._of_asked(made, before)) is not None:
            return told
        if (read := self._off_instrument(made, before)) is not None:
            return read
        behind = None if behind is not None and _instrument(behind) and not (before and before.words) else behind
        if behind is not None and self._named_right_behind(made, before, behind):
            return self._named(made, behind, None, self._planned(behind, None))
        if before is not None and before.words and not before.contrast:
            planned = self._planned(before, behind)
            if (sort := bound_sort(before.words)) is not None and (planned is None or sort == "limit"):
                return self._bound_of(made, before, behind, sort if made.sort == "measured" else made.sort)
            if before.head is not None or planned is not None:
                return self._named(made, before, behind, planned)
        if behind is not None and (behind.head is not None or self._planned(behind, None)) and self._tells(made, before, behind) \
                and not self._of_another_kind(made, behind):
            self.used = behind.end  # '176 on the heart rate, 200 watts': it names no second value
            return self._named(made, behind, None, self._planned(behind, None))
        if before is not None and before.contrast:
            alone = {word.lower() for word in before.words} <= _BOUNDS and before.start == self.view.sentence(before.start)[0]
            return self._bound_of(made, before, behind, "limit") if alone and before.link == "verb" else self._by_contrast(made, before)
        return self._by_less(made, before, behind)

    def _by_form(self, made: Found) -> Found | None:
        """Values that the words around them name by their form: courses, where the wind is from, stops of an ascent."""
        if made.unit is None and is_course(self.view, made.number, sinks(self.memory)):
            return replace(made, words=("heading",), given_unit="deg", how="")
        if not self.asked and (told := way(self.view, made, self._clause(made.number))) is not None:
            return told
        if made.unit is None and is_wind_from(self.view, made.number):
            return replace(made, words=("wind", "direction"), given_unit="deg", how="")
        if made.unit is None and not self.asked and passes(self.view, made.number, self.memory):
            return replace(made, words=("altitude",), how="", doubt=("two readings are fair",) if made.number.value < HIGHEST_LEVEL else ())
        if made.unit is not None and dimension_of(made.unit.names[0]) == "length" and is_stop(self.view, made.number):
            return replace(made, words=("stop", "depth"), how="")
        return None

    def _by_bound(self, made: Found, before: Phrase | None) -> Found | None:
        """'Casing trips at sixty': a name that ends in a bound."""
        if before is None or made.sort not in ("measured", "limit") or bound_sort(before.words) is not None or self.memory.plan.meant(before.words) is not None:
            return None
        rest = bound_behind(before.words)
        return self._limit_of(made, before, rest) if rest else None

    def _off_instrument(self, made: Found, before: Phrase | None) -> Found | None:
        """'Tape says twenty three': the tape is what it was read off; what is measured was told or asked before."""
        if before is None or not (_instrument(before) or is_source(self.view, before, made.number)) or self.memory.plan.meant(before.words) is not None:
            return None
        told = self._told_before(made, replace(before, words=(), head=None, pronoun=True, link="verb"))
        return replace(told, doubt=told.doubt or ("the parameter is carried",)) if told is not None and told.words else None

    def _by_less(self, made: Found, before: Phrase | None, behind: Phrase | None) -> Found | None:
        """Names without a head that is known: 'thirty five degrees of rudder', words of contrast behind, measures, other nouns."""
        if behind is not None and behind.words and made.unit is not None and self.view.words[made.end:made.end + 1] == ("of",) \
                and (before is None or before.link != "verb" or not before.words):
            return self._named(made, behind, None, None)
        led = bool(self.kept and self.kept[-1].words) or bool(self.asked and self.asked[0].words)
        if behind is not None and behind.contrast and made.unit is None and led and not (before and before.words):
            return self._by_contrast(made, behind)
        if made.unit is not None and self.view.words[made.end:made.end + 1] and self.view.words[made.end] in MEASURES:
            return replace(made, words=(MEASURES[self.view.words[made.end]],), end=made.end + 1, how="the word behind the unit")
        if before is not None and before.words:
            return self._weak(made, before, behind)
        if (read := read_on(self.view, made, behind)) is not None:
            self.used = behind.end if behind is not None else self.used
            return read
        if (same := self._of_it(made, before)) is not None:
            return same
        subject = before.subject if before is not None and before.topic else behind.subject if behind is not None else None
        told = self._told_before(replace(made, subject=subject, phrase=None), before)
        return self._at_place(made, told, behind)

    def _beyond(self, made: Found, before: Phrase) -> bool:
        """'Roll to five hundred': no angle is so large, so the word is a verb here."""
        return before.head is not None and made.unit is None and HEADS[before.head].unit == "deg" and abs(made.number.value) > FULL_CIRCLE

    def _only_orders(self, made: Found, before: Phrase) -> bool:
        """'Ramp to one thousand', 'step alpha is ...', 'sideslips at sixty': the verb of an order, a step, what is done at a speed name no parameter,
        unless the plan has one of that name."""
        words = [word.lower() for word in before.words]
        if before.head is not None and HEADS[before.head].unit == "deg" and words[-1] == f"{before.head}s" and made.unit is None \
                and self.view.words[made.number.start - 1] == "at":
            return True
        called = bool(words) and words[0] in ("step", "card", "item", "point", "run") and len(words) <= 2 and bound_sort(words) is None
        if called and self.memory.plan.meant(before.words) is None:
            return True
        return made.sort == "target" and bool(words) and set(words) <= CHANGES and self.memory.plan.meant(before.words) is None

    def _asked_of_many(self, made: Found, before: Phrase) -> bool:
        """'Motor temps?' 'Azimuth one is thirty one': several things were asked for one measure, and this is one of them."""
        asked = self.asked[0] if len(self.asked) == 1 else None
        last = asked.words[-1].lower() if asked is not None and asked.words else ""
        numbered = any(one.lower().removesuffix("s") == before.head and (two.lower() in COUNTED or two.isdigit()) for one, two in pairwise(before.words))
        other = before.head is not None and before.head not in WEAK_HEADS and before.head not in NUMBERED and not numbered
        return not other and made.unit is None and last.endswith("s") and last.removesuffix("s") in HEADS and before.link != "far" and not before.topic

    def _tells(self, made: Found, before: Phrase | None, behind: Phrase) -> bool:
        """Whether a phrase behind names the parameter: 'on the hose' without a unit only tells where."""
        if self._condition(made, behind):
            return False
        strong = behind.head is not None and HEADS[behind.head].dimension is not None and behind.head not in WEAK_HEADS \
            and self.view.words[made.end] in ("on", "in") and behind.head != "nose"
        place = behind.start > made.end and self.view.words[made.end] in ("on", "at", "in", "from") and not strong
        planned = place and self.view.words[made.end] == "on" and self.memory.plan.meant(behind.words) is not None  # 'I've got 42 on the hot water'
        return (made.unit is not None or not place or planned) and (made.unit is not None or not (before and before.words))

    def _by_contrast(self, made: Found, phrase: Phrase) -> Found | None:
        if made.unit is None and not self.kept and self.bare.explain(made.number, self.view):
            return None
        before = self.kept[-1] if self.kept else None
        if [word.lower() for word in phrase.words] == ["outside"] and (made.unit is None or made.unit.names[0] in ("deg", "C", "F")):
            return replace(made, words=(*phrase.words, "air", "temperature"), phrase=phrase)
        if is_tag(phrase):
            alike = before if before is not None and before.phrase is not None and is_tag(before.phrase) else None
            unit = (before.given_unit or (before.unit.names[0] if before.unit else None)) if alike is not None and before is not None else None
            return replace(made, words=phrase.words, phrase=phrase, given_unit=None if made.unit else unit)
        if (before is None or not before.words) and self.asked and self.asked[0].words:
            head = self.asked[0]
            words = (*self._thing_of_number(phrase), *joined(phrase.words, tuple(one_of(word) for word in head.words), head.head))
            return replace(made, words=tuple(dict.fromkeys(words)), phrase=phrase, planned=self.memory.plan.meant(words, phrase.subject),
                           subject=phrase.subject, how="the question before")
        if before is None or not before.words:
            title = next((item for item in self.terms.topics(made.number.start) if self.view.sentence(item.start) == (item.start, item.end)), None)
            if title is not None and (headed := self._under_heading(made, phrase)) is not None:
                return headed  # 'Exhausts. Port three eighty', whatever else was told of port before
            earlier = self._earlier(phrase)
            if earlier is not None and (made.unit is None or self._fits(made.unit, earlier)):
                return replace(made, words=earlier.words, phrase=phrase, planned=earlier.planned, subject=phrase.subject or earlier.subject,
                               how="told in full before")
            if (headed := self._under_heading(made, phrase)) is not None:
                return headed
            if phrase.link not in ("verb", "dash") and not self._one_of_report(made, phrase) and not self.kept:
                return self._told_before(made, phrase)
            return replace(made, words=(*self._thing_of_number(phrase), *phrase.words), phrase=phrase, doubt=("only a name, no parameter",))
        words = joined(phrase.words, before.words, before.head)
        planned = self.memory.plan.meant(words, phrase.subject) or (before.planned if before.how == "the question before" else None)
        return replace(made, words=words, phrase=phrase, planned=planned, subject=phrase.subject, how="the parameter of the value before",
                       doubt=before.doubt)

    def _under_heading(self, made: Found, phrase: Phrase) -> Found | None:
        """'Seal temps, on my side. Upper eighteen, lower sixteen.', 'Exhausts. Port three eighty': a name said first, and then one by one."""
        head = next(iter(self.terms.topics(made.number.start)), None)
        planned = self._planned(head, None) if head is not None else None
        if head is None or (head.head is None and planned is None) or head.end > phrase.start:
            told = self._by_noun_before(made)
            head = None if told is None else Phrase(0, 0, told.words, head_word(told.words))
        trial = None if head is None else Found(made.number, made.end, head.words, None)
        strange = made.unit is not None and trial is not None and trial.dimension is not None and not self._fits(made.unit, trial)
        if head is None or trial is None or (strange and head.head not in WEAK_HEADS):
            return None
        words = joined(phrase.words, tuple(one_of(word) for word in head.words), head.head)
        return replace(made, words=words, phrase=phrase, planned=self.memory.plan.meant(words, phrase.subject), subject=phrase.subject,
                       how="what the sentence before is about")

    def _weak(self, made: Found, before: Phrase, behind: Phrase | None) -> Found | None:
        """A name without a known head: it needs a reading verb, a unit, or a list around it."""
        listed = (bool(self.kept) and made.number.start - self.kept[-1].end <= 8) or (before.link == "next" and self._report_follows(made, before)) \
            or self._list_opens(made, before) or self._one_of_report(made, before) or self._all_said(made, before) \
            or self._runs_under(made, before)
        if made.unit is None and before.link == "pause" and not listed:
            return self._told_before(made, before)
        if made.unit is None and (self.bare.rates(made.number) or is_called_step(made.number, self.bare.steps, self.view)):
            return None
        asking = not self.kept or self.kept[-1].how == "the question before"
        if asking and (told := self._of_asked(made, before) or self._of_its_like(made, before)) is not None:
            return told
        told_at = self.view.words[made.number.start - 2:made.number.start - 1] and (
            self.view.words[made.number.start - 2] in ("is", "are") or self.view.words[made.number.start - 2].endswith("'s"))
        if made.unit is None and self.view.words[made.number.start - 1] == "at" and made.number.value < 61 and "." not in made.number.text and not listed \
                and made.sort != "limit" and not told_at:
            return None
        strong = before.link in ("verb", "dash") or made.unit is not None or (listed and before.link in ("next", "pause"))
        if not strong and not (before.link in ("next", "pause") and "." in made.number.text):
            return None
        doubt = () if made.unit is not None or listed else (NO_NAME,)
        due = self._due_in_unit(made) if before.link in ("pause", "far") else None
        if due is not None:
            return replace(made, words=tuple(due.what.split()), planned=due, how="the plan's only parameter in this unit",
                           doubt=("the parameter is not named",))
        leans = made.unit is not None and before.link not in ("verb", "dash") and not one_thing(self.view, before)
        if leans and not opens_clause(self.view, before, made.number) and (carried := self._carried(made)) is not None:
            return carried
        side = behind.words if behind is not None and behind.contrast and made.unit is None and set(behind.words) <= SIDES else ()
        self.used = behind.end if side and behind is not None else self.used
        placed = ("only a name, no parameter",) if led_by_preposition(self.view, before) else ()
        return replace(made, words=(*side, *before.words), phrase=before, subject=before.subject, doubt=doubt or placed)

    def _of_its_like(self, made: Found, before: Phrase) -> Found | None:
        """'Bearing three's at forty five', where 'bearing one vibration' was told before: the same of another of the kind."""
        words = [word.lower() for word in before.words]
        if len(words) != 2 or not (words[1] in COUNTED or words[1].isdigit()):
            return None
        like = next((found for _, found in reversed(self.memory.said[-40:]) if len(found.words) > 2 and found.words[0].lower() == words[0]
                     and (found.words[1].lower() in COUNTED or found.words[1].isdigit())), None)
        if like is None or (made.unit is not None and not self._fits(made.unit, like)):
            return None
        return replace(made, words=(*before.words, *like.words[2:]), phrase=before, planned=like.planned, given_unit=like.given_unit,
                       how="told of another of its kind")

    def _of_asked(self, made: Found, before: Phrase) -> Found | None:
        """'Vibration at the bearings?' 'Bearing one twelve': the question tells what is measured, the answer of what."""
        asked = self.asked[0] if self.asked else None
        if asked is None or (asked.head is None and self.memory.plan.meant(asked.words) is None) or set(asked.words) & set(before.words) \
                or bound_sort(asked.words[:1]) is not None:
            return None
        answered = any(self.view.sentence(found.number.start) != self.view.sentence(made.number.start) for found in self.kept)
        if answered and not asked.words[-1].lower().endswith("s"):
            return None  # one thing was asked for, and told a sentence before
        planned = self.memory.plan.meant(asked.words, before.subject)
        trial = Found(made.number, made.end, asked.words, made.unit, planned=planned)
        if made.unit is not None and not self._fits(made.unit, trial):
            return None
        words = asked.words[:1] if asked.head is None else (one_of(asked.head),)
        return replace(made, words=(*before.words, *words), phrase=before, planned=planned, subject=before.subject, how="the question before")

    def _checked(self, found: Found | None) -> Found | None:
        if found is None:
            return None
        if not found.unit and found.number.form == "digits":
            found = self._fair_reading(found)
        plan = self.memory.plan
        found = of_the_vehicle(in_thousands(self.view, found, self.memory), self.memory)
        found = altimeter_setting(without_bounds(self._weakly_named(found)))
        if plan.planned and found.planned is None and not found.how and len(found.words) == 1 and found.words[0].lower() in WEAK_HEADS:
            found = replace(found, doubt=(*found.doubt, "the plan does not know this parameter"))
        bare = replace(found, unit=None)
        if found.unit is not None and found.words and bare.dimension and not self._fits(found.unit, bare) and found.planned is None:
            found = replace(found, doubt=(*found.doubt, "unit and parameter do not belong together"))
        return found

    def _weakly_named(self, found: Found) -> Found:
        """'24 metres of hose': a thing, and not a parameter; where the open card asks for one parameter in that unit, it is that one."""
        if found.unit is None or found.planned is not None or found.how or len(found.words) != 1 or found.words[0].lower() not in WEAK_HEADS:
            return found
        fits = [item for item in self.memory.due if item.unit in found.unit.names]
        if len({item.what for item in fits}) != 1:
            return found
        return replace(found, words=tuple(fits[0].what.split()), planned=fits[0], doubt=("the parameter is told by the open card",))

    def _fair_reading(self, found: Found) -> Found:
        """Of two fair readings the one near the same parameter's last value."""
        same = [old for _, old in reversed(self.memory.said[-40:]) if found.words and (
            old.words == found.words or (old.planned is not None and old.planned == found.planned) or (
                old.words and old.words[-1:] == found.words[-1:] and len(old.words) > len(found.words)))]
        last = same[0] if same else None
        options = (found.number.value, *found.number.others)
        if any("." in old.number.text for old in same[:3]) and len(found.number.text) in (2, 3, 4) and not found.number.text.startswith("0"):
            options += tuple(found.number.value.scaleb(-places) for places in range(1, len(found.number.text)))
        if last is None or not last.number.value:
            return found
        best = min(options, key=lambda value: abs(float(value / last.number.value) - 1) if value else 9.0)
        near, far = (self._ratio(replace(found, number=replace(found.number, value=value)), last) for value in (best, found.number.value))
        if best == found.number.value or near > 1.5 or far < 3:
            return found
        others = tuple(value for value in options if value != best)
        return replace(found, number=replace(found.number, value=best, others=others), doubt=(*found.doubt, "two readings are fair"))

    def _alike(self, before: Found, found: Found) -> bool:
        return found.words == before.words or bool(found.how) or not found.words or before.head == found.head
