"""Questions for the second pass: what was said in this span? With candidate texts from plan, phraseology and the talk itself.

'None of these' is always allowed: an answer may keep what was heard. Questions are ordered by worth, what settles most first, so that a
budget cuts the least. The second pass asks no new ones.
"""
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice, zip_longest

from ..records.questions import Question
from ..wording.correction import Corrector
from ..wording.lexicon import Lexicon
from ..wording.soundalike import pronounce_words
from ..wording.spoken_numbers import read_numbers
from .pieces import Piece, pieces_of
from .question_sources import SOURCES, Asking
from .talk import Talk

MOST_CANDIDATES = 72
SHORTEST, LONGEST = 0.55, 1.8
"""A candidate takes between these parts of the time that the heard text takes: the end of the sound must be spoken for."""
LONGEST_S = 15.0
_WORTH = {"readouts": 1.0, "ratings": 1.0, "polls": 0.9, "readbacks": 0.9, "clock_calls": 0.7, "steps": 0.5, "terms": 0.4}
_ANSWERS = re.compile(r"\b(no[ -]go|go|stand ?by|wait one)\b")


@dataclass(frozen=True, slots=True)
class _Asked:
    question: Question
    worth: float


def ask(talk: Talk, lexicon: Lexicon, corrector: Corrector, most: int | None = None) -> tuple[Question, ...]:
    """Questions of a talk, the worthiest first; at most `most`. A piece gives one question with the candidates of all its sources."""
    asking = Asking(talk, lexicon, corrector)
    found = [asked for piece in pieces_of(talk) if piece.span.duration_s <= LONGEST_S for asked in _ask(asking, piece)]
    found.sort(key=lambda asked: (-asked.worth, asked.question.source, asked.question.span))
    return tuple(asked.question for asked in islice(found, most))


def _ask(asking: Asking, piece: Piece) -> Iterable[_Asked]:
    given = {name: list(dict.fromkeys(source(asking, piece))) for name, (_, source) in SOURCES.items()}
    texts = _merged([texts for texts in given.values() if texts], piece)
    if not texts or piece.turn.source is None:
        return
    names = [name for name, candidates in given.items() if candidates]
    kind = max((SOURCES[name][0] for name in names), key=lambda k: _WORTH[k], default="terms")
    first = piece.tokens[0]
    question = Question(f"{first.segment}.{first.word}", piece.turn.source, piece.span, kind, texts, tuple(map(value_of, texts)),
                        piece.heard, "; ".join(names) or "the correction of sound-alikes")
    yield _Asked(question, _WORTH[kind] * (1.2 - piece.probability))


def _merged(lists: Sequence[Sequence[str]], piece: Piece) -> tuple[str, ...]:
    """Candidates of all sources in turn, so that no source crowds out another; each text once, the heard text left out."""
    heard = _key(piece.heard)
    length = sounds_in(piece.heard)
    found: dict[str, str] = {}
    if _key(piece.text) != heard:
        found[_key(piece.text)] = piece.text
    for row in zip_longest(*lists):
        for text in row:
            if text and _key(text) != heard and SHORTEST <= sounds_in(text) / length <= LONGEST:
                found.setdefault(_key(text), text)
    return tuple(islice(found.values(), MOST_CANDIDATES))


def sounds_in(text: str) -> int:
    """How long a text takes to say, in sounds; a figure counts as a digit's word."""
    words = [word for item in text.split() for word in (["seven"] * sum(map(str.isdigit, item)) if any(map(str.isdigit, item)) else [item])]
    return max(1, len(pronounce_words(words)))


def _key(text: str) -> str:
    return " ".join(re.findall(r"[\w.'%-]+", text.lower())).replace(". ", " ").rstrip(".")


def value_of(text: str) -> str:
    """What a text states, for telling 'another value': its numbers in order and its poll answer ('' = none)."""
    numbers = [f"{number.value.normalize():f}" for number in read_numbers(text.split())]
    answers = [answer.replace("-", " ") for answer in _ANSWERS.findall(text.lower())]
    return " ".join((*numbers, *answers[-1:]))
