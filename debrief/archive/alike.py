"""Words of the archive that sound like a word that is asked for: what a recogniser may have written in its place.

Three sources: sound-alikes that the lexicon lists (both ways), words of the archive whose consonants fall into the same drawers
(wording/soundalike_index.py) and whose sounds are alike sound by sound, and the word itself.
"""
from collections.abc import Mapping
from functools import lru_cache

from ..wording.lexicon import load_lexicon, own_packs
from ..wording.soundalike import pronounce, skeleton, sound_likeness
from ..wording.soundalike_index import drawers
from .plain import plain
from .shape import Archive

LEAST_LIKENESS = 0.78
MOST = 24
SHORTEST = 4
"""Sounds of the shortest word that is looked for by sound: shorter ones are like half the language."""


@lru_cache(maxsize=1)
def _listed() -> Mapping[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for term in load_lexicon(tuple(own_packs().values())).terms:
        for alike in term.sound_alikes:
            for one, other in ((term.term, alike), (alike, term.term)):
                found.setdefault(plain(one), set()).add(plain(other))
    return {word: frozenset(others) for word, others in found.items()}


def alikes(archive: Archive, phrase: str) -> list[str]:
    """Other words (or phrases) to look for beside this one, the likest first; at most MOST."""
    text = plain(phrase)
    listed = sorted(_listed().get(text, frozenset()) - {text, ""})
    said = pronounce(text)[0] if text and " " not in text and pronounce(text) else ()
    if len(said) < SHORTEST:
        return listed[:MOST]
    shapes = sorted(drawers(skeleton(said)) - {""})
    found = archive.all(f"SELECT word FROM vocabulary WHERE shape IN ({', '.join('?' * len(shapes))})", shapes)
    scored = sorted(((sound_likeness(said, pronounce(item["word"])[0]), item["word"]) for item in found
                     if item["word"] != text and pronounce(item["word"])), key=lambda pair: (-pair[0], pair[1]))
    return list(dict.fromkeys([*listed, *(word for likeness, word in scored if likeness >= LEAST_LIKENESS)]))[:MOST]
