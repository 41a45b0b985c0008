"""Cards and steps by their numbers, as they are spoken: 'step one one', 'two charlie', 'card twelve, step alpha', 'two point four'.

A number is compared with the plan's ids by its digits and letters alone, so that '2.4', '2-4' and 'two four' are one.
"""
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from ..session import Card, Session, Step
from ..wording.english import is_function_word
from .view import View, content, stems_of

# ICAO spelling alphabet (Annex 10, volume II), with the spellings recognisers write.
LETTERS = {word: word[0] for word in (
    "alpha alfa bravo charlie delta echo foxtrot golf hotel india juliet juliett kilo lima mike november oscar papa quebec romeo "
    "sierra tango uniform victor whiskey whisky xray x-ray yankee zulu").split()}
CARD_WORDS = frozenset("card sheet section block part phase series task car cart".split())  # the last two: how recognisers write 'card'
STEP_WORDS = frozenset("step item line point".split())
DOING_WORDS = frozenset("run test task event trial lift exercise action check evolution sequence manoeuvre maneuver procedure serial shot pass "
                        "stage leg lap rep sortie exposure firing pour weld cast haul cue move scene take drill round phase".split())
"""What a unit of work is called besides 'step', where the plan has one of that number. Common practice, no source."""
_JOINTS = frozenset("point dot decimal dash tac hyphen".split())
_LEADS = frozenset("that's that is to starting start begin beginning on onto and so then now next with go into copy roger okay ok at in "
                   "complete skip do for done finished it's repeat".split())

MentionOf = Literal["card", "step"]


_BEHIND = 8
"""Words behind a number within which a step's own words are looked for."""


@dataclass(frozen=True, slots=True)
class IdMention:
    """A card or step named over tokens [start, end) by its id. worded: with the word 'card' or 'step' before it."""

    of: MentionOf
    card: str | None
    step: str | None
    start: int
    end: int
    worded: bool = True
    planned: bool = True
    sure: bool = True


@dataclass(frozen=True)
class PlanIndex:
    """The plan's cards by key (letters and digits of the id) and its steps by key, with the words of their texts."""

    cards: Mapping[str, Card] = field(default_factory=dict)
    steps: Mapping[str, tuple[Card, Step]] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    own: Mapping[str, tuple[Card, Step]] = field(default_factory=dict)
    called: frozenset[str] = frozenset()

    @classmethod
    def of(cls, session: Session) -> "PlanIndex":
        """Keys of all cards and steps. A step id that does not begin with its card's is known with and without it."""
        cards: dict[str, Card] = {}
        steps: dict[str, tuple[Card, Step]] = {}
        own: dict[str, list[tuple[Card, Step]]] = {}
        for card in session.cards:
            for name in (card.id, *card.spoken):
                cards.setdefault(_key_of_text(name), card)
            for step in card.steps:
                steps.setdefault(_long_key(card, step), (card, step))
                own.setdefault(key_of(step.id), []).append((card, step))
        return cls(cards, steps, {step.id: content(step.text) for card in session.cards for step in card.steps},
                   {key: found[0] for key, found in own.items() if len(found) == 1},
                   frozenset(word for card in session.cards for step in card.steps if (word := _word_for(step.text))))

    def short(self, card: Card, key: str) -> Step | None:
        """The step of this card that is called by the part of its id behind the card's ('alpha', 'four')."""
        return next((step for step in card.steps if key in (_long_key(card, step), _long_key(card, step)[len(key_of(card.id)):])), None)


def _word_for(text: str) -> str | None:
    """What a plan calls its steps: 'load case one, 20 t' -> 'case'."""
    words = re.findall(r"[a-z0-9]+", text.lower().partition(",")[0])
    numbered = 1 < len(words) <= 4 and (words[-1] in _SMALL or words[-1].isdigit())
    return words[-2] if numbered and words[-2].isalpha() and len(words[-2]) > 2 else None


def key_of(text: str) -> str:
    """Letters and digits of an id, lower case: '2.4' -> '24', '12a' -> '12a'."""
    return re.sub(r"[^a-z0-9]", "", text.lower())


_SMALL = {word: str(n) for n, word in enumerate(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen "
    "twenty".split())}


