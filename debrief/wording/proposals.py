"""Terms that a session suggests for a pack: rare words and pairs of words that it says often and no pack knows, and mistakes of hearing that
people mended more than once."""
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..records.sound import Segment
from .english import is_function_word, is_known_pair, rarity
from .protected import is_number_word
from .vocabulary import Vocabulary, plain_words

LEAST_COUNT, LEAST_RARITY, LEAST_FIXES, LEAST_LETTERS = 3, 0.6, 2, 4


@dataclass(frozen=True, slots=True)
class Proposal:
    """A term worth adding: how often it was heard, the line of a pack that would add it, and why it is proposed."""

    term: str
    count: int
    why: str
    entry: str


def propose(segments: Sequence[Segment], vocabulary: Vocabulary, fixes: Iterable[tuple[str, str]] = ()) -> list[Proposal]:
    """Proposals, the most frequent first. fixes: (what stood there, what a person wrote instead), one for each edit."""
    lines = [[word for item in segment.words for word in plain_words(item.text)] for segment in segments]
    found = [*_of_fixes(fixes), *_of_words(lines, vocabulary), *_of_pairs(lines, vocabulary)]
    return sorted(found, key=lambda item: (-item.count, item.term))


def _of_fixes(fixes: Iterable[tuple[str, str]]) -> list[Proposal]:
    counts = Counter((before.lower().strip(), after.lower().strip()) for before, after in fixes)
    return [Proposal(after, count, f"people wrote it {count} times where {before!r} stood", _entry(after, before))
            for (before, after), count in counts.items()
            if count >= LEAST_FIXES and before and after and not any(map(is_number_word, (*before.split(), *after.split())))]


def _of_words(lines: Sequence[Sequence[str]], vocabulary: Vocabulary) -> list[Proposal]:
    counts = Counter(word for line in lines for word in line)
    return [Proposal(word, count, "a rare word, said often, that no pack or plan has", _entry(word)) for word, count in counts.items()
            if count >= LEAST_COUNT and not _idle(word) and rarity(word) >= LEAST_RARITY
            and word not in vocabulary.single and (word,) not in vocabulary.known]


def _of_pairs(lines: Sequence[Sequence[str]], vocabulary: Vocabulary) -> list[Proposal]:
    counts = Counter(pair for line in lines for pair in pairwise(line))
    return [Proposal(" ".join(pair), count, "two words that English seldom joins, said together often", _entry(" ".join(pair)))
            for pair, count in counts.items()
            if count >= LEAST_COUNT and pair not in vocabulary.known and not any(map(_idle, pair)) and not is_known_pair(*pair)]


def _idle(word: str) -> bool:
    return is_function_word(word) or is_number_word(word) or len(word) < LEAST_LETTERS


def _entry(term: str, alike: str = "") -> str:
    more = f', sound_alikes = ["{alike}"]' if alike else ""
    return f'{{ term = "{term}", source = "common"{more} }},'
