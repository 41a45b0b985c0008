"""What the answers of weighing change: which candidate is accepted, which words are read anew, and what rows are told about it.

The rule stands here alone, its figures in Rule: they were read off four invented sessions and are checked on sessions that took no part.
An answer that is not accepted changes nothing; the margin of the value that stands is told to every row over the span either way.
"""
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import SequenceMatcher

from ..hearing.recogniser import Weighed
from ..records.questions import Answer, Question
from ..records.rows import Row
from ..records.sound import Source
from ..records.talk import Token
from ..timebase import Span
from ..wording.protected import is_number_word
from ..wording.spoken_numbers import read_numbers
from .questions import sounds_in, value_of

WEIGHED = "weighed against the sound"
MARGIN, OWN_MARGIN, AGREED = "weighing margin", "weighing margin of this number", "free hearing agreed"
VALUES = ("value", "difference")
FRAME_HEARD = 0.5
HALF = 0.5
UNHEARD = "weighing alone heard it: its frame was not heard freely"


@dataclass(frozen=True, slots=True)
class Rule:
    """Natural logs of probability ratios, and what is taken off for how likely a text is on silence (k).

    frame_k: between wordings; value_k: between values inside one wording. Accepted is: another value in the heard wording, when it is
    value_gain better than the heard one and margin better than any third; another wording with the same value, when it is words_gain
    better; another wording with another value, when it is frame_gain better and margin better than its other values. And never a text
    that the sound itself (k = 0) supports less than what was heard, or that it supports by less than least_fit a sound of it: where free
    hearing and every candidate miss, the best of them is still none of these.
    """

    frame_k: float = 0.8
    value_k: float = 0.2
    value_gain: float = 2.0
    words_gain: float = 3.0
    frame_gain: float = 5.0
    margin: float = 3.0
    least_fit: float = -1.2


RULE = Rule()
NO_OTHER = 99.0
BARE = "#"
"""A wording of nothing but numbers: it never takes the place of other words, and its value is not asked for."""


@dataclass(frozen=True, slots=True)
class _Standing:
    """One wording: its best text (index; the heard text is the last), that text's score between wordings, and its value's margin."""

    frame: str
    index: int
    score: float
    margin: float


def decide(question: Question, weighed: Weighed, rule: Rule = RULE) -> Answer:
    """The answer to a question: wordings are told apart first, then the values inside the best one."""
    between = _scores(weighed, rule.frame_k)
    inside = _scores(weighed, rule.value_k)
    texts = (*question.candidates, question.heard)
    values = (*question.values, value_of(question.heard))
    heard = len(texts) - 1
    standings = _standings(texts, values, between, inside)
    own = next(item for item in standings if item.frame == frame_of(question.heard))
    top = max(standings, key=lambda item: item.score)
    margin = 0.0
    chosen = heard
    if _takes_wording(top, own, values, between[top.index] - between[heard], rule):
        chosen, margin = top.index, top.margin
    elif _takes_value(own, values, inside, rule):
        chosen, margin = own.index, own.margin
    if chosen == heard or not _fits(weighed, chosen, texts[chosen], rule):
        chosen, margin = heard, own.margin if values[own.index] == values[heard] else inside[heard] - inside[own.index]
    return Answer(question.question, inside[:-1], inside[-1], None if chosen == heard else chosen, round(margin, 3))


def _takes_wording(top: _Standing, own: _Standing, values: Sequence[str], gain: float, rule: Rule) -> bool:
    if top.frame in (own.frame, BARE):
        return False
    if values[top.index] == values[-1]:
        return gain >= rule.words_gain
    return gain >= rule.frame_gain and top.margin >= rule.margin


def _takes_value(own: _Standing, values: Sequence[str], inside: Sequence[float], rule: Rule) -> bool:
    better = inside[own.index] - inside[-1] >= rule.value_gain and own.margin >= rule.margin
    return own.frame != BARE and values[own.index] != values[-1] and better


def _fits(weighed: Weighed, index: int, text: str, rule: Rule) -> bool:
    """Whether the sound alone supports a text: at least as well as what was heard, and well enough. True where no sums are known."""
    if not weighed.sums:
        return True
    return weighed.sums[index] >= weighed.sums[-1] and weighed.sums[index] >= rule.least_fit * sounds_in(text)


