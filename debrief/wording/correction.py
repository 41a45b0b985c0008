"""Segments to tokens: what was heard, what it is read as, and why. No correction touches a number word.

A stretch of one to four heard words is read as a term when it sounds and is spelt like it, by as much as `need` asks: more for short terms
and for everyday words in their everyday places, less for rare words, doubtful words, names the plan holds, and places where such a term
is at home (a station's name where one calls, a parameter before a number). All figures stand in Limits.
"""
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rapidfuzz import fuzz

from ..records.sound import Segment
from ..records.talk import Token
from ..session import Session
from .abbreviations import heard_abbreviation, misheard, spelt_terms
from .english import is_function_word, odd_pairs, rarity, spelt_out
from .fragments import joined
from .lexicon import Lexicon, load_lexicon
from .protected import is_number_word
from .soundalike import Sounds, pronounce_words, sound_likeness
from .soundalike_index import SoundIndex
from .vocabulary import WITH_ARTICLE, Vocabulary, Wanted, build_vocabulary, plain_words


@dataclass(frozen=True, slots=True)
class Limits:
    """base: likeness asked of a term, by the number of its sounds (up to five, more); shorter ones than SHORTEST_TERM must be

    listed. The rest are added or taken off. usual: the probability of words that are heard right. least: below it nothing is considered.
    typed: asked on top where words carry no probability, since text typed by people is mostly right.

    Likeness runs from 0 to 1, three parts sound and one part spelling. listed: likeness of a sound-alike that the lexicon names.
    """

    base: tuple[float, float] = (0.84, 0.78)
    everyday: float = 0.18
    planned: float = 0.03
    at_home: float = 0.08
    shared_word: float = 0.05
    doubt: float = 0.12
    usual: float = 0.9
    listed: float = 0.95
    tie: float = 0.02
    least_rest: float = 0.5
    least: float = 0.5
    across_comma: float = 0.05
    typed: float = 0.04


LIMITS = Limits()
LONGEST_SPAN = 4
SHORTEST_TERM = 4
EVERYDAY = 0.35
_BEFORE_NAME = frozenset("from this is copy roger thanks thank hello hey okay for to with and by ask tell understood affirm negative"
                         .split())
_AFTER_NAME = frozenset("is go this copy from has says here you how are do stand please say your no".split())


@dataclass(frozen=True, slots=True)
class Change:
    """Heard words [start, end) read as text. likeness and need: the figures that decided; why: in words a user reads."""

    start: int
    end: int
    text: str
    likeness: float
    need: float
    why: str


@dataclass(frozen=True, slots=True)
class _Heard:
    """One segment's words. plain: lower case without punctuation; number: protected words; stops: a sentence ends behind the word."""

    plain: tuple[str, ...]
    number: tuple[bool, ...]
    stops: tuple[bool, ...]
    clause: tuple[bool, ...]
    probability: tuple[float | None, ...]


def read_as(segment: Segment, corrector: "Corrector | None" = None) -> tuple[Token, ...]:
    """The segment's words as tokens; corrected where a corrector is given."""
    tokens = joined([Token(word.text, word.text, segment.segment, index, word.span, word.probability)
                     for index, word in enumerate(segment.words)])
    return corrector.correct(tokens) if corrector and tokens else tokens


def corrector_for(segments: Sequence[Segment], session: Session, lexicon: Lexicon | None = None) -> "Corrector":
    """The corrector of a session: its own words, and those of the packs whose trade is recognised in plan and talk."""
    heard = [tuple(word for item in segment.words for word in plain_words(item.text)) for segment in segments]
    return Corrector(build_vocabulary(lexicon or load_lexicon(), session, heard))


def read_all(segments: Sequence[Segment], session: Session, lexicon: Lexicon | None = None) -> dict[str, tuple[Token, ...]]:
    """Tokens of every segment, by segment id, corrected with this session's words."""
    return read_with(segments, corrector_for(segments, session, lexicon))


def read_with(segments: Sequence[Segment], corrector: "Corrector") -> dict[str, tuple[Token, ...]]:
    """Tokens of every segment, by segment id, as a corrector reads them."""
    return {segment.segment: read_as(segment, corrector) for segment in segments}


