"""Which words name the parameter of a value: a noun phrase before it (across a reading verb, a dash, a comma) or behind it.

Nothing here is a list of phrases: a phrase is a run of content words, cut at clause ends, closed-class words and other values. Known
heads (parameter_words), lexicon terms and the plan's own words rank phrases; they never supply a value.
"""
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from ..records.talk import Number
from ..units import read_unit
from .parameter_words import HEADS, WEAK_HEADS
from .plan_book import PlanBook
from .readout_deeds import LED_BY_VERB, is_deed, is_done_by, is_tool
from .readout_words import BREAKS, CONTRASTS, DASHES, DETERMINERS, FILLERS, HEDGES, MODALS, NOUNS_IN_ING, PREPOSITIONS, PRONOUNS, READING_VERBS, SIDES, SMALL_LINKS
from .view import View, stem

Link = Literal["verb", "dash", "next", "pause", "behind", "far"]
MOST_WORDS = 6
_ACRONYM = re.compile(r"[A-Z]{2}")
"""'HA', 'HP': a name of its own, and no letter that tells like things apart."""
FAR_WORDS = 12


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words that name a parameter, over tokens [start, end); may be none, where only a subject or a pronoun stands there.

    head: the known head among the words; link: how the value hangs on them; subject: a station named in the phrase, possessive or
    behind a preposition; topic: the phrase is that station's name alone; pronoun: 'it', 'we're' stand for what was told before.
    """

    start: int
    end: int
    words: tuple[str, ...]
    head: str | None = None
    link: Link = "next"
    subject: str | None = None
    topic: bool = False
    pronoun: bool = False

    @property
    def contrast(self) -> bool:
        """Whether the words only tell one of several like things ('right', 'number two', '2B')."""
        return bool(self.words) and self.head is None and all(
            word.lower() in CONTRASTS or len(word) <= 2 and not _ACRONYM.fullmatch(word) or word[0].isdigit() or word.lower() in COUNTED
            for word in self.words)


NUMBERED = frozenset("bearing".split())
"""Heads that with a number behind them are things, and measure nothing ('bearing three')."""
COUNTED = frozenset("zero one two three four five six seven eight nine ten eleven twelve".split())


def is_tag(phrase: Phrase) -> bool:
    """'T five', 'P two': a letter and a number, which together are the name of one gauge."""
    one = phrase.words[0] if len(phrase.words) == 2 else ""
    return len(one) == 1 and one.isupper() and (phrase.words[1].lower() in COUNTED or phrase.words[1].isdigit())


def is_head(word: str, plan: PlanBook) -> bool:
    """A known head, alone or plural, or a word of a planned parameter."""
    plain = word.lower().removesuffix("'s")
    return plain in HEADS or plain.removesuffix("s") in HEADS or stem(plain) in plan.words


_MEASURES_OF_TWO = {("delta", "v"): "delta-v", ("heart", "rate"): "pulse"}
"""Measures of two words, by the head that tells what they are told in."""


def head_word(words: Sequence[str]) -> str | None:
    """The known head in a parameter's name: the last strong one ('pressure'), else the last weak one ('tank'), as HEADS spells it."""
    weak = None
    numbered = {i for i in range(len(words) - 1) if words[i].lower().removesuffix("s") in NUMBERED
                and (words[i + 1].lower() in COUNTED or words[i + 1].isdigit())}
    for one, two in pairwise(words):
        if (one.lower(), two.lower()) in _MEASURES_OF_TWO:
            return _MEASURES_OF_TWO[one.lower(), two.lower()]
    for index in range(len(words) - 1, -1, -1):
        word = words[index]
        if index in numbered or (words[index].lower() in NUMBERED and index < len(words) - 1):
            continue
        plain = word.lower() if word.lower() in HEADS else word.lower().removesuffix("s")
        if plain in HEADS and plain not in WEAK_HEADS:
            return plain
        weak = weak or (plain if plain in HEADS else None)
    return weak


_BE = frozenset("is are was were it's we're i'm they're he's she's been got".split())
_STATED = frozenset("full empty warm cool fast slow quick heavy tight loose stiff rough smooth".split())
_SEEMS = frozenset("running getting looks feels seems going".split())
_WHICH = frozenset("last next this that other each good big first same".split())
_DONE = re.compile(r"[a-z]{2}[^e\W]ed$")
_JUDGED = frozenset("low high up down warm hot cool slow fast heavy light".split())
_A_BIT = tuple(("a", word) for word in ("bit", "little", "touch", "tad", "shade", "hair"))
"""'Oil pressure's a bit low at 38': what is thought of the value, between its name and it."""
_MODAL_VERBS = frozenset("be read show have".split())


