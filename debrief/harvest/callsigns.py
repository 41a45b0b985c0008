"""Callsigns: which stations a turn names, and what the form of a call says about who speaks to whom.

Common practice, no source: 'A, B' calls A and comes from B; 'A, this is B', 'A from B' and 'B to A' say it in full; a name
alone at the start calls that station, or is the answer of a station that was just called; '..., A' at the end thanks or asks A,
or signs an answer with one's own name. Numbers in a callsign are compared as numbers and never by likeness.
"""
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from rapidfuzz import fuzz

from ..records.talk import Token
from ..session import Session
from ..wording.soundalike import pronounce_words, sound_likeness

_FIGURES = {word: str(n) for n, word in enumerate(
    "zero one two three four five six seven eight nine ten eleven twelve".split())} | {"niner": "9", "fife": "5", "tree": "3"}
_OPENERS = frozenset("okay ok all right hello hey yes yeah and well so roger copy thanks thank you now affirm affirmative "
                     "negative good morning afternoon evening".split())
_OWN_VERBS = frozenset("is has hears reads copies here accepts standing".split())
OWN_STATES = frozenset("ready go with here clear standing on back listening up reading copying holding complete green "
                        "good no recycled happy set".split())
_ANSWERS = _OPENERS | OWN_STATES | frozenset("steady stop break mark over out copied received standby abort correct correction hold sorry please "
                                              "clear negative ready stable done over stopped moving running closed open".split())
"""What people say alone as an answer or order: never learnt as the name of a station, however like it sounds ('Ready.' for Rider)."""
LIKE_GO = frozenset("goal gold goals goat ghost blow blue gop gov".split())
"""What recognisers write for 'go' over a bad channel: an answer only in a poll, and doubtful there."""
_OWN_REPORTS = frozenset({("no", "go"), ("good", "signal"), ("5", "by"), ("i", "have"), ("i", "read"), ("i'm", "go"), ("weak", "but"),
                          ("you're", "faint"), ("you're", "weak"), ("you're", "clear"), ("reading", "you"), ("read", "you")})
_ALL: dict[tuple[str, ...], str] = {("all", "stations"): "all", ("everybody",): "all", ("everyone",): "all", ("all",): ""}
_LEARNED_OFTEN, _LEARNED_LIKE, _LEARNED_CLEAR = 2, 0.66, 0.12
_LIKE = 74
_LONG = 5


def plain_word(token: Token) -> str:
    """A word as names are compared: lower case, numbers in figures, possessive and plural apostrophes off."""
    word = token.norm.replace("'s", "").strip("'")
    return _FIGURES.get(word, word)


@dataclass(frozen=True, slots=True)
class Mention:
    """A station named over tokens [start, end); exact: spelt as in the session file; group: several stations at once."""

    start: int
    end: int
    station: str
    exact: bool = True
    group: bool = False