class Corrector:
    """Corrects words with one session's vocabulary; the same words give the same result."""

    def __init__(self, vocabulary: Vocabulary, limits: Limits = LIMITS) -> None:
        self.vocabulary, self.limits = vocabulary, limits
        self._index = SoundIndex(entry for entry in vocabulary.entries if len(entry.sounds) >= SHORTEST_TERM)
        self._spelt = spelt_terms(vocabulary.entries)
        self._kept: dict[tuple[str, ...], tuple[tuple[Wanted, float, bool], ...]] = {}
        self._stations = frozenset(entry.words[0] for entry in vocabulary.entries if entry.kind == "stations" and entry.planned)

    def correct(self, tokens: Sequence[Token]) -> tuple[Token, ...]:
        """The tokens with every change made; items in = items out: a change of two words into one leaves one token, which holds both."""
        found: list[Token] = []
        at = 0
        for change in self.changes(tokens):
            found += tokens[at:change.start]
            found += _changed(tokens[change.start:change.end], change)
            at = change.end
        return (*found, *tokens[at:])

    def changes(self, tokens: Sequence[Token]) -> tuple[Change, ...]:
        """Changes to make, in order, never overlapping: the surest first, of equals the longer, then the earlier."""
        taken: set[int] = set()
        chosen = []
        for change in sorted(self.considered(tokens), key=lambda c: (c.need - c.likeness, c.start - c.end, c.start)):
            if change.likeness >= change.need and taken.isdisjoint(range(change.start, change.end)):
                taken.update(range(change.start, change.end))
                chosen.append(change)
        return tuple(sorted(chosen, key=lambda change: change.start))

    def considered(self, tokens: Sequence[Token]) -> list[Change]:
        """The best reading of every stretch that sounds like a term, whether it is good enough or not."""
        heard = _heard(tokens)
        found = []
        for start in range(len(heard.plain)):
            for end in range(start + 1, min(start + LONGEST_SPAN, len(heard.plain)) + 1):
                if not heard.plain[end - 1] or heard.number[end - 1]:
                    break
                best = self._best(heard, start, end)
                if best:
                    found.append(best)
                if heard.stops[end - 1]:
                    break
        return found + [change for at in range(len(tokens)) if (change := self._abbreviation(tokens, heard, at)) is not None]

    def _abbreviation(self, tokens: Sequence[Token], heard: _Heard, at: int) -> Change | None:
        """The best reading of an abbreviation that the session and its packs do not know, where a value follows or the plan has it."""
        letters = heard_abbreviation(tokens, at)
        if not letters or (letters,) in self.vocabulary.known:
            return None
        ranked = sorted((self._weighed(heard, (start, end), entry, likeness, False)
                         for entry, start, end, likeness in misheard(letters, list(heard.plain), at, self._spelt)
                         if entry.planned or self._at_home(heard, (start, end), entry)),
                        key=lambda change: (change.need - change.likeness, change.start - change.end))
        return None if not ranked or (len(ranked) > 1 and self._tied(ranked[0], ranked[1])) else ranked[0]

    def _best(self, heard: _Heard, start: int, end: int) -> Change | None:
        words = _words(heard, start, end)
        if self._is_right(words):
            return None
        ranked = sorted((self._weighed(heard, (start, end), *found) for found in self._candidates(words)
                         if self._may_stand(heard, (start, end), found[0], found[2])), key=lambda change: change.need - change.likeness)
        if not ranked or (len(ranked) > 1 and self._tied(ranked[0], ranked[1])):
            return None
        return ranked[0]

    def _is_right(self, words: tuple[str, ...]) -> bool:
        """Words that hold a term already, or function words alone, are left."""
        pieces = {words[a:b] for a in range(len(words)) for b in range(a + 1, len(words) + 1)}
        return (not pieces.isdisjoint(self.vocabulary.known) or any("".join(piece) in self.vocabulary.joined for piece in pieces)
                or all(map(is_function_word, words)))

    def _tied(self, first: Change, second: Change) -> bool:
        return first.likeness - first.need - (second.likeness - second.need) < self.limits.tie and first.text.lower() != second.text.lower()

    def _candidates(self, words: tuple[str, ...]) -> tuple[tuple[Wanted, float, bool], ...]:
        """(term, likeness, whether the lexicon lists these very words for it); the same words are looked up once."""
        if words not in self._kept:
            listed = self.vocabulary.alikes.get(words, ())
            exact = {word for word in words if word in self.vocabulary.single}
            found = [(entry, _likeness(words, entry, self.limits.least_rest)) for entry in self._index.near(pronounce_words(words))
                     if entry not in listed and exact <= set(entry.words) and not _adds_nothing(words, entry.words)]
            self._kept[words] = (*((entry, self.limits.listed, True) for entry in listed),
                                 *((entry, likeness, False) for entry, likeness in found if likeness >= self.limits.least))
        return self._kept[words]

    def _may_stand(self, heard: _Heard, span: tuple[int, int], entry: Wanted, listed: bool) -> bool:
        """A unit stands behind a number; one everyday word is read as another that was listed only where that other is at home."""
        start, end = span
        if entry.kind == "units":
            return start > 0 and heard.number[start - 1]
        if entry.kind == WITH_ARTICLE:
            return end < len(heard.number) and heard.number[end] and not heard.clause[end - 1]
        everyday = listed and end - start == 1 and rarity(heard.plain[start]) < EVERYDAY
        return not everyday or bool(self._at_home(heard, span, entry))

    def _weighed(self, heard: _Heard, span: tuple[int, int], entry: Wanted, likeness: float, listed: bool) -> Change:
        words = _words(heard, *span)
        reasons = self._reasons(heard, span, entry)
        need = self._need(heard, span, entry) - sum(reasons.values())
        told = "listed as a sound-alike" if listed else f"sounds like it ({likeness:.2f}, asked {need:.2f})"
        grounds = ", ".join([told, _origin(entry), *reasons])
        return Change(*span, entry.text, likeness, need, f"{' '.join(words)!r} read as {entry.text!r}: {grounds}")

    def _need(self, heard: _Heard, span: tuple[int, int], entry: Wanted) -> float:
        sounds = min(len(entry.sounds), len(pronounce_words(_words(heard, *span))))
        base = self.limits.base[0 if sounds <= 5 else 1]
        start, end = span
        given = [p for p in heard.probability[start:end] if p is not None]
        doubt = self.limits.doubt * (self.limits.usual - sum(given) / len(given)) if given else -self.limits.typed
        comma = self.limits.across_comma * any(heard.clause[start:end - 1])
        return base + self.limits.everyday * (1 - _oddness(heard, start, end)) - doubt + comma

    def _reasons(self, heard: _Heard, span: tuple[int, int], entry: Wanted) -> dict[str, float]:
        """What makes the term likely here, by its words, with what it takes off the likeness asked."""
        reasons = {}
        if entry.planned:
            reasons["the plan has it"] = self.limits.planned
        if len(entry.words) > 1 and set(_words(heard, *span)) & {word for word in entry.words if not is_function_word(word)}:
            reasons["part of it was heard"] = self.limits.shared_word
        home = self._at_home(heard, span, entry)
        if home:
            reasons[home] = self.limits.at_home
        return reasons

    def _at_home(self, heard: _Heard, span: tuple[int, int], entry: Wanted) -> str:
        start, end = span
        if entry.kind == "stations":
            return "stands where stations are named" if self._is_call(heard, start, end) else ""
        if entry.kind in ("axes", WITH_ARTICLE, "parameters") and any(heard.number[end:end + 3]):
            return "a number follows"
        if entry.kind == "poll_words" and start and heard.plain[start - 1] in ("the", "a", "first", "go"):
            return "stands where a poll is called"
        return ""

    def _is_call(self, heard: _Heard, start: int, end: int) -> bool:
        """A name begins its clause or follows a word that names follow, and ends its clause or leads on to a call."""
        before = start == 0 or heard.clause[start - 1] or heard.plain[start - 1] in _BEFORE_NAME | self._stations
        after = end == len(heard.plain) or heard.clause[end - 1] or heard.plain[end] in _AFTER_NAME | self._stations
        return before and after


