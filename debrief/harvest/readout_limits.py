"""Values that bound others, and names as they are put together from the words before and behind a value."""
from dataclasses import replace

from ..records.talk import Number
from .parameter_words import HEADS, WEAK_HEADS
from .plan_book import Planned
from .readout_bounds import told_last
from .readout_found import Found
from .readout_lists import Lists
from .readout_orders import NEAR_SIZE
from .readout_phrases import COUNTED, Phrase, head_word
from .readout_things import same_thing
from .readout_units import spoken_unit
from .readout_words import CONTRASTS

_THINGS_BACK = 30
_BOUNDING = frozenset("above below over under past".split())
_OR_BOUNDING = frozenset(("or", word) for word in _BOUNDING)
_TENS = frozenset("twenty thirty forty fifty sixty seventy eighty ninety".split())


def _tells_apart(phrase: Phrase) -> bool:
    """'for the pull': one word that tells like things apart, though it may name a parameter elsewhere."""
    return len(phrase.words) == 1 and phrase.words[0].lower() in CONTRASTS


class Limits(Lists):
    """One turn's limits, and its values with names of their own."""

    def _other_bound(self, number: Number) -> Found | None:
        """'Heart rate over one fifty or under forty': both are bounds of one thing."""
        last = self.kept[-1] if self.kept else None
        either = last is not None and self.view.words[last.end:number.start] in _OR_BOUNDING
        if last is None or not either or not _BOUNDING & set(self.view.words[last.number.start - 1:last.number.start]):
            return None
        self.kept[-1] = replace(last, sort="limit")
        return replace(last, number=number, end=number.end, sort="limit", phrase=None, how="the list goes on", unit=None,
                       given_unit=last.unit.names[0] if last.unit is not None else last.given_unit)

    def _bound(self, number: Number) -> Found | None:
        """'Tell me if it goes over eighty': a limit of what was told last; none where that was no readout of such a size."""
        last = next(((turn, found) for turn, found in self.memory.near(self.view.turn) if found.words), None)
        made = Found(number, number.end, (), spoken_unit(self.view, number.start, number.end), sort="limit")
        if last is None or self.bare.rates(number) or self._ratio(made, last[1]) > 3:
            return None
        return replace(made, words=last[1].words, planned=last[1].planned, subject=last[1].subject, given_unit=last[1].given_unit,
                       how="what was just told", doubt=("the parameter is carried",))

    def _bound_of(self, made: Found, before: Phrase, behind: Phrase | None, sort: str) -> Found | None:
        """'Limit is two hundred', 'design's twenty six': of what stands behind, of the plan's limit with this value, or of what was just told."""
        planned = [item for item in self.memory.plan.limits if made.number.value in item[1]]
        if behind is not None and behind.head is not None:
            return replace(self._named(made, behind, None, self._planned(behind, None)), sort=sort)
        if len(planned) == 1 and sort == "limit":
            item = planned[0][0]
            return replace(made, words=tuple(item.what.split()), planned=item, sort=sort, how="the plan has this limit")
        last = told_last(made, self.kept, [found for _, found in self.memory.near(self.view.turn)])
        if last is None:
            return replace(made, words=before.words, phrase=before, sort=sort, doubt=("the parameter is not named",))
        return replace(made, words=last.words, planned=last.planned, sort=sort, how="what was just told", doubt=("the parameter is carried",),
                       given_unit=last.given_unit if made.unit is None else None)

    def _limit_of(self, made: Found, before: Phrase, rest: tuple[str, ...]) -> Found:
        """'Casing trips at sixty': a limit of the casing; 'sieve limit is seven point six': of what was told last, where it can be and the words name
        no measure."""
        made = replace(made, sort="limit")
        planned = self.memory.plan.meant(rest, before.subject)
        known = self._known_by(rest) if planned is None and head_word(rest) is None else None
        if known is not None and (made.unit is None or self._fits(made.unit, known)):
            return replace(made, words=known.words, phrase=before, planned=known.planned, subject=before.subject or known.subject, how="told in full before",
                           given_unit=known.given_unit if made.unit is None else None)
        last = told_last(made, self.kept, [found for _, found in self.memory.near(self.view.turn, 2)])
        named = head_word(rest) is not None or planned is not None or (last is not None and bool(set(rest) & set(last.words)))
        if named or last is None or self._ratio(made, last) > NEAR_SIZE:
            return replace(made, words=rest, phrase=replace(before, words=rest, head=head_word(rest)), planned=planned, subject=before.subject)
        return replace(made, words=last.words, planned=last.planned, subject=last.subject, how="what was just told", doubt=("the parameter is carried",),
                       given_unit=last.given_unit if made.unit is None else None)

    def _known_by(self, words: tuple[str, ...]) -> Found | None:
        """The latest value whose name holds all these words: the crosswind of 'crosswind max is ten'."""
        said = {word.lower() for word in words}
        return next((found for found in (*reversed(self.kept), *(found for _, found in reversed(self.memory.said[-_THINGS_BACK:])))
                     if said <= {word.lower() for word in found.words}), None)

    def _named(self, made: Found, phrase: Phrase, behind: Phrase | None, planned: Planned | None) -> Found:
        words = phrase.words
        if behind is not None and (behind.contrast or _tells_apart(behind)) and not set(behind.words) & set(words):
            words = (*words, *behind.words)
            self.used = behind.end
        subject = phrase.subject or (behind.subject if behind is not None else None)
        doubt = ("the parameter stands some words away",) if phrase.link == "far" and planned is None else ()
        found = replace(made, words=words, phrase=phrase, planned=planned, subject=subject, doubt=doubt)
        return same_thing(self.view, found, self.kept[-1] if self.kept else None)

    def _of_another_kind(self, made: Found, behind: Phrase) -> bool:
        """'Start at 2 knots depth under us is 310', written without a mark: knots are of no depth, which is said next."""
        trial = Found(made.number, made.end, behind.words, None)
        return self.unmarked and made.unit is not None and trial.dimension is not None and not self._fits(made.unit, trial)

    def _named_right_behind(self, made: Found, before: Phrase | None, behind: Phrase) -> bool:
        """'Heading's going, five degrees bank': a measure right behind a unit of its kind, where the clause of the value names nothing before it."""
        if made.unit is None or before is None or not before.words or behind.head is None or behind.start != made.end:
            return False
        start, stop = self.view.clause(made.number.start)
        banked = behind.head == "bank" and made.unit.names[0] == "deg"
        strong = HEADS[behind.head].dimension is not None and behind.head not in WEAK_HEADS
        if before.end > start or behind.end > stop or not (strong or banked):
            return False
        return banked or self._fits(made.unit, Found(made.number, made.end, behind.words, None))

    def _thing_of_number(self, phrase: Phrase) -> tuple[str, ...]:
        """'One's six point two', where tank one was told of before: what is told apart by its number alone."""
        if len(phrase.words) != 1 or phrase.words[0].lower() not in COUNTED:
            return ()
        for _, found in reversed(self.memory.said[-_THINGS_BACK:]):
            at = next((i for i, word in enumerate(found.words) if i and (word.lower() in COUNTED or word.isdigit())), None)
            if at is not None and not {word.lower() for word in found.words[:at]} & (CONTRASTS | _TENS):
                return found.words[:at]
        return ()
