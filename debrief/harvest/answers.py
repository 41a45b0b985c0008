"""What the answers of weighing change: which candidate is accepted, which words are read anew, and what rows are told about it.

The rule stands here alone, its figures in Rule: they were read off four invented sessions and are checked on sessions that took no part.
An answer that is not accepted changes nothing; the margin of the value that stands is told to every row over the span either way.
"""
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from ..records.questions import Answer, Question
from ..records.rows import Row
from ..records.sound import Source
from ..records.talk import Token
from ..timebase import Span
from ..wording.protected import is_number_word
from .questions import value_of

WEIGHED = "weighed against the sound"
MARGIN, AGREED = "weighing margin", "free hearing agreed"
FRAME_HEARD = 0.5


@dataclass(frozen=True, slots=True)
class Rule:
    """Natural logs of probability ratios. gain: how much better than free hearing a candidate must be to be accepted where its value

    differs from the one heard; words_gain: where it differs in words alone; margin: least margin to another value, under which both
    readings are shown and what was heard stands; noise: what the same candidate moves by between calls.
    """

    gain: float = 3.0
    words_gain: float = 1.5
    margin: float = 2.0
    noise: float = 0.5


RULE = Rule()


def decide(question: Question, scores: Sequence[float], free: float, rule: Rule = RULE) -> Answer:
    """The answer to a question from its candidates' scores (length-fair log probabilities) and that of what was heard."""
    heard = value_of(question.heard)
    values = [*question.values, heard]
    all_scores = [*scores, free]
    top = max(range(len(all_scores)), key=lambda i: all_scores[i])
    others = [score for score, value in zip(all_scores, values, strict=True) if value != values[top]]
    margin = all_scores[top] - max(others, default=all_scores[top] - 99.0)
    gain = all_scores[top] - free
    same = values[top] == heard
    accepted = top < len(scores) and (gain >= rule.words_gain if same else gain >= rule.gain and margin >= rule.margin)
    stands = margin if accepted or same else -margin
    return Answer(question.question, tuple(scores), free, top if accepted else None, round(stands, 3))


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
    """Rows with what weighing has to say of their value: its margin, and whether free hearing agreed: 1 the value, 0.5 the frame, 0 neither.

    A row of which free hearing heard neither frame nor value is in doubt as a whole.
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
    agreed = 1.0 if answer.best is None or question.values[answer.best] == value_of(question.heard) else _frame(question, answer.best)
    doubt = (*row.doubt, "weighing alone heard it: neither its frame nor its value was heard freely") if agreed == 0 else row.doubt
    return replace(row, witnesses={**row.witnesses, MARGIN: answer.margin, AGREED: agreed}, doubt=doubt)


def _frame(question: Question, best: int) -> float:
    """0.5 where free hearing heard most of the words around the accepted value, else 0."""
    frame = [word for word in map(_norm, question.candidates[best].split()) if not is_number_word(word)]
    heard = {_norm(word) for word in question.heard.split()}
    return 0.5 if frame and sum(word in heard for word in frame) / len(frame) >= FRAME_HEARD else 0.0
