"""Values of one turn beside each other: lists with a unit or a class in common, one reading told as two values, values told twice."""
from dataclasses import replace
from decimal import Decimal
from functools import cached_property

from .parameter_words import SETTABLE
from .readout_carry import Carrier
from .readout_found import NO_NAME, Found
from .readout_phrases import COUNTED, Phrase
from .readout_things import WAYS
from .readout_units import spoken_unit
from .readout_words import FILLERS, READING_VERBS

LEAST_SOLID = 13
"""Smaller whole numbers behind a name may number a thing or rate it."""


_SETTING, _FORETOLD = 7, frozenset("expect expected predicted prediction forecast sun going estimate estimated plot model curve theory calculation "
                                   "calculations sums".split())
"""What can be set is asked for by 'should be' and 'will be', but not where it is foretold."""


class Lists(Carrier):
    """What is told by its place beside other values."""

    @cached_property
    def report(self) -> bool:
        """'Gas is 23, air 17': the turn reads out several things, each by a name of its own; then a name is enough, whatever it names."""
        names, solid, low = set(), 0, 0
        for number in sorted(self.terms.values.values(), key=lambda n: n.start):
            phrase = self.terms.before(low, number.start)
            if phrase is not None and phrase.words and phrase.link != "far":
                names.add(tuple(word.lower() for word in phrase.words))
                large = number.value >= LEAST_SOLID or number.signed or "." in number.text
                solid += large or phrase.head is not None or spoken_unit(self.view, number.start, number.end) is not None
            low = number.end
        return len(names) >= 2 and 2 * solid >= len(self.terms.values)

    def _one_of_report(self, made: Found, before: Phrase) -> bool:
        number = made.number
        solid = number.value >= LEAST_SOLID or number.signed or "." in number.text or before.link == "verb" or before.head is not None
        return solid and before.link != "far" and self.report

    def _all_said(self, made: Found, before: Phrase) -> bool:
        """'Tether three ten.', 'choke 35 now 40': a name and its value, or values, are all that the sentence says."""
        start, _ = self.view.sentence(made.number.start)
        named = {i for mention in self.view.names for i in range(mention.start, mention.end)}
        lead = [i for i in range(start, before.start) if i not in named and self.view.words[i] not in FILLERS]
        after = self.view.words[made.number.end:made.number.end + 1]
        ends = self.view.turn.tokens[made.number.end - 1].ends_clause or not after or after[0] in ("now", "and", "even", "flat", "steady")
        return before.link == "next" and not lead and ends and made.number.value >= LEAST_SOLID and made.unit is None

    def _units_of_list(self, kept: list[Found]) -> list[Found]:
        """'Stack A is 6.8, B 7.1, and C 6.9 amps': the unit said with the last of a list goes with those before it."""
        made = list(kept)
        for index in range(len(made) - 1, 0, -1):
            one, two = made[index - 1], made[index]
            name = two.unit.names[0] if two.unit is not None else two.given_unit if two.phrase is not None and one.unit is None else None
            alike = two.how in ("the parameter of the value before", "the list goes on") and self._ratio(one, two) <= 3
            if name and alike and one.unit is None and one.given_unit is None and one.dimension is None and not set(one.words) <= WAYS \
                    and self.view.sentence(one.number.start) == self.view.sentence(two.number.start):
                made[index - 1] = replace(one, given_unit=name, doubt=tuple(text for text in one.doubt if text != NO_NAME))
        return made

    def _class_of_list(self, before: Found | None, found: Found) -> Found:
        """'attitude will be pitch ten, yaw forty-five': what the first value of a sentence is, the next ones are; what can be set is a target."""
        sort = found.sort
        if before is not None and sort == "measured" and before.sort in ("target", "forecast", "plan") \
                and self.view.sentence(before.number.start) == self.view.sentence(found.number.start) and not self._verb_between(before, found):
            sort = before.sort
        if sort == "measured" and before is not None and before.sort == "limit" and self.view.words[before.end:before.end + 1] == ("or",):
            sort = "limit"  # 'finger below eight or core under thirty six'
        if sort == "measured" and before is not None and before.sort == "limit" and self._of_limits(before, found):
            sort = "limit"
        said = self.view.words[max(0, found.number.start - _SETTING):found.number.start]
        if sort == "forecast" and found.head is not None and found.head in SETTABLE and not _FORETOLD & set(said):
            sort = "target"
        return replace(found, sort=sort)

    def _of_limits(self, before: Found, found: Found) -> bool:
        """'Trial limits are two and a half metres and thirty knots': several are told in one sentence."""
        start, stop = self.view.sentence(before.number.start)
        return start <= found.number.start < stop and not self._verb_between(before, found) \
            and bool({"limits", "criteria", "minimums"} & set(self.view.words[start:before.number.start]))

    def _verb_between(self, before: Found, found: Found) -> bool:
        between = self.view.words[before.end:found.number.start]
        return bool((READING_VERBS | {"so", "but"}) & set(between)) or any(word.endswith("'s") for word in between)

    def _hedged_pairs(self, kept: list[Found]) -> list[Found]:
        """'three, three and a half', 'thirteen, fourteen, it's jumping about': one reading told between two values."""
        made: list[Found] = []
        for found in kept:
            last = made[-1] if made else None
            if last is not None and self._one_between_two(last, found):
                number = replace(last.number, value_high=found.number.value)
                made[-1] = replace(last, number=number, end=found.end, unit=found.unit or last.unit)
            else:
                made.append(found)
        return made

    def _one_between_two(self, last: Found, found: Found) -> bool:
        close = (last.unit is None or found.unit is None) and found.how == "the list goes on" and last.number.value_high is None and found.number.value_high is None
        step = found.number.value - last.number.value
        words = [word for word in self.view.words[last.end:found.number.start] if word]
        if any(n.start >= found.end and n.start - found.end <= 1 for n in self.terms.values.values()) or \
                any(n.end <= last.number.start and last.number.start - n.end <= 1 for n in self.terms.values.values()):
            return False  # three and more side by side are a list
        comma = self.view.turn.tokens[last.end - 1].text.endswith(",") or words == ["or"]
        close = close and self._ratio(last, found) <= 1.5
        close = close and comma and not set(words) - {"or", "maybe", "perhaps"}
        return close and 0 < step <= max(Decimal(1), abs(last.number.value) / 10) and len(self.terms.values) <= 4

    def _runs_under(self, made: Found, before: Phrase) -> bool:
        """'Casing 26 31 35': a name that opens a sentence, with values in one breath behind it."""
        opens = before.start == self.view.sentence(before.start)[0]
        return opens and before.link == "next" and made.number.end in self.terms.values and made.number.value >= LEAST_SOLID

    def _report_follows(self, made: Found, before: Phrase) -> bool:
        """'Hot water three nine at the manifold, flow's fourteen': a name that opens a sentence, in a turn that reads out further values."""
        opens = before.start == self.view.sentence(before.start)[0] or self.view.turn.tokens[before.start - 1].ends_clause
        others = [n for n in self.terms.values.values() if n.start > made.number.start]
        return opens and made.number.value >= 10 and any(spoken_unit(self.view, n.start, n.end) for n in others)

    def _list_opens(self, made: Found, before: Phrase) -> bool:
        """'Quad A, 87. B's 88, C 90': the first of a list whose next values are told apart by a letter or a number alone."""
        tag = before.words[-1].lower()
        after = sorted((n.start, n.end) for n in self.terms.values.values() if n.start >= made.end)[:2]
        if len(after) < 2 or len(before.words) < 2 or not (len(tag) == 1 or tag in COUNTED or tag.isdigit()) or self.kept:
            return False
        phrases = [self.terms.before(low, at) for low, at in ((made.end, after[0][0]), (after[0][1], after[1][0]))]
        return all(phrase is not None and phrase.contrast for phrase in phrases)

    def _said_already(self, found: Found) -> bool:
        """Said twice in one turn counts once; 'going to three five ... and three point five' is ordered, then reached."""
        for old in self.kept:
            if (old.sort, found.sort) == ("target", "measured"):
                continue
            same = old.number.value == found.number.value and old.number.value_high == found.number.value_high
            if same and (old.words == found.words or set(found.words) <= set(old.words)) and old.subject == found.subject \
                    and not self._one_of_list(old, found):
                return True
        return False

    def _one_of_list(self, old: Found, found: Found) -> bool:
        """'25, 25, 25' and '0.2 and 0.2' are several bearers with one value; '81, 81' is one value, told twice."""
        between = [word for word in self.view.words[old.end:found.number.start] if word]
        if old.unit is not None or found.unit is not None or found.how != "the list goes on" or between not in ([], ["and"]):
            return False
        equal = [n for n in self.terms.values.values() if n.value == old.number.value and abs(n.start - found.number.start) <= 3]
        return between == ["and"] or len(equal) >= 3