@dataclass(frozen=True, slots=True)
class CallBook:
    """Every name by which stations go, as plain words, to the station; groups ('pickets') to what they are called."""

    names: Mapping[tuple[str, ...], str]
    groups: Mapping[tuple[str, ...], str] = field(default_factory=dict)

    @classmethod
    def of(cls, session: Session) -> "CallBook":
        """Names and aliases of the session's stations, with the shared stems of numbered ones as group names."""
        names: dict[tuple[str, ...], str] = {}
        for station in session.stations:
            for name in (station.name, *station.aliases):
                words = _name_words(name)
                if words:
                    names.setdefault(words, station.name)
        stems: dict[str, set[str]] = {}
        for words, station_name in names.items():
            if len(words) > 1 and words[-1].isdigit():
                stems.setdefault(words[0], set()).add(station_name)
        groups: dict[tuple[str, ...], str] = {(f"{stem}s",): f"{stem}s" for stem, members in stems.items() if len(members) > 1}
        every: dict[tuple[str, ...], str] = {words: name for words, name in _ALL.items() if name}
        return cls(names, {**every, **groups})

    def _with_its_verb(self, words: Sequence[str], index: int) -> Mention | None:
        """'Winches go' for 'Winch is go': the verb runs into the name, and a recogniser writes a plural."""
        for ending in ("es", "s"):
            name = (words[index].removesuffix(ending),)
            if words[index].endswith(ending) and name in self.names and words[index + 1:index + 2] and words[index + 1] in OWN_STATES | LIKE_GO:
                return Mention(index, index + 1, self.names[name], exact=False)
        return None

    def learning(self, talk: Iterable[Sequence[Token]]) -> "CallBook":
        """The book with words added that again and again stand alone as a call does and sound like one station's name more than any other."""
        seen: Counter[str] = Counter()
        for tokens in talk:
            words = [plain_word(token) for token in tokens]
            seen.update(words[i] for i in range(len(words)) if _stands_alone(tokens, words, i))
        firsts = self.first_words
        heard: dict[tuple[str, ...], str] = {(word,): station for word, count in seen.items() if count >= _LEARNED_OFTEN and word not in firsts
                 and (station := self.sounds_like(word)) is not None}
        short = {word: station for word, station in self._short_names().items() if seen[word]}
        heard |= {(word,): station for word, station in short.items() if len(short) > 1 or seen[word] >= _LEARNED_OFTEN}
        return replace(self, names={**heard, **self.names}) if heard else self

    def _short_names(self) -> dict[str, str]:
        """First words that only one station's name has ('East' for East Leaf)."""
        owners: dict[str, set[str]] = {}
        for name, station in self.names.items():
            owners.setdefault(name[0], set()).add(station)
        return {word: next(iter(stations)) for word, stations in owners.items() if len(stations) == 1 and (word,) not in self.names}

    def sounds_like(self, word: str) -> str | None:
        """The station whose name this word sounds like, if no other comes near."""
        said = pronounce_words([word])
        scores: dict[str, float] = {}
        for name, station in self.names.items():
            if len(name) == 1 and name[0].isalpha():
                scores[station] = max(scores.get(station, 0.0), sound_likeness(said, pronounce_words(name)))
        ranked = sorted(scores.items(), key=lambda item: -item[1])
        clear = len(ranked) < 2 or ranked[0][1] - ranked[1][1] >= _LEARNED_CLEAR if ranked else False
        return ranked[0][0] if clear and ranked[0][1] >= _LEARNED_LIKE else None

    @property
    def first_words(self) -> frozenset[str]:
        return frozenset(words[0] for words in (*self.names, *self.groups))

    @property
    def longest(self) -> int:
        return max((len(words) for words in (*self.names, *self.groups)), default=0)

    def at(self, words: Sequence[str], start: int, *, like: bool = False) -> Mention | None:
        """The longest name that begins at this word; with like, also one that only resembles it (never across numbers)."""
        for length in range(min(self.longest, len(words) - start), 0, -1):
            key = tuple(words[start:start + length])
            if key in self.names:
                return Mention(start, start + length, self.names[key])
            counted = words[start + length:start + length + 1]
            if key in self.groups and not (counted and counted[0].isdigit()):
                return Mention(start, start + length, self.groups[key], group=True)
        return self._resembling(words, start) if like else None

    def _resembling(self, words: Sequence[str], start: int) -> Mention | None:
        best, score = None, float(_LIKE)
        for name, station in self.names.items():
            for length in {len(name), len(name) + 1}:
                given = tuple(words[start:start + length])
                likeness = _likeness(name, given) if len(given) == length else 0.0
                if likeness > score:
                    best, score = Mention(start, start + length, station, exact=False), likeness
        return best

    def find(self, words: Sequence[str]) -> tuple[Mention, ...]:
        """All exact mentions in order, never overlapping."""
        firsts, found, index = self.first_words, [], 0
        while index < len(words):
            mention = self.at(words, index) if words[index] in firsts else self._with_its_verb(words, index)
            if mention:
                found.append(mention)
            index = mention.end if mention else index + 1
        return tuple(found)


def _stands_alone(tokens: Sequence[Token], words: Sequence[str], index: int) -> bool:
    """One word that is a clause of its own at the head of a sentence, before more words than a number: the place of a call."""
    if len(words[index]) < _LONG - 1 or not words[index].isalpha() or words[index] in _ANSWERS or not tokens[index].ends_clause:
        return False
    opens = index == 0 or tokens[index - 1].ends_sentence
    return opens and not (index + 1 < len(words) and words[index + 1][:1].isdigit())


def _name_words(name: str) -> tuple[str, ...]:
    words = re.findall(r"[a-z0-9]+", name.lower())
    return tuple(_FIGURES.get(word, word) for word in words if word != "the")


@lru_cache(maxsize=65536)
def _likeness(name: tuple[str, ...], given: tuple[str, ...]) -> float:
    """0 to 100: likeness of the letters; 0 where the numbers differ or the words are too short to judge."""
    if [word for word in name if word.isdigit()] != [word for word in given if word.isdigit()]:
        return 0.0
    one, other = ("".join(word for word in words if not word.isdigit()) for words in (name, given))
    if len(one) < _LONG or len(other) < _LONG - 1:
        return 0.0
    return fuzz.ratio(one, other)


@dataclass(frozen=True, slots=True)
class Call:
    """What a turn's own words say of speaker and addressee.

    by: the speaker names itself; to: it names whom it speaks to; first, last: a name alone at the start or end, which may be
    either; asks: the last station called at the head of any sentence; grounds: in words; rest: first token behind the call.
    """

    by: str | None = None
    to: str | None = None
    first: str | None = None
    last: str | None = None
    grounds: tuple[str, ...] = ()
    rest: int = 0
    group: bool = False
    asks: str | None = None


def read_call(tokens: Sequence[Token], book: CallBook) -> Call:
    """The call at the edges of a turn."""
    if not book.names:
        return Call()
    words = [plain_word(token) for token in tokens]
    start = _behind_openers(words, book)
    first = book.at(words, start, like=True)
    call = (_self_named(words, 0, book) or Call()) if first is None else _from_first(tokens, words, book, first)
    return replace(_signed(tokens, words, book, call), asks=_asked(tokens, words, book, call.rest))