def _scores(weighed: Weighed, k: float) -> tuple[float, ...]:
    scores, free = weighed.corrected(k) if weighed.sums else (weighed.scores, weighed.free)
    return (*scores, free)


def _standings(texts: Sequence[str], values: Sequence[str], between: Sequence[float], inside: Sequence[float]) -> list[_Standing]:
    frames: dict[str, dict[str, list[int]]] = {}
    for index, text in enumerate(texts):
        frames.setdefault(frame_of(text), {}).setdefault(values[index], []).append(index)
    found = []
    for frame, by_value in frames.items():
        best = {value: max(group, key=lambda i: inside[i]) for value, group in by_value.items()}
        value = max(best, key=lambda v: inside[best[v]])
        others = [inside[index] for other, index in best.items() if other != value]
        margin = inside[best[value]] - max(others) if others else NO_OTHER
        found.append(_Standing(frame, best[value], max(between[i] for i in by_value[value]), margin))
    return found


def frame_of(text: str) -> str:
    """The wording of a text: its words in lower case, each run of numbers as '#'."""
    words = text.split()
    ends = {number.start: number.end for number in read_numbers(words)}
    found: list[str] = []
    at = 0
    while at < len(words):
        if at in ends:
            found += ["#"] if found[-1:] != ["#"] else []
            at = ends[at]
        else:
            found.append(_norm(words[at]))
            at += 1
    return " ".join(found)


def reread(tokens: Mapping[str, Sequence[Token]], questions: Iterable[Question], answers: Iterable[Answer]) -> dict[str, tuple[Token, ...]]:
    """All tokens, by segment, with the words of accepted candidates in the spans that were asked about. Words in = words accounted for."""
    accepted = {answer.question: answer for answer in answers if answer.best is not None}
    flat = {segment: list(row) for segment, row in tokens.items()}
    for question in questions:
        answer = accepted.get(question.question)
        if answer is not None and answer.best is not None:
            _replace(flat, question, question.candidates[answer.best], answer)
    return {segment: tuple(row) for segment, row in flat.items()}


def _replace(tokens: dict[str, list[Token]], question: Question, text: str, answer: Answer) -> None:
    """Words of the span, where they differ from the candidate, give way to its words."""
    inside = [(segment, index) for segment in _segments(tokens, question) for index in range(len(tokens[segment]))
              if _within(tokens[segment][index].span, question.span)]
    if not inside:
        return
    old = [tokens[segment][index] for segment, index in inside]
    new = _woven(old, text.split(), f"{WEIGHED}: {question.asked_by}; margin {answer.margin:.1f}")
    first = inside[0]
    for segment, index in reversed(inside):
        del tokens[segment][index]
    for token in reversed(new):
        home = token.segment
        at = first[1] if home == first[0] else 0
        tokens[home].insert(at, token)


def _segments(tokens: Mapping[str, Sequence[Token]], question: Question) -> list[str]:
    prefix = _prefix(question.source)
    return [segment for segment, row in tokens.items() if segment.startswith(prefix) and row and row[0].span
            and row[0].span.start <= question.span.end and (row[-1].span or question.span).end >= question.span.start]


def _prefix(source: Source) -> str:
    return f"{source.recording}.{source.channel}."


def _within(span: Span | None, whole: Span) -> bool:
    return span is not None and whole.start <= (span.start + span.end) // 2 <= whole.end


def _woven(old: Sequence[Token], words: Sequence[str], why: str) -> list[Token]:
    """Equal words stay as they are; each run of others becomes the new words, which share the run's sound evenly."""
    matcher = SequenceMatcher(None, [token.norm for token in old], [_norm(word) for word in words], autojunk=False)
    found: list[Token] = []
    for kind, a, b, c, d in matcher.get_opcodes():
        if kind == "equal":
            found += old[a:b]
        elif c < d:
            found += _spread(old[a:b] or old[max(0, a - 1):a] or old[:1], words[c:d], why)
        else:
            found = _told(found, old[a:b], why)
    return found


def _norm(word: str) -> str:
    return Token(word, word, "", 0).norm


