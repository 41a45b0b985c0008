"""Which words name the parameter of a number: a noun phrase around a known head, the plan's own words, or what stands before 'is'.

Nothing here is a list of phrases: a phrase is the run of content words before a number (or behind it), cut at clause ends, verbs of
reading and other numbers. The plan's parameters are matched by stems; they rank, and never supply a value.
"""
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from ..session import Session
from ..units import canonical
from .parameter_words import HEADS
from .view import View, stem

COPULAS = frozenset("is are was were at reads reading read shows showing show indicates indicating indicated now about still to up down back "
                    "holding approximately around just roughly presently currently almost nearly some over under registers gives "
                    "has had be been being called call it as makes make went came coming going passing of from started ended dropped "
                    "stopped steady stands standing got gets only exactly maybe good all".split())
_DROPPED = frozenset("the a an and okay ok roger i i'm i've i'd have we we're we've you your you've you're my our his her their its that that's "
                     "this there there's here he's she's it's let me see give so well then uh er um ah or but with in on for your yours mine yes "
                     "copy copied affirmative understand correction negative say again by will also again too very please log numbers "
                     "baseline looking looks when what where how can they them not don't if got currently present time no".split())
_SPLIT = frozenset("and but with then while".split())
MOST_WORDS = 5


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words that name a parameter, over tokens [start, end); head: position of its head, None where no known head stands in it."""

    start: int
    end: int
    words: tuple[str, ...]
    head: int | None = None

    @property
    def name(self) -> str:
        return " ".join(self.words)


@dataclass(frozen=True, slots=True)
class Planned:
    """A parameter of the plan: readout due, limit or known parameter."""

    what: str
    unit: str | None
    subject: str | None
    stems: frozenset[str]
    names: tuple[frozenset[str], ...]


class PlanBook:
    """All parameters of a session file."""

    def __init__(self, session: Session) -> None:
        self.session = session

    @cached_property
    def planned(self) -> tuple[Planned, ...]:
        given = [(item.what, item.unit, item.subject, item.also_called) for card in self.session.cards for item in card.readouts]
        given += [(item.what, item.unit, item.subject, item.also_called) for item in self.session.parameters]
        given += [(limit.what, limit.unit, None, ()) for limit in self.session.limits]
        return tuple(Planned(what, canonical(unit), subject, _stems(what), tuple(_stems(name) for name in (what, *also)))
                     for what, unit, subject, also in given)

    @cached_property
    def words(self) -> frozenset[str]:
        """Stems of all planned parameter names: words that may head a phrase in this session."""
        return frozenset(word for item in self.planned for names in item.names for word in names)

    def meant(self, words: Iterable[str], subject: str | None = None) -> Planned | None:
        """The planned parameter that these words name best; None where less than half of either side is shared."""
        said = frozenset(stem(word) for word in words)
        best, score = None, 0.0
        for item in self.planned:
            for names in item.names:
                shared = len(said & names)
                value = 2 * shared / (len(said) + len(names)) if said and names else 0.0
                value += 0.05 if subject and item.subject == subject else 0.0
                if shared and value > score:
                    best, score = item, value
        return best if score >= 0.5 else None


def _stems(text: str) -> frozenset[str]:
    return frozenset(stem(word) for word in text.lower().split())


def is_head(word: str, plan: PlanBook) -> bool:
    plain = word.removesuffix("'s")
    return plain in HEADS or plain.removesuffix("s") in HEADS or stem(plain) in plan.words


def phrase_before(view: View, start: int, end: int, plan: PlanBook) -> Phrase | None:
    """The phrase in tokens [start, end) that ends nearest to end."""
    start = _behind_call(view, start, end)
    kept = [i for i in range(start, end) if not _is_filler(view.words[i])]
    heads = [i for i in kept if is_head(view.words[i], plan)]
    if heads:
        return _around(view, start, end, heads, plan)
    if not kept:
        return None
    near = [i for i in kept if i > kept[-1] - MOST_WORDS][-3:]
    return Phrase(near[0], near[-1] + 1, tuple(_plain(view.words[i]) for i in near))


def _behind_call(view: View, start: int, end: int) -> int:
    """The call at the front of a turn is no part of a phrase ('Lantern, Anvil. Bottle three ...')."""
    for mention in view.names:
        comma = view.turn.tokens[mention.end - 1].ends_clause
        if start <= mention.start and mention.end <= end and comma and mention.start in (0, start):
            start = mention.end
    return start


def _around(view: View, start: int, end: int, heads: Sequence[int], plan: PlanBook) -> Phrase:
    """The last head with the content words before it, and those behind it up to the verb ('CHT left', 'quantity at the end')."""
    head = heads[-1]
    first = head
    while first - 1 >= start and not _is_filler(view.words[first - 1]) and not _closes(view, first - 1) and head - first < MOST_WORDS - 1:
        first -= 1
    last = head + 1
    while last < end and not _is_filler(view.words[last]) and last - first < MOST_WORDS and not _closes(view, last - 1):
        last += 1
    words = tuple(_plain(view.words[i]) for i in range(first, last))
    return Phrase(first, last, words, head)


def phrase_after(view: View, start: int, end: int, plan: PlanBook) -> Phrase | None:
    """'metres of hose', 'on the load cell', 'for the pull': a phrase behind the value, up to the clause's end."""
    stop = next((i + 1 for i in range(start, end) if _closes(view, i)), end)
    heads = [i for i in range(start, stop) if is_head(view.words[i], plan)]
    if not heads:
        return None
    return _around(view, start, stop, heads[:1], plan)


def _closes(view: View, index: int) -> bool:
    return view.turn.tokens[index].ends_clause and not view.turn.tokens[index].text.endswith(("...", "—"))


def _is_filler(word: str) -> bool:
    return not word or word in COPULAS or word in _DROPPED or not any(c.isalnum() for c in word)


def _plain(word: str) -> str:
    return word.removesuffix("'s")


def ellipsis(phrase: Phrase, before: Phrase) -> tuple[str, ...]:
    """'backup' behind 'main bank pressure': the head and what follows are taken over from the phrase before."""
    tail = before.words[before.head - before.start:] if before.head is not None else before.words[-1:]
    return (*phrase.words, *(word for word in tail if word not in phrase.words))


def questions_phrase(view: View, plan: PlanBook) -> Phrase | None:
    """The parameter that a turn asks for ('Wind, Gauge?', 'vent flow please'), the last one it names."""
    heads = [i for i in range(len(view.words)) if is_head(view.words[i], plan)]
    return _around(view, max(0, heads[-1] - 3), min(len(view.words), heads[-1] + 3), [heads[-1]], plan) if heads else None


def head_word(words: Sequence[str]) -> str | None:
    """The last word of a parameter's name that is a known head."""
    for word in reversed(words):
        plain = word if word in HEADS else word.removesuffix("s")
        if plain in HEADS:
            return plain
    return None