def _heard(tokens: Sequence[Token]) -> _Heard:
    return _Heard(
        tuple("".join(plain_words(token.text)) if "-" in token.text else token.norm.strip("'") for token in tokens),
        tuple(is_number_word(token.text) for token in tokens),
        tuple(token.ends_sentence for token in tokens), tuple(token.ends_clause for token in tokens),
        tuple(token.probability for token in tokens))


def _words(heard: _Heard, start: int, end: int) -> tuple[str, ...]:
    return heard.plain[start:end]


def _likeness(words: Sequence[str], entry: Wanted, least_rest: float) -> float:
    """Of the whole; where words at the edges are shared, the mean of the whole and of what is left, which must be alike itself."""
    whole = _alike(words, entry.words, entry.sounds)
    mine, theirs = _rest(words, entry.words)
    if len(mine) == len(words):
        return whole
    rest = _alike(mine, theirs, pronounce_words(theirs))
    return (whole + rest) / 2 if rest >= least_rest else 0.0


def _alike(words: Sequence[str], wanted: Sequence[str], sounds: Sounds) -> float:
    spelling = fuzz.ratio("".join(words), "".join(wanted)) / 100
    return 0.75 * sound_likeness(pronounce_words(words), sounds) + 0.25 * spelling


def _rest(words: Sequence[str], wanted: Sequence[str]) -> tuple[Sequence[str], Sequence[str]]:
    """What is left of both without the words they share at either end."""
    while words and wanted and words[0] == wanted[0]:
        words, wanted = words[1:], wanted[1:]
    while words and wanted and words[-1] == wanted[-1]:
        words, wanted = words[:-1], wanted[:-1]
    return words, wanted


