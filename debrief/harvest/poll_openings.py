"""What calls a poll: GO NO GO, 'stay or no stay', a question of readiness to all, any objections. Common practice, no source."""
from collections.abc import Iterator
from dataclasses import dataclass

from ..wording.english import is_function_word
from .poll_phrases import ASKS, GO_NO_GO, GROUP, OBJECTIONS, POLL, WANTS
from .poll_rounds import STANCES
from .view import View

ALL = frozenset("all everyone everybody each anyone anybody".split())


@dataclass(frozen=True, slots=True)
class Opening:
    """A poll is called over tokens [start, end): what for; formal: by 'go no go' or 'poll', not merely by a question of readiness;

    objections: it asks who is against; learnt: the word that it offers for an answer ('stay or no stay').
    """

    start: int
    end: int
    question: str
    formal: bool
    words: frozenset[str] = frozenset()
    objections: bool = False
    learnt: frozenset[str] = frozenset()


_CALL = 3
"""A last sentence as short as this, behind the poll's question, calls a station, also where its name was not heard."""


def openings(view: View) -> Iterator[Opening]:
    """Sentences that call a poll or ask for readiness."""
    for first, stop in view.sentences:
        against = view.find(OBJECTIONS, first, stop)
        offered = _offered(view, first, stop)
        formal = view.find(GO_NO_GO, first, stop) or view.find(POLL, first, stop) or against or offered
        asked = formal or view.find(ASKS, first, stop) or _asks_all(view, first, stop)
        if not asked:
            continue
        group = view.find(GROUP, first, stop) or view.find(GROUP, 0, first)
        question = view.asks(first, stop)
        called = any(mention.start >= stop for mention in view.names) or any(stop <= start and end - start <= _CALL for start, end in view.sentences[-1:])
        if formal or (question or group) and _is_poll_question(view, asked, first, stop, bool(group) or question and called):
            yield Opening(first, stop, _subject(view, asked, stop), bool(formal) or bool(group), frozenset(view.words[first:stop]), bool(against),
                          frozenset(view.words[offered[0]:offered[0] + 1]) if offered else frozenset())


def _offered(view: View, first: int, stop: int) -> tuple[int, int] | None:
    """'Stay no-stay', 'launch or no launch': a word and its denial, of which each station is to say one."""
    for index in range(first, stop - 1):
        word, rest = view.words[index], view.words[index + 1:min(stop, index + 4)]
        end = 1 if rest[:1] == (f"no-{word}",) else next((n + 1 for n in (1, 2) if rest[n - 1:n + 1] == ("no", word) and rest[:n - 1] in ((), ("or",))), 0)
        if end and word.isalpha() and len(word) > 2 and not is_function_word(word):
            return index, index + 1 + end
    return None


def _asks_all(view: View, first: int, stop: int) -> tuple[int, int] | None:
    """'Are we all happy to lift?', 'everybody set?', 'I want to hear each of you ready': a stance asked of all."""
    stance = next((i for i in range(first, stop) if view.words[i] in STANCES), None)
    if stance is None or not (set(view.words[first:stance]) & ALL or view.find(GROUP, first, stop) or view.has(("are", "we"), first)):
        return None
    wants = view.asks(first, stop) or view.find(WANTS, first, stop) is not None
    return (stance, stance + 1) if wants or any(m.start >= stop or m.end == stop for m in view.names) and _opens_question(view, first) else None


def _opens_question(view: View, first: int) -> bool:
    return bool(set(view.words[first:first + 3]) & {"are", "is", "everyone", "everybody", "anybody"})


_WEAK_ASKS = tuple((word, to) for word in ("go", "ready", "clear", "good", "happy", "set") for to in ("to", "for"))


def _is_poll_question(view: View, asked: tuple[int, int], first: int, stop: int, group: bool) -> bool:
    words = set(view.words[first:stop])
    if view.words[asked[0]:asked[1]] in _WEAK_ASKS:
        return group or bool(words & {"you", "stations"})
    return True


def _subject(view: View, asked: tuple[int, int], stop: int) -> str:
    """What the poll is for: the words behind 'for', 'to' or 'on' that follow its call."""
    last = stop
    for index in range(asked[1] - 1, stop):
        if view.words[index] in ("for", "to", "on"):
            name = next((m.start for m in view.names if m.start > index), last)
            return " ".join(view.turn.tokens[i].text for i in range(index + 1, min(last, name))).rstrip(" .,?!")
    return ""