def _key_of_text(name: str) -> str:
    words = [word for word in re.findall(r"[a-z0-9.]+", name.lower()) if word not in CARD_WORDS]
    return "".join(_SMALL.get(word, LETTERS.get(word, key_of(word))) for word in words)


def _long_key(card: Card, step: Step) -> str:
    own, key = key_of(card.id), key_of(step.id)
    return key if key.startswith(own) and key != own else own + key


def read_ids(view: View, plan: PlanIndex, open_card: str | None, due: str | None = None) -> list[IdMention]:
    """Cards and steps named by id in a turn, in order. open_card: the card that holds before it; due: the step that is next in it."""
    found: list[IdMention] = []
    card, index = open_card, 0
    while index < len(view.words):
        mention = _at(view, plan, (card, due), index)
        if mention:
            found.append(mention)
            card = mention.card or card
        index = mention.end if mention else index + 1
    return found


def _at(view: View, plan: PlanIndex, now: tuple[str | None, str | None], index: int) -> IdMention | None:
    word = view.words[index].removesuffix("'s")
    inside = any(number.start < index < number.end or number.start == index and not _after_point(view, index) for number in view.numbers.values())
    if not inside and (word in CARD_WORDS | STEP_WORDS | DOING_WORDS or word in plan.called):
        found = _worded(view, plan, now[0], index, word in CARD_WORDS)
        return found or (_worded(view, plan, now[0], index, False) if word in CARD_WORDS and plan.steps else None)
    if not inside and word.isalpha() and plan.steps and index + 1 in view.numbers and not is_function_word(word):
        own = _worded(view, plan, now[0], index, False)
        if own is not None and opens(view, index) and _text_follows(view, plan, own):
            return own  # the trade's own word: 'cue thirty one, house cloth out'
    return _bare(view, plan, index, *now) if plan.steps else None


def _text_follows(view: View, plan: PlanIndex, mention: IdMention) -> bool:
    """Whether the words of the step stand right behind its number, most of them."""
    words = frozenset(plan.words[mention.step or ""])
    return bool(words) and 2 * len(words & stems_of(view, mention.end, mention.end + _BEHIND)) >= len(words)


def _runs(view: View, index: int) -> list[tuple[str, int]]:
    """Keys that begin at this token, shortest first, with their ends: 'two point four left' -> ('2', 1), ('24', 3)."""
    keys: list[tuple[str, int]] = []
    key, at = "", index
    while at < len(view.words) and at < index + 6:
        word = view.words[at].removesuffix("'s")
        number = view.numbers.get(at)
        if number:
            key, at = key + key_of(number.text), number.end
        elif word in _SMALL and word != view.words[at]:
            key, at = key + _SMALL[word], at + 1  # 'step one's done'
        elif word in LETTERS or (len(word) == 1 and word.isalpha() and (key or at > index or word != "a")):
            key, at = key + LETTERS.get(word, word), at + 1
        elif re.fullmatch(r"\d+[a-z]?|[a-z]{1,3}\d+|\d+(?:[.-]\w+)+", word):
            key, at = key + key_of(word), at + 1
        elif word in _JOINTS and key:
            at += 1
            continue
        else:
            break
        keys.append((key, at))
        if view.turn.tokens[at - 1].ends_sentence:
            break
    return keys


def _worded(view: View, plan: PlanIndex, open_card: str | None, index: int, of_card: bool) -> IdMention | None:
    start = index + 1 + (view.words[index + 1:index + 2] in (("number",), ("point",)))
    runs = [] if view.turn.tokens[index].ends_sentence else _after_point(view, start - 1) or _runs(view, start)
    if not runs:
        return None
    if of_card:
        return _named_card(view, plan, index, runs)
    card = plan.cards.get(key_of(open_card)) if open_card else None
    for key, end in reversed(runs):
        if key in plan.steps:
            found_card, step = plan.steps[key]
            return IdMention("step", found_card.id, step.id, index, end)
        short = plan.short(card, key) if card else None
        if card and short:
            return IdMention("step", card.id, short.id, index, end)
        if key in plan.own:
            return IdMention("step", plan.own[key][0].id, plan.own[key][1].id, index, end)
    key, end = runs[-1]
    known = not plan.steps and (view.words[index] in ("step", "item", "task") or view.words[index:index + 2] == ("test", "point"))
    return IdMention("step", open_card, key, index, end, planned=False) if known else None