def _spread(old: Sequence[Token], words: Sequence[str], why: str) -> list[Token]:
    first, last = old[0].span, old[-1].span
    heard = " ".join(token.heard for token in old)
    known = [token.probability for token in old if token.probability is not None]
    found = []
    for index, word in enumerate(words):
        span = None
        if first and last:
            length = max(last.end, first.end) - first.start
            span = Span(first.start + length * index // len(words), first.start + length * (index + 1) // len(words))
        found.append(Token(word, heard if index == 0 else "", old[0].segment, old[0].word, span, min(known, default=None), why))
    return found


def _told(found: list[Token], gone: Sequence[Token], why: str) -> list[Token]:
    """Words that the accepted text lacks are kept as heard with the word before them."""
    if not found:
        return found
    heard = " ".join(token.heard for token in (found[-1], *gone) if token.heard)
    return [*found[:-1], replace(found[-1], heard=heard, why=found[-1].why or why)]


def with_witnesses(rows: Iterable[Row], questions: Sequence[Question], answers: Iterable[Answer]) -> list[Row]:
    """Rows with what weighing has to say of their value: its margin, and whether free hearing agreed (see _agreed).

    A row whose frame free hearing did not hear is in doubt as a whole.
    """
    by_name = {answer.question: answer for answer in answers}
    asked = [(question, by_name[question.question]) for question in questions if question.question in by_name]
    return [_witnessed(row, asked) for row in rows]


def _witnessed(row: Row, asked: Sequence[tuple[Question, Answer]]) -> Row:
    part = next((part for part in row.evidence if part.role in ("value", "answer")), row.place)
    over = [(q, a) for q, a in asked if part.span and part.source == q.source and _within(part.span, q.span)]
    if not over:
        return row
    question, answer = min(over, key=lambda item: item[1].margin)
    agreed = _agreed(question, answer)
    doubt = (*row.doubt, UNHEARD) if agreed < HALF else row.doubt
    told = {MARGIN: answer.margin, AGREED: agreed}
    own = own_margin(question, answer, row)
    if own is not None:
        told[OWN_MARGIN] = own
    return replace(row, witnesses={**row.witnesses, **told}, doubt=doubt)


def own_margin(question: Question, answer: Answer, row: Row) -> float | None:
    """How much better than any other number in the same place the sound supports the number of a row; None where none was asked about.

    Only texts of the wording that stands are compared, all of whose other numbers are as they stand.
    """
    texts, values = (*question.candidates, question.heard), (*question.values, value_of(question.heard))
    scores = (*answer.scores, answer.free)
    stands = len(texts) - 1 if answer.best is None else answer.best
    numbers, frame = values[stands].split(), frame_of(texts[stands])
    value = next((item for name in VALUES if isinstance(item := row.get(name), Decimal)), None)
    places = [] if value is None else [at for at, number in enumerate(numbers) if number == f"{value.normalize():f}"]
    if len(places) != 1:
        return None
    same: list[float] = [scores[stands]]
    other: list[float] = []
    for text, stated, score in zip(texts, values, scores, strict=True):
        said = stated.split()
        if len(said) == len(numbers) and all(a == b for at, (a, b) in enumerate(zip(said, numbers, strict=True)) if at != places[0]) \
                and frame_of(text) == frame:
            (same if said == numbers else other).append(score)
    return round(max(same) - max(other), 3) if other else None


def _agreed(question: Question, answer: Answer) -> float:
    """1 what stands was heard freely, 0.5 its frame was, 0.25 its value alone was, 0 neither."""
    if answer.best is None:
        return 1.0
    same, frame = question.values[answer.best] == value_of(question.heard), _frame(question, answer.best)
    return (1.0 if same else HALF) if frame else 0.25 * same


def _frame(question: Question, best: int) -> float:
    """0.5 where free hearing heard most of the words around the accepted value, else 0."""
    frame = [word for word in map(_norm, question.candidates[best].split()) if not is_number_word(word)]
    heard = {_norm(word) for word in question.heard.split()}
    return 0.5 if frame and sum(word in heard for word in frame) / len(frame) >= FRAME_HEARD else 0.0
