"""Words that no correction may read as something else, write, or delete: digits, number words and what sounds like them."""
import re
from functools import lru_cache

from .number_words import NUMBER_WORDS

_MORE = frozenset({"dot", "halves", "quarters", "fore", "tenths", "thirds", "dozen"})
_PARTS = re.compile(r"[^a-z0-9']+")


@lru_cache(maxsize=65536)
def is_number_word(word: str) -> bool:
    """Whether a word holds a digit or is a number word, alone or in a hyphenated word, in the plural or not ("fours", "thirty-five")."""
    parts = [part for part in _PARTS.split(word.lower()) if part]
    return any(_one(part) for part in parts)


def _one(part: str) -> bool:
    bare = part.removesuffix("'s")
    names = {bare, bare.removesuffix("s"), bare.removesuffix("es")}
    return any(c.isdigit() for c in part) or bool(names & NUMBER_WORDS) or bare in _MORE