def _oddness(heard: _Heard, start: int, end: int) -> float:
    """0 for everyday words in everyday company, 1 for words that English hardly has."""
    words = _words(heard, start, end)
    rare = max(rarity(word) for word in words)
    first = start - 1 if start and not heard.clause[start - 1] and not heard.number[start - 1] else start
    last = end + 1 if end < len(heard.plain) and not heard.clause[end - 1] and not heard.number[end] else end
    company = [word for word in heard.plain[first:last] if word]
    strange = odd_pairs(company) if len(company) > 1 else 0.7
    return min(1.0, rare * (0.5 + 0.5 * strange) + 0.3 * strange)


_ENDINGS = ("'s", "s", "es", "ed", "d", "ing", "ings", "er", "ers", "r", "ly", "y", "al", "ment", "")


def _adds_nothing(words: Sequence[str], wanted: Sequence[str]) -> bool:
    """Whether the term is the same words, or has or lacks whole words only: nothing was misheard then."""
    words, wanted = spelt_out(words), spelt_out(wanted)
    mine, theirs = _rest(words, wanted)
    whole, other = "".join(words), "".join(wanted)
    return not mine or not theirs or set(words) <= set(wanted) or whole in other or other in whole or _same_word(words, wanted)


def _same_word(words: Sequence[str], wanted: Sequence[str]) -> bool:
    """Whether the two differ by endings or by English and American spelling alone; then nothing is wrong."""
    if len(words) != len(wanted):
        return "".join(words) == "".join(wanted)
    return all(_same(a, b) for a, b in zip(words, wanted, strict=True))


def _same(a: str, b: str) -> bool:
    a, b = (word.replace("z", "s").replace("our", "or").replace("tre", "ter") for word in (a, b))
    short, long = sorted((a, b), key=len)
    stem = next((n for n, (x, y) in enumerate(zip(short, long, strict=False)) if x != y), len(short))
    return stem >= 3 and short[stem:] in _ENDINGS and long[stem:] in _ENDINGS


def _origin(entry: Wanted) -> str:
    return "from the session file" if entry.planned else f"from the pack {entry.origin}"


def _changed(old: Sequence[Token], change: Change) -> list[Token]:
    """The new words over the old ones, one to one where the counts are equal; else the first holds all the old, or the last all the new."""
    new = change.text.split()
    last = old[-1].text
    new[-1] += last[len(last.rstrip(".,?!;:…")):]
    if old[0].text[:1].isupper():
        new[0] = new[0][:1].upper() + new[0][1:]
    cuts = _cuts(len(old), len(new))
    return [_merged(old[a:b], " ".join(new[c:d]), change.why) for (a, b), (c, d) in cuts]


def _cuts(old: int, new: int) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Which old words stand for which new ones: as many pieces as there are of the fewer, cut in proportion."""
    count = min(old, new)
    marks = [(round(i * old / count), round(i * new / count)) for i in range(count + 1)]
    return [((a, b), (c, d)) for (a, c), (b, d) in pairwise(marks)]


def _merged(old: Sequence[Token], text: str, why: str) -> Token:
    first, last = old[0], old[-1]
    span = first.span.hull(last.span) if first.span and last.span else first.span
    known = [token.probability for token in old if token.probability is not None]
    return Token(text, " ".join(token.heard for token in old), first.segment, first.word, span, min(known) if known else None, why)
