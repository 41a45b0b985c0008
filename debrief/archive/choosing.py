"""Turns names that a person writes into the ids of an archive; a name that the archive does not have is told with those near it."""
import difflib
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache

from ..errors import InputError
from ..records.rows import CERTAINTIES
from ..store.codec import row_in
from ..wording.lexicon import load_lexicon, own_packs
from .alike import alikes
from .plain import plain, squeezed
from .reading import body_text
from .shape import Archive

NOTHING = -1
"""An id that nothing has."""
UNITS_LOOKED_AT = 200
MOST_NEAR = 5


@lru_cache(maxsize=1)
def _parameter_forms() -> dict[str, tuple[str, ...]]:
    """Every way of saying a parameter that the packs know, from any of them."""
    terms = load_lexicon(tuple(own_packs().values())).of_kind("parameters")
    return {plain(form): tuple(plain(other) for other in term.forms) for term in terms for form in term.forms}


class Chooser:
    """Looks names up in one archive."""

    def __init__(self, archive: Archive) -> None:
        self.archive = archive

    def name_of(self, text: str) -> int:
        found = self.archive.one("SELECT name FROM names WHERE text = ?", (text,))
        return NOTHING if found is None else int(found["name"])

    def kinds(self, kinds: Sequence[str]) -> list[int]:
        return [number for kind in kinds if (number := self.name_of(kind)) != NOTHING]

    def certainty(self, text: str) -> int:
        return CERTAINTIES.index(text)

    def names(self, column: str, wanted: Sequence[str]) -> list[int]:
        """Stations or loops by name, case and punctuation aside. InputError for one that no session has."""
        if not wanted:
            return []
        known = [(item["name"], item["text"]) for item in self.archive.all("SELECT name, text FROM names")]
        found: list[int] = []
        for text in wanted:
            fits = [number for number, name in known if squeezed(name) == squeezed(text)]
            if not fits:
                near = difflib.get_close_matches(text, [name for _, name in known], 3, 0.5)
                raise InputError(f"no session has a {column} {text!r}", todo=f"did you mean {', '.join(near)}?" if near else "look at the spelling")
            found += fits
        return found

    def labels(self, name: str, text: str) -> list[int]:
        """Labels of a field with this text. InputError for a field or a text that no row has."""
        known = self.archive.all("SELECT label, text FROM labels WHERE name = ?", (name,))
        if not known:
            fields = ", ".join(item["name"] for item in self.archive.all("SELECT DISTINCT name FROM labels WHERE name <> 'about' ORDER BY name"))
            raise InputError(f"no row has a field {name!r} of text", todo=f"fields: {fields}")
        fits = [item["label"] for item in known if squeezed(item["text"]) == squeezed(text)]
        if not fits:
            near = difflib.get_close_matches(plain(text), [item["text"] for item in known], 5, 0.5)
            raise InputError(f"no row has {name}={text!r}", todo=f"near it: {', '.join(near)}" if near else
                             f"some of its values: {', '.join(sorted({item['text'] for item in known})[:8])}")
        return fits

    def about(self, parameter: str, *, sounds_like: bool) -> list[int]:
        """What rows may be about that holds all words asked for, in any form that the packs know. InputError where nothing does."""
        asked = {plain(parameter), *_parameter_forms().get(plain(parameter), ())}
        wanted = [[self._forms(word, sounds_like) for word in text.split()] for text in asked]
        # a label can only fit where it holds one of the forms of the first word
        begins = sorted({form for words in wanted for form in (words[0] if words else ())})
        known = self.archive.all(f"SELECT label, text FROM labels WHERE name = 'about' AND ({' OR '.join(['0', *['instr(text, ?)'] * len(begins)])})",
                                 begins)
        found = [label for label, text in known if any(all(forms & set(map(_single, text.split())) for forms in words) for words in wanted)]
        if not found:
            texts = [item["text"] for item in self.archive.all("SELECT text FROM labels WHERE name = 'about'")]
            near = difflib.get_close_matches(plain(parameter), texts, 5, 0.4)
            raise InputError(f"no row is about {parameter!r}", todo=f"near it: {', '.join(near)}" if near else "try --sounds-like, or fewer words")
        return found

    def unsaid(self, words: str) -> list[str]:
        """For each single word that no session has, what to tell a person: the word, and words of the archive that sound or are spelt like it."""
        told = []
        for word in dict.fromkeys(plain(words).split()):
            if word.isalpha() and not self._said(word):
                alike = [item for item in alikes(self.archive, word)[:MOST_NEAR] if self._said(item)]
                near = list(dict.fromkeys([*alike, *self._spelt_like(word)]))[:MOST_NEAR]
                told.append(f"no session has the word {word!r}" + (f", near it: {', '.join(near)}" if near else ""))
        return told

    def _said(self, word: str) -> bool:
        return self.archive.one("SELECT 1 FROM vocabulary WHERE word = ?", (word,)) is not None

    def _spelt_like(self, word: str) -> list[str]:
        """Words of the archive with the same first letter."""
        found = self.archive.all("SELECT word FROM vocabulary WHERE word >= ? AND word < ?", (word[0], chr(ord(word[0]) + 1)))
        return difflib.get_close_matches(word, [item["word"] for item in found], MOST_NEAR, 0.75)

    def _forms(self, word: str, sounds_like: bool) -> set[str]:
        return {_single(word), *(map(_single, alikes(self.archive, word)) if sounds_like else ())}

    def units(self, about: Sequence[int]) -> list[str]:
        """Units in which values of these labels were told, the commonest first, by a look at some of them."""
        found = self.archive.all("SELECT body FROM bodies WHERE id IN (SELECT id FROM rows WHERE low IS NOT NULL AND about IN "
                                 f"({', '.join(map(str, about))}) LIMIT {UNITS_LOOKED_AT})")
        told = Counter(str(unit) for item in found if (unit := row_in(body_text(item["body"])).get("unit")))
        return [unit for unit, _ in told.most_common()]

    def dimensions(self, about: Sequence[int] | None) -> set[str]:
        """What the values of these labels measure."""
        if about is None:
            return set()
        found = self.archive.all("SELECT DISTINCT n.text FROM rows JOIN names AS n ON n.name = rows.dimension WHERE low IS NOT NULL AND about IN "
                                 f"({', '.join(map(str, about))})")
        return {item["text"] for item in found}


def _single(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word
