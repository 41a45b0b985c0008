"""The words that may be meant: names and phrases of the session file, and terms of the packs whose trade is recognised.

A pack other than core speaks only when it was asked for in the session file, or when enough of its own terms stand there or were heard
exactly: the words of one trade must not creep into the talk of another. No entry holds a number word; names are cut there.
"""
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from ..session import Session
from .english import is_function_word, rarity
from .lexicon import Lexicon, Term
from .protected import is_number_word
from .soundalike import PLACE, Sounds, pronounce_words

PACK_NEEDS_PLANNED, PACK_NEEDS_HEARD = 2, 4
LONE_WORD_LETTERS, LONE_WORD_RARITY = 5, 0.25
LONGEST_PHRASE = 4
WITH_ARTICLE = "axes with their article"
"""'Pitch a three': the article runs into the name, and a recogniser writes one word for both."""
_CUT = re.compile(r"[,;:()/]|\.\s|\s-\s")
_WORD = re.compile(r"[A-Za-z][A-Za-z'\-]*")


@dataclass(frozen=True, slots=True)
class Wanted:
    """One thing that may be meant. words: lower case; kind: 'stations', 'axes', ... or a kind of the lexicon;

    origin: 'session', or the pack's name; sounds: one run of ARPAbet; sound_alikes: what recognisers write, lower case words.
    """

    text: str
    words: tuple[str, ...]
    kind: str
    origin: str
    sounds: Sounds
    sound_alikes: tuple[tuple[str, ...], ...] = ()

    @property
    def planned(self) -> bool:
        return self.origin == "session"


@dataclass(frozen=True)
class Vocabulary:
    """entries: all that may be meant; known: every form as a tuple of words; single: telling words of any form: those of the plan, and rare ones;

    joined: forms of several words, written as one ("flybywire").
    """

    entries: tuple[Wanted, ...] = ()
    known: frozenset[tuple[str, ...]] = frozenset()
    single: frozenset[str] = frozenset()
    joined: frozenset[str] = frozenset()
    alikes: Mapping[tuple[str, ...], tuple[Wanted, ...]] = field(default_factory=dict)


def plain_words(text: str) -> tuple[str, ...]:
    """Words in lower case, hyphens parted, punctuation left out."""
    return tuple(part for word in _WORD.findall(text.lower()) for part in word.split("-") if part)


def build_vocabulary(lexicon: Lexicon, session: Session, heard: Iterable[Sequence[str]] = ()) -> Vocabulary:
    """Everything that may be meant in this session. heard: the words of each segment, lower case, to recognise the trade by."""
    units = {plain_words(form) for term in lexicon.of_kind("units") for form in term.forms}
    planned = [entry for entry in session_words(session) if entry.words not in units]
    packs = active_packs(lexicon, session, heard)
    entries = [*planned, *(entry for term in lexicon.terms if term.pack in packs for entry in _of_term(term))]
    unique: dict[tuple[str, ...], Wanted] = {}
    for entry in entries:
        unique.setdefault(entry.words, entry)
    known = frozenset(form for words in [*(entry.words for entry in entries), *_all_forms(lexicon)] for form in _numbers_of(words))
    single = frozenset(word for entry in unique.values() for word in entry.words
                       if not is_function_word(word) and (entry.planned or rarity(word) > LONE_WORD_RARITY))
    joined = frozenset("".join(words) for words in known if len(words) > 1)
    return Vocabulary(tuple(unique.values()), known, single, joined, _alikes(unique.values()))