def _after_point(view: View, index: int) -> list[tuple[str, int]]:
    """'Point one zero two', 'test point four': the number grammar takes the word for a decimal point, and it is a noun here."""
    number = view.numbers.get(index) if view.words[index] == "point" else None
    if number is None or not number.text.startswith("0.") or not (view.before(index, 1) == ("test",) or opens(view, index) and len(number.text) > 3):
        return []
    return [(number.text.removeprefix("0."), number.end)]


def _named_card(view: View, plan: PlanIndex, index: int, runs: list[tuple[str, int]]) -> IdMention | None:
    for key, end in reversed(runs):
        if key in plan.cards and (view.words[index] in ("card", "sheet") or _title_said(view, plan.cards[key], end) or _is_card_id(plan, key)):
            return IdMention("card", plan.cards[key].id, None, index, end)
    key, end = runs[0]
    known = view.words[index] in ("card", "sheet") and not plan.cards
    return IdMention("card", key, None, index, end, planned=False) if known else None


def _is_card_id(plan: PlanIndex, key: str) -> bool:
    """Whether the plan itself calls its cards by another word ('section 3', 'block B')."""
    return any(any(word in CARD_WORDS - {"card"} for word in name.lower().split()) for name in plan.cards[key].spoken)


def _title_said(view: View, card: Card, start: int) -> bool:
    """'Part three, ascent': not the word 'card', but the number with the words of that card's title right behind it."""
    return bool(frozenset(content(card.title)) & stems_of(view, start, start + 6))


def _bare(view: View, plan: PlanIndex, index: int, open_card: str | None, due: str | None) -> IdMention | None:
    """'Two charlie complete', 'One two, vent flow on': an id with no word before it.

    A number with a letter is taken anywhere; digits alone only where a clause begins, and only with a word of the step, a word of
    its state behind it. The step that is due is also taken, with doubt, where its digits stand alone in a clause.
    """
    card = plan.cards.get(key_of(open_card)) if open_card else None
    for key, end in reversed(_runs(view, index)):
        found = plan.steps.get(key) or plan.own.get(key)
        if found is None and len(key) == 1 and card and _said_done(view, index, end):
            step = plan.short(card, key)
            found = (card, step) if step else None
        if not found or len(key) < 2 and not _said_done(view, index, end):
            continue
        if "." in found[1].id and (number := view.numbers.get(index)) is not None and number.form == "cardinal" and len(key) > 1:
            continue  # 'twenty one' is never step 2.1
        mention = IdMention("step", found[0].id, found[1].id, index, end, worded=False)
        if key[-1].isalpha() or _digits_fit(view, plan, mention):
            return mention
        if mention.step == due and (mention.start, mention.end) in view.clauses and len(view.words) > end - index:
            return replace(mention, sure=False)
    return None


def _said_done(view: View, start: int, end: int) -> bool:
    """'Two complete', 'that's two done': one digit that is a clause with a word of its end."""
    return opens(view, start) and view.words[end:end + 1] in (("complete",), ("completed",), ("done",)) and (
        end + 1 == len(view.words) or view.turn.tokens[end].ends_clause)


_STATES = frozenset("complete completed done finished again skipped off start starting called".split())


def _digits_fit(view: View, plan: PlanIndex, mention: IdMention) -> bool:
    start, end = mention.start, mention.end
    if not opens(view, start) or view.turn.tokens[end - 1].text.rstrip(".,?!").endswith("%"):
        return False
    if any(word in _STATES for word in view.words[end:end + 2]):
        return True
    _, stop = view.sentence(start)
    said = stems_of(view, end, min(stop, end + 8)) or stems_of(view, end, end + 8)
    nearby = stems_of(view, max(0, start - 6), start)
    return bool(frozenset(plan.words[mention.step or ""]) & (said | nearby))


def opens(view: View, index: int) -> bool:
    """Whether a clause begins at this token, or words that lead to what is done next stand before it."""
    return index == 0 or view.turn.tokens[index - 1].ends_clause or view.words[index - 1] in _LEADS