def _asked(tokens: Sequence[Token], words: Sequence[str], book: CallBook, start: int) -> str | None:
    """The last station called at the head of a sentence behind the opening call ('Copied. Anvil, vent flow please.')."""
    asked = None
    for mention in book.find(words):
        heads = mention.start >= start and (mention.start == 0 or tokens[mention.start - 1].ends_sentence
                                            or words[mention.start - 1] == "and")
        if heads and tokens[mention.end - 1].ends_clause and "'s" not in tokens[mention.end - 1].norm:
            asked = mention.station
    return asked


def _behind_openers(words: Sequence[str], book: CallBook) -> int:
    index = 0
    while index < min(4, len(words)) and words[index] in _OPENERS and words[index] not in book.first_words:
        index += 1
    return index


def _from_first(tokens: Sequence[Token], words: Sequence[str], book: CallBook, first: Mention) -> Call:
    follow = book.at(words, first.end, like=True)
    if follow and follow.station == first.station and follow.end < len(words):
        first = Mention(first.start, follow.end, first.station, first.exact)
        follow = book.at(words, first.end, like=True)
    named = _self_named(words, first.end, book)
    if named and named.by != first.station:
        return Call(by=named.by, to=first.station, grounds=named.grounds, rest=named.rest, group=first.group)
    if follow and not follow.group and follow.station != first.station and not _joined(words, first, follow):
        return Call(by=follow.station, to=first.station, rest=follow.end, group=first.group,
                    grounds=(f"'{_said(tokens, first.start, follow.end)}' calls one station and names another",))
    if first.group:
        return Call(to=first.station, rest=first.end, group=True, grounds=(f"'{_said(tokens, first.start, first.end)}' calls",))
    if _speaks_of_itself(tokens, words, first):
        return Call(by=first.station, rest=first.end, grounds=(f"'{_said(tokens, first.start, first.end + 1)}' names itself",))
    if _answers_for_itself(tokens, words, first):
        return Call(by=first.station, rest=first.end, grounds=(f"'{_said(tokens, first.start, first.end + 1)}' answers with its name",))
    if not tokens[first.end - 1].ends_clause and first.end < len(words):
        return Call()
    return Call(first=first.station, rest=first.end)


def _joined(words: Sequence[str], first: Mention, follow: Mention) -> bool:
    return follow.start > first.end and words[first.end] == "and"


def _said(tokens: Sequence[Token], start: int, end: int) -> str:
    return " ".join(token.text for token in tokens[start:end]).rstrip(".,?!")


def _self_named(words: Sequence[str], start: int, book: CallBook) -> Call | None:
    """'this is B', 'from B', 'B here', 'B to A' right here."""
    for lead in (("this", "is"), ("from",), ("it", "is"), ("here", "is")):
        if tuple(words[start:start + len(lead)]) == lead:
            mention = book.at(words, start + len(lead), like=True)
            if mention and not mention.group and (lead != ("it", "is") or mention.end == len(words)):
                return Call(by=mention.station, rest=mention.end, grounds=(f"'{' '.join(lead)}' names itself",))
    return None


def _speaks_of_itself(tokens: Sequence[Token], words: Sequence[str], first: Mention) -> bool:
    """'Winch is on the deck loop', 'Bobbin's with you', 'Ash here', 'Gauge has the hack': the name, then what it does."""
    if first.end >= len(words) or tokens[first.end - 1].ends_clause:
        return False
    after = words[first.end]
    if "'s" in tokens[first.end - 1].norm:
        return after in OWN_STATES or words[first.end:first.end + 2] == ["not", "ready"]
    if after == "on":
        return bool({"loop", "channel", "frequency"} & set(words[first.end:first.end + 5]))
    return after in _OWN_VERBS


def _answers_for_itself(tokens: Sequence[Token], words: Sequence[str], first: Mention) -> bool:
    """'Clover, loud and clear.', 'Anvil, NO GO.': the name, then what only the station itself would say; never a question."""
    if tokens[-1].text.rstrip().endswith("?") or not tokens[first.end - 1].text.rstrip().endswith((",", ".")):
        return False
    after = words[first.end:first.end + 3]
    return after in (["go"], ["sorry"], ["loud", "and", "clear"]) or tuple(after[:2]) in _OWN_REPORTS


def _signed(tokens: Sequence[Token], words: Sequence[str], book: CallBook, call: Call) -> Call:
    """The call with a name at the very end ('..., Thistle Two.') added, where words stand between."""
    for length in range(min(book.longest, len(words)), 0, -1):
        begin = len(words) - length
        if begin <= call.rest or not tokens[begin - 1].ends_clause:
            continue
        mention = book.at(words, begin)
        if mention and mention.end == len(words) and not mention.group:
            return replace(call, last=mention.station)
    return call