class TurnTerms:
    """The phrases of one turn. named: the numbers that are names, by their first token (they may stand in a phrase)."""

    def __init__(self, view: View, plan: PlanBook, named: Mapping[int, Number], values: Mapping[int, Number]) -> None:
        self.view, self.plan, self.named, self.values = view, plan, named, values
        self._named_at = {i for n in named.values() for i in range(n.start, n.end)}
        self._value_at = {i for n in values.values() for i in range(n.start, n.end)}

    def before(self, low: int, at: int) -> Phrase | None:
        """The phrase in tokens [low, at) on which a value that starts at token at hangs."""
        index, link = self._skip_links(low, at)
        if self.view.words[max(low, index - 2):index] in (("make", "it"), ("make", "that"), ("call", "it")):
            index, link = self._skip_links(low, index - 2)
        if index > low and self.view.words[index - 1] in PRONOUNS and index - 1 not in self._named_at and not self._numbered(low, index - 1):
            return Phrase(index - 1, index, (), link=link, pronoun=True)
        if index <= low or self._ends_sentence(index - 1):
            return None
        start, words = self._back(low, index)
        found = self._made(start, index, words, link) if words else None
        found = self._with_preposition(low, found) if found else None
        if found is not None and found.contrast and found.words:
            lead = self._far(max(low, found.start - 4), found.start)
            if lead is not None and lead.end == found.start:
                return Phrase(lead.start, found.end, (*lead.words, *found.words), lead.head, link, lead.subject or found.subject)
        if found is None or (found.head is None and not found.topic and not found.contrast and self.plan.meant(found.words) is None):
            far = self._far(low, found.start if found else index)
            own = found is not None and far is not None and self._in_other_clause(far, found)
            found = far if far is not None and not own and (found is None or link == "verb") else found
        return self._with_noun(found) if found is not None else None

    def _in_other_clause(self, far: Phrase, found: Phrase) -> bool:
        """'Cabin's five on pressure, PPO2 is 3.6': what stands in the clause of the value tells of it."""
        return far.end <= found.start and not self.view.turn.tokens[found.end - 1].ends_clause and any(
            token.ends_clause for token in self.view.turn.tokens[far.end - 1:found.start])

    def _with_noun(self, found: Phrase) -> Phrase:
        """'Tuyere seven's water is up. Seven's reading forty one': the number of a thing named before."""
        word = found.words[0].lower() if len(found.words) == 1 else ""
        if word not in COUNTED or not self.view.words[found.start].endswith("'s"):
            return found
        for index in range(found.start - 1, 0, -1):
            named = self.view.words[index].removesuffix("'s") == word and index not in self._value_at and self._content(index - 1)
            if named and not self.view.turn.tokens[index - 1].ends_clause and self.view.words[index - 1] not in COUNTED | CONTRASTS:
                words = (self._plain(index - 1), *found.words)
                return Phrase(found.start, found.end, words, head_word(words), found.link, found.subject)
        return found

    def _numbered(self, low: int, index: int) -> bool:
        """'Pump one's down to ...': not the pronoun, but the number of a thing."""
        return self.view.words[index] == "one's" and index > low and self._content(index - 1) and self.view.words[index - 1] not in CONTRASTS

    def ending(self, low: int, end: int) -> Phrase | None:
        """The phrase whose last word stands right before token end, whatever ends there."""
        start, kept = self._back(low, end)
        found = self._made(start, end, kept, "next") if kept else None
        return self._with_preposition(low, found) if found is not None and found.words else None

    def opening(self, start: int, stop: int) -> Phrase | None:
        """The words that open a sentence over tokens [start, stop) and name what it tells of."""
        while start < stop and self.view.words[start] in DETERMINERS | FILLERS:
            start += 1
        end = start
        while end < stop and end not in self._value_at and (end in self._named_at or self._content(end)):
            end += 1
        return self._made(start, end, list(range(start, end)), "far") if end > start else None

    def _skip_links(self, low: int, at: int) -> tuple[int, Link]:
        link: Link = "next"
        index, pauses = at, 0
        while index > low:
            token, word = self.view.turn.tokens[index - 1], self.view.words[index - 1]
            if self._ends_sentence(index - 1) or index - 1 in self._value_at:
                break
            if token.text in DASHES or not word or token.text.endswith((":", "—")):
                link = "dash" if link in ("next", "pause") else link
                if token.text in DASHES or not word:
                    index -= 1
                    continue
            elif token.ends_clause:
                pauses += 1
                if pauses > 1:
                    break
                link = "pause" if link == "next" else link
            after = self.view.words[index] if index < len(self.view.words) else ""
            thought = 3 if word in _JUDGED and index - 3 > low and self.view.words[index - 3:index - 1] in _A_BIT else 0
            if thought or (word in MODALS and after in _MODAL_VERBS) or (self._acts(word) and after in LED_BY_VERB):
                index, link = index - (thought or 1), "verb"
                continue
            if not (word in READING_VERBS or word in SMALL_LINKS or word in HEDGES or word in FILLERS) or index - 1 in self._named_at \
                    or self._letter(index - 1):
                if word.endswith("'s") and word not in PRONOUNS and link in ("next", "pause"):
                    link = "verb"
                break
            link = "verb" if word in READING_VERBS or word == "at" else link
            index -= 1
        return index, link

    def _acts(self, word: str) -> bool:
        """'venting at', 'appears to be': a verb that ties a name to what follows."""
        if word in ("appears", "seems", "appear", "seem", "settling", "approaching", "exceeds"):
            return True
        return word.endswith("ing") and word not in NOUNS_IN_ING and not is_head(word, self.plan)

    def _ends_sentence(self, index: int) -> bool:
        token = self.view.turn.tokens[index]
        return token.ends_sentence and not token.text.endswith(("...", "…")) and self.view.words[index] not in ("no", "nr", "temp", "pres")

    def _back(self, low: int, end: int) -> tuple[int, list[int]]:
        """Content words that end at token end: their indexes, in order, and where they begin."""
        kept: list[int] = []
        index = end
        while index > low and len(kept) < MOST_WORDS:
            at = index - 1
            stops = self.view.turn.tokens[at].ends_clause and not self._numbers_next(at) and (at not in self._named_at or self._ends_sentence(at))
            if (at != end - 1 and stops) or at in self._value_at:
                break
            if self._stands_for(at) or (at not in self._named_at and not self._content(at)):
                break
            kept.insert(0, at)
            index = at
        return index, kept

    def _content(self, index: int) -> bool:
        word = self.view.words[index]
        if self._stands_for(index) and not self._numbers_next(index):
            return False
        if self._numbers_next(index) or self._letter(index) or self._acronym(index) or self._air_outside(index):
            return True
        if len(word) == 1 and word.isalpha() and index + 1 in self._named_at:
            return True
        if word in ("o'clock", "oclock") or self.view.words[index + 1:index + 2] in (("o'clock",), ("oclock",)):
            return False
        plain = word.removesuffix("'s").strip("-'")
        if plain == "bit" and is_tool(self.view, index):
            return True
        if self._said_of(index, plain) or is_deed(self.view, index, plain) or (plain not in HEADS and read_unit((plain,), 0) is not None):
            return False
        if not plain or word in BREAKS or plain in BREAKS - READING_VERBS or not any(c.isalnum() for c in plain):
            return False
        owns = word.endswith("'s") and (index + 1 in self._value_at or self.view.words[index + 1:index + 2] in (("at",), ("about",), ("up",), ("down",)))
        return owns or not (plain.endswith(("ing", "ly")) and plain not in NOUNS_IN_ING and plain not in HEADS and not is_head(plain, self.plan))

    def _air_outside(self, index: int) -> bool:
        """'Outside's minus two', 'the outside is ...': no preposition, but what is told of."""
        word, behind = self.view.words[index], self.view.words[index + 1:index + 2]
        led = word in ("inside", "outside") and index > 0 and self.view.words[index - 1] == "the" and bool(set(behind) & READING_VERBS)
        return led or word == "outside's" or word == "outside" and behind in (("is",), ("was",), ("reads",))

    def _acronym(self, index: int) -> bool:
        """'HP 22': two capital letters before a value and behind none are a name, and no unit."""
        text = self.view.turn.tokens[index].text
        ends = index == 0 or self.view.turn.tokens[index - 1].ends_clause or index - 1 not in self._value_at
        return _ACRONYM.fullmatch(text) is not None and index + 1 in self._value_at and ends and self.view.words[index] not in BREAKS

    def _letter(self, index: int) -> bool:
        """'Oxygen A three and a quarter': the letter of a thing, and no article."""
        return self.view.words[index] == "a" and self.view.turn.tokens[index].text.strip(".,") == "A" and index > 0 and not self._ends_sentence(index - 1)

    def _stands_for(self, index: int) -> bool:
        """'Chamber pressure on the last one was 97': no number."""
        return self.view.words[index] in ("one", "ones") and index > 0 and self.view.words[index - 1] in _WHICH

    def _numbers_next(self, index: int) -> bool:
        """'Main ammeter No. 1': short for number."""
        return self.view.words[index] in ("no", "nr") and index + 1 in self._named_at

    def _said_of(self, index: int, plain: str) -> bool:
        """No name, but what is said of one: 'is locked up at', 'no flags'; or the person spoken to (', Bob, ')."""
        before = self.view.words[index - 1] if index else ""
        stated = plain in _STATED and (before in _BE | _SEEMS or before == "a" and index > 1 and self.view.words[index - 2].endswith("'s"))
        if (plain.endswith("ed") and before in _BE or stated) and plain not in HEADS:
            return True
        after = self.view.words[index + 1] if index + 1 < len(self.view.words) else ""
        done = _DONE.search(plain) and plain not in HEADS and plain not in CONTRASTS and stem(plain) not in self.plan.words
        if done and not self.view.words[index].endswith("'s") and (after in LED_BY_VERB or index + 1 in self._value_at):
            return True  # 'cleared to two hundred', 'rolled three left': what was done, and no name
        if is_done_by(self.view, index):
            return True  # 'it dips to three', 'we clear out at fifty', 'I interlock at forty five'
        if before == "no" and not self.view.turn.tokens[index - 1].text.endswith("."):
            return not is_head(plain, self.plan)
        token = self.view.turn.tokens[index]
        called = index > 0 and self.view.turn.tokens[index - 1].text.endswith(",") and token.text.endswith(",") and token.text[:1].isupper()
        if called and before in ("hey", "hello", "hi") and not token.text.strip(",").isupper():
            return True
        return called and not token.text.strip(",").isupper() and not is_head(plain, self.plan) and index + 1 < len(self.view.words) \
            and self.view.words[index + 1] not in READING_VERBS and plain not in CONTRASTS and plain not in COUNTED

    def _made(self, start: int, end: int, kept: Sequence[int], link: Link) -> Phrase:
        """The phrase without the station it names; that is its subject."""
        mention = next((m for m in self.view.names if m.start in kept and m.end - 1 in kept and not m.group
                        and m.start not in self._value_at), None)
        rest = [i for i in kept if mention is None or not mention.start <= i < mention.end]
        words = tuple(self._plain(i) for i in rest)
        calls = (mention is not None and mention.start == self.view.sentence(mention.start)[0]
                 and self.view.turn.tokens[mention.end - 1].ends_clause)
        owner = mention is not None and (not calls or not rest)
        return Phrase(start, end, words, head_word(words), link, mention.station if mention and owner else None,
                      topic=mention is not None and not rest)

    def _plain(self, index: int) -> str:
        return self.view.turn.tokens[index].text.strip(".,;:?!—–\"'()").removesuffix("'s").removesuffix("’s")

    def _with_preposition(self, low: int, found: Phrase) -> Phrase:
        """'pressure on the suit', 'pneumo on Red': the phrase before the preposition leads."""
        index = found.start
        while index > low and self.view.words[index - 1] in DETERMINERS | {"last", "other", "same"}:
            index -= 1
        if index - 1 <= low or self.view.words[index - 1] not in PREPOSITIONS | {"off"} or self.view.turn.tokens[index - 1].ends_clause:
            return found
        start, kept = self._back(low, index - 1)
        if not kept or self.view.turn.tokens[index - 2].ends_clause:
            return found
        lead = self._made(start, index - 1, kept, found.link)
        strong = lead.head is not None or found.topic or (found.head is None and self.plan.meant((*lead.words, *found.words)) is not None)
        at = self.view.words[index - 1] in ("at", "off", "across", "through", "in") and found.link in ("next", "pause")
        on = self.view.words[index - 1] == "on" and found.head is None and not found.contrast and self.plan.meant(found.words) is None
        opens = start == self.view.clause(index)[0] and (found.head is None or found.head in WEAK_HEADS) and (at or on) and not lead.topic and not lead.contrast
        if not (strong or opens):  # 'seepage at the weir one point four litres a second' tells of the seepage
            return found
        both = (*lead.words, *found.words)
        words = lead.words if on and self.plan.meant(lead.words) is not None and self.plan.meant(both) is None else both
        return Phrase(start, found.end, words, lead.head or found.head, found.link, lead.subject or found.subject)

    def _far(self, low: int, before: int) -> Phrase | None:
        """The last known head further back in the sentence with no other value between ('quantity at the end of the check was ...')."""
        for index in range(before - 1, max(low, before - FAR_WORDS) - 1, -1):
            if self._ends_sentence(index) or index in self._value_at:
                return None
            if is_head(self.view.words[index], self.plan) and self._content(index):
                start, kept = self._back(low, index + 1)
                if not kept:
                    return None
                lead = self._led_by(low, start)  # 'the quantity at the end of the rate check was ...' tells of the quantity
                return lead or self._made(start, index + 1, kept, "far")
        return None

    def _led_by(self, low: int, start: int) -> Phrase | None:
        """The phrase with a known head that opens the clause, where what stands before token start only tells where or of what."""
        while start > low and self.view.words[start - 1] in DETERMINERS:
            start -= 1
        if start <= low or self.view.words[start - 1] not in PREPOSITIONS:
            return None
        first = max(low, self.view.clause(start)[0])
        lead = self.opening(first, start - 1)
        return lead if lead is not None and lead.head is not None and lead.words and lead.end < start - 1 else None

    def topics(self, at: int) -> Iterator[Phrase]:
        """What the turn talks of before a value at token at that names nothing itself: phrases with a known head, latest first,
        two sentences back at most and not beyond another value."""
        ends = 0
        for index in range(at - 1, -1, -1):
            ends += self._ends_sentence(index)
            if ends > 2 or index in self._value_at:
                return
            if is_head(self.view.words[index], self.plan) and self._content(index):
                start, kept = self._back(0, index + 1)
                if kept:
                    found = self._made(start, index + 1, kept, "far")
                    if found.words:
                        yield found

    def behind(self, at: int, stop: int) -> Phrase | None:
        """The phrase behind a value that ends at token at: 'of hose', 'on the load cell', 'right yaw'; not one that has its own value."""
        if at == 0 or at >= stop or self._stops(at - 1):
            return None
        index, prepared = at, False
        while index < stop and self.view.words[index] in PREPOSITIONS | DETERMINERS | {"each"} and not self._stops(index):
            prepared, index = prepared or self.view.words[index] in PREPOSITIONS, index + 1
        start = index
        kept: list[int] = []
        while index < stop and len(kept) < MOST_WORDS and index not in self._value_at and (index in self._named_at or self._content(index)):
            kept.append(index)
            index += 1
            if self._stops(index - 1):
                break
        tells_apart = (self._stops(index - 1) or self._sides_behind(index)) and not prepared and {self.view.words[i] for i in kept} <= CONTRASTS
        # 'sixty left, sixty four right'
        if not kept or (self._has_own_value(index, prepared) and not tells_apart):
            return None
        return self._made(start, index, kept, "behind")

    def _sides_behind(self, at: int) -> bool:
        """'11 left 13 right', written without a mark: which of two stands behind each value."""
        other, side = self.values.get(at), self.view.words[at - 1]
        behind = set(self.view.words[other.end:other.end + 1]) if other is not None and other.end + 1 not in self._value_at else set()
        return side in SIDES and bool(behind & SIDES - {side})

    def _stops(self, index: int) -> bool:
        return self.view.turn.tokens[index].ends_clause

    def _has_own_value(self, index: int, prepared: bool) -> bool:
        """The words behind are the name of the next value."""
        unmarked = not any(token.ends_clause for token in self.view.turn.tokens[:-1])
        small = PREPOSITIONS | PRONOUNS | DETERMINERS if unmarked else frozenset()  # 'at 2 knots depth under us is 310'
        while index < len(self.view.words) and (self.view.words[index] in READING_VERBS | small or self.view.turn.tokens[index].text in DASHES):
            index += 1
        return index in self.values and not prepared