def _numbers_of(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """The form itself, in the plural, and what is somebody's: all of them are right as they stand."""
    yield words
    if words:
        yield from ((*words[:-1], words[-1] + ending) for ending in ("s", "'s", "es"))
        yield (*words[:-1], words[-1].removesuffix("s"))


def _all_forms(lexicon: Lexicon) -> frozenset[tuple[str, ...]]:
    return frozenset(plain_words(form) for term in lexicon.terms for form in term.forms)


def _alikes(entries: Iterable[Wanted]) -> dict[tuple[str, ...], tuple[Wanted, ...]]:
    found: dict[tuple[str, ...], tuple[Wanted, ...]] = {}
    for entry in entries:
        for words in entry.sound_alikes:
            found[words] = (*found.get(words, ()), entry)
    return found


def active_packs(lexicon: Lexicon, session: Session, heard: Iterable[Sequence[str]] = ()) -> frozenset[str]:
    """Packs whose trade this is: core, those asked for by name, those of which enough stands in the plan or was heard exactly."""
    asked = {name for name in lexicon.packs if name == "core" or name in session.lexicon or name not in _own()}
    forms = _own_forms(lexicon)
    in_plan = _count(forms, [plain_words(text) for text in session_texts(session)])
    in_talk = _count(forms, heard)
    return frozenset(asked | {pack for pack in lexicon.packs
                              if in_plan[pack] >= PACK_NEEDS_PLANNED or in_talk[pack] >= PACK_NEEDS_HEARD})


@lru_cache(maxsize=1)
def _own() -> frozenset[str]:
    from .lexicon import own_packs  # noqa: PLC0415 - read once, only where packs are chosen
    return frozenset(own_packs())


@lru_cache(maxsize=8)
def _own_forms(lexicon: Lexicon) -> Mapping[tuple[str, ...], str]:
    """Forms that one pack alone has and that are not everyday words, by pack."""
    packs: dict[tuple[str, ...], set[str]] = {}
    for term in lexicon.terms:
        for form in term.forms:
            packs.setdefault(plain_words(form), set()).add(term.pack)
    return {words: min(names) for words, names in packs.items() if len(names) == 1 and "core" not in names
            and (len(words) > 1 or (words and rarity(words[0]) > LONE_WORD_RARITY))}


def _count(forms: Mapping[tuple[str, ...], str], texts: Iterable[Sequence[str]]) -> Counter[str]:
    """How many different forms of each pack stand in the texts."""
    found = set()
    longest = max(map(len, forms), default=0)
    for words in texts:
        for size in range(1, longest + 1):
            found |= {tuple(words[i:i + size]) for i in range(len(words) - size + 1)} & forms.keys()
    return Counter(forms[words] for words in found)


def _of_term(term: Term) -> Iterator[Wanted]:
    alikes = tuple(plain_words(text) for text in term.sound_alikes)
    for index, form in enumerate(term.forms):
        words = plain_words(form)
        if words and not any(map(is_number_word, words)) and term.kind != "numbers":
            said = term.say[index] if index < len(term.say) else pronounce_words(form.replace("-", " ").split())
            yield Wanted(form, words, term.kind, term.pack, said, alikes if index == 0 else ())


def session_texts(session: Session) -> Iterator[str]:
    """Every text of a session file that may be spoken."""
    for kind, text in _session_phrases(session):
        if kind:
            yield text


def session_words(session: Session) -> Iterator[Wanted]:
    """Names and phrases of the session file, whole and in telling single words."""
    for kind, text in _session_phrases(session):
        for chunk in _chunks(text):
            words = tuple(word.lower() for word in chunk)
            if words and len(words) <= LONGEST_PHRASE and not all(map(is_function_word, words)):
                yield Wanted(" ".join(chunk), words, kind, "session", pronounce_words(chunk))
                if kind == "axes":
                    yield Wanted(" ".join([*chunk, "a"]), (*words, "a"), WITH_ARTICLE, "session", pronounce_words([*chunk, "uh"]))
            if kind not in ("stations", "roles"):
                yield from _lone_words(chunk, kind)


def _lone_words(chunk: Sequence[str], kind: str) -> Iterator[Wanted]:
    for word in chunk:
        low = word.lower()
        if len(chunk) > 1 and len(low) >= LONE_WORD_LETTERS and rarity(low) > LONE_WORD_RARITY:
            yield Wanted(low, (low,), kind, "session", pronounce_words([low]))


def _chunks(text: str) -> Iterator[tuple[str, ...]]:
    """Stretches between punctuation and numbers, without function words and bare units at their ends."""
    for piece in _CUT.split(text):
        run: list[str] = []
        for word in [*(part for item in piece.split() for part in item.split("-")), "0"]:
            bare = word.strip(".!?\"'")
            if bare and not is_number_word(bare) and _WORD.fullmatch(bare):
                run.append(bare)
                continue
            yield _trimmed(run)
            run = []


def _trimmed(run: list[str]) -> tuple[str, ...]:
    def idle(word: str) -> bool:
        return is_function_word(word.lower()) or (len(word) <= 2 and word.lower() not in PLACE)
    while run and idle(run[0]):
        run = run[1:]
    while run and idle(run[-1]):
        run = run[:-1]
    return tuple(run)


def _session_phrases(session: Session) -> Iterator[tuple[str, str]]:
    for station in session.stations:
        yield from (("stations", name) for name in (station.name, *station.aliases))
        yield "roles", station.role
    for loop in session.loops:
        yield "phrases", f"{loop.name} loop"
    for scale in session.scales:
        yield "axes", scale.name
    for card in session.cards:
        yield "phrases", card.title
        yield from (("phrases", step.text) for step in card.steps)
        yield from (("axes", axis) for rating in card.ratings for axis in rating.axes)
        yield from (("parameters", name) for readout in card.readouts for name in (readout.what, *readout.also_called))
    yield from (("parameters", limit.what) for limit in session.limits)
    yield from (("parameters", name) for item in session.parameters for name in (item.what, *item.also_called))
    yield from (("phrases", text) for clock in session.clocks for text in (clock.name, clock.starts or ""))
