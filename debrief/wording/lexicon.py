"""The lexicon: what a trade says, in packs of terms; loaded and checked, all faults of all files at once.

Conventions: a pack is one TOML file; its grammar stands at the top of lexicon/core.toml. Checks are strict: an unknown key is a
fault, not a warning, because a mistyped key would silently lose words. tomllib tells no line numbers: pack_lines.py scans for them.
Packs lie in the repository's lexicon/ (editable install) or inside the package (wheel); a user's own lie beside the session file.
"""
import difflib
import hashlib
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..errors import Fault, LexiconError
from ..small_files import parse_toml, read_small
from .pack_lines import PackLines
from .protected import is_number_word

TermKind = Literal[
    "prowords", "numbers", "letters", "units", "parameters", "parts", "stations", "phrases", "states", "poll_words",
]
SLOTS = frozenset({"station", "parameter", "subject", "value", "unit", "axis", "rating", "top", "answer", "clock", "time", "step", "card"})
FRAME_KINDS = frozenset({"readouts", "ratings", "polls", "clock_calls", "steps", "readbacks"})
PHONES = frozenset("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split())
_SLOT = re.compile(r"\{([^}]*)\}")
MOST_BYTES = 8_000_000
_DO = "mend those lines; the grammar stands at the top of core.toml"


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True, str_min_length=1)


class PackHead(_Strict):
    """name: one word, used to ask for the pack; about: one sentence."""

    name: str
    about: str


class TermEntry(_Strict):
    """A term as a pack writes it. say: ARPAbet of the whole term; unit and dimension: of parameters and units only."""

    term: str
    source: str
    spoken: tuple[str, ...] = ()
    sound_alikes: tuple[str, ...] = ()
    say: tuple[str, ...] = ()
    unit: str | None = None
    dimension: str | None = None
    means: str | None = None


class FrameEntry(_Strict):
    """A wording with {slots}, for one kind of row."""

    frame: str
    kind: str
    source: str


class PackFile(_Strict):
    pack: PackHead
    sources: Mapping[str, str] = Field(default_factory=dict)
    prowords: tuple[TermEntry, ...] = ()
    numbers: tuple[TermEntry, ...] = ()
    letters: tuple[TermEntry, ...] = ()
    units: tuple[TermEntry, ...] = ()
    parameters: tuple[TermEntry, ...] = ()
    parts: tuple[TermEntry, ...] = ()
    stations: tuple[TermEntry, ...] = ()
    phrases: tuple[TermEntry, ...] = ()
    states: tuple[TermEntry, ...] = ()
    poll_words: tuple[TermEntry, ...] = ()
    frames: tuple[FrameEntry, ...] = ()


_PARTS: dict[str, type[BaseModel]] = {"pack": PackHead, "frames": FrameEntry}


@dataclass(frozen=True, slots=True)
class Term:
    """One term of the lexicon. forms: every way it is said, the term itself first; source: in full; line: 1-based, in its file."""

    term: str
    kind: TermKind
    pack: str
    source: str
    forms: tuple[str, ...]
    sound_alikes: tuple[str, ...] = ()
    say: tuple[tuple[str, ...], ...] = ()
    unit: str | None = None
    dimension: str | None = None
    means: str | None = None
    file: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """A wording with {slots} for rows of one kind; pack and source as for terms."""

    frame: str
    kind: str
    pack: str
    source: str


@dataclass(frozen=True)
class Lexicon:
    """All packs that are loaded, terms in the order of the files."""

    packs: tuple[str, ...] = ()
    terms: tuple[Term, ...] = ()
    frames: tuple[Frame, ...] = ()

    def of_kind(self, *kinds: TermKind) -> tuple[Term, ...]:
        return tuple(term for term in self.terms if term.kind in kinds)

    def frames_of(self, kind: str) -> tuple[str, ...]:
        return tuple(frame.frame for frame in self.frames if frame.kind == kind)

    @cached_property
    def by_form(self) -> Mapping[str, tuple[Term, ...]]:
        """Terms by each spoken form, in lower case."""
        found: dict[str, list[Term]] = {}
        for term in self.terms:
            for form in term.forms:
                found.setdefault(form.lower(), []).append(term)
        return {form: tuple(terms) for form, terms in found.items()}

    @cached_property
    def digest(self) -> str:
        """sha256 of everything the packs say, wherever their files lie: equal digests read alike."""
        said = [(term.term, term.kind, term.pack, term.forms, term.sound_alikes, term.say, term.unit, term.dimension) for term in self.terms]
        return hashlib.sha256(repr((self.packs, said, self.frames)).encode()).hexdigest()


def packs_folder() -> Path:
    """Where the tool's own packs lie: inside the package (wheel) or beside it (editable install)."""
    inside = Path(__file__).resolve().parents[1] / "_lexicon"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[2] / "lexicon"


def own_packs() -> dict[str, Path]:
    """The tool's own packs by name."""
    return {path.stem: path for path in sorted(packs_folder().glob("*.toml"))}


def packs_for(asked: Sequence[str] = (), beside: Path | None = None) -> tuple[Path, ...]:
    """Files to load: core always; the packs asked for by name or path (all own packs when none is), and lexicon/*.toml beside a session.

    beside: the session file's folder. Raises LexiconError with every name that is neither a pack nor a file.
    """
    own, folder = own_packs(), beside or Path()
    named = {item: own.get(item) or folder / item for item in asked}
    faults = [_no_such_pack(item, own) for item, path in named.items() if not path.is_file()]
    if faults:
        raise LexiconError("packs that do not exist", str(folder), "name a pack of the tool or a file beside the session", faults)
    chosen = [own["core"], *(named.values() if asked else own.values()), *sorted((folder / "lexicon").glob("*.toml") if beside else ())]
    return tuple(dict.fromkeys(path.resolve() for path in chosen))


def _no_such_pack(item: str, own: Mapping[str, Path]) -> Fault:
    near = difflib.get_close_matches(item, own, 1)
    return Fault(f"no pack or file {item!r}", "lexicon", hint=f"did you mean {near[0]!r}?" if near else f"packs: {', '.join(own)}")


@lru_cache(maxsize=16)
def load_lexicon(paths: tuple[Path, ...] | None = None) -> Lexicon:
    """Read and check packs (default: the tool's own). Raises LexiconError with every fault of every file."""
    packs: list[str] = []
    terms: list[Term] = []
    frames: list[Frame] = []
    faults: list[Fault] = []
    for path in packs_for() if paths is None else paths:
        pack, found = _read_pack(path)
        faults += found
        if pack is None:
            continue
        if pack.pack.name in packs:
            faults.append(Fault(f"a second pack named {pack.pack.name!r}", str(path), hint="give it a name of its own"))
        packs.append(pack.pack.name)
        terms += _terms(pack, path)
        frames += [Frame(item.frame, item.kind, pack.pack.name, pack.sources.get(item.source, item.source)) for item in pack.frames]
    if faults:
        raise LexiconError(f"{len(faults)} fault{'s' * (len(faults) > 1)} in the lexicon", todo=_DO, faults=faults)
    return Lexicon(tuple(packs), tuple(terms), tuple(frames))


def _terms(pack: PackFile, path: Path) -> Iterator[Term]:
    lines = PackLines(path.read_text(encoding="utf-8"))
    for kind in get_args(TermKind):
        for index, entry in enumerate(getattr(pack, kind)):
            yield Term(entry.term, kind, pack.pack.name, pack.sources[entry.source],
                       tuple(dict.fromkeys((entry.term, *entry.spoken))), entry.sound_alikes,
                       tuple(tuple(text.split()) for text in entry.say), entry.unit, entry.dimension, entry.means,
                       path.name, lines.of((kind, index)))


def _read_pack(path: Path) -> tuple[PackFile | None, list[Fault]]:
    """The pack, or None with what is wrong; faults carry 'file path' and line."""
    try:
        text = read_small(path, MOST_BYTES)
        data = parse_toml(text)
    except OSError as error:
        return None, [Fault(f"cannot be read: {error.strerror}", path.name)]
    except UnicodeDecodeError:
        return None, [Fault("not UTF-8 text", path.name, hint="save the file as UTF-8")]
    except tomllib.TOMLDecodeError as error:
        return None, [_toml_fault(error, path)]
    except ValueError as error:
        return None, [Fault(str(error), path.name, hint="is it a pack?")]
    lines = PackLines(text)
    try:
        pack = PackFile.model_validate(data)
    except ValidationError as error:
        return None, [_fault_of(item, path, lines) for item in error.errors()]
    faults = [Fault(what, f"{path.name} {_dotted(place)}", lines.of(place), hint) for place, what, hint in _content_faults(pack)]
    return (None, faults) if faults else (pack, [])


def _toml_fault(error: tomllib.TOMLDecodeError, path: Path) -> Fault:
    found = re.search(r"\(at line (\d+), column \d+\)", str(error))
    return Fault(f"not valid TOML: {str(error).split(' (at')[0]}", path.name, int(found[1]) if found else None)


def _fault_of(item: Mapping[str, Any], path: Path, lines: PackLines) -> Fault:
    place = tuple(item["loc"])
    what, hint = item["msg"], ""
    if item["type"] == "extra_forbidden":
        known: type[BaseModel] = PackFile if len(place) == 1 else _PARTS.get(str(place[0]), TermEntry)
        near = difflib.get_close_matches(str(place[-1]), list(known.model_fields), 1)
        what, hint = f"unknown key {place[-1]!r}", f"did you mean {near[0]!r}?" if near else ""
    elif item["type"] == "missing":
        what = f"{place[-1]!r} is missing"
    return Fault(what, f"{path.name} {_dotted(place)}", lines.of(place), hint)


def _dotted(place: Sequence[str | int]) -> str:
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in place).lstrip(".")


def _content_faults(pack: PackFile) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """What the shape of a file cannot tell: sources, pronunciations, slots, terms given twice."""
    seen: dict[tuple[str, str], int] = {}
    for kind in get_args(TermKind):
        for index, entry in enumerate(getattr(pack, kind)):
            here = (kind, index)
            yield from ((here, what, hint) for what, hint in _entry_faults(entry, kind, pack.sources))
            first = seen.setdefault((kind, entry.term.lower()), index)
            if first != index:
                yield here, f"{entry.term!r} stands twice among {kind}", "put all its forms into one entry"
    for index, frame in enumerate(pack.frames):
        yield from ((("frames", index), what, hint) for what, hint in _frame_faults(frame, pack.sources))


def _entry_faults(entry: TermEntry, kind: str, sources: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    if entry.source not in sources:
        yield _no_source(entry.source, sources)
    for text in entry.say:
        strange = [phone for phone in text.split() if phone not in PHONES]
        if strange:
            yield f"no such sound: {' '.join(strange)}", "write ARPAbet without stress marks, as in 'N UW M OW'"
    held = sorted({word for text in entry.sound_alikes for word in text.lower().split() if is_number_word(word)})
    if kind != "numbers" and held:
        yield f"a sound-alike holds {held[0]!r}, which counts as a number word", "no correction may read or write numbers"
    if kind not in ("parameters", "units") and (entry.unit or entry.dimension):
        yield f"{kind} have no unit or dimension", "only parameters and units do"
    same = {form.lower() for form in (entry.term, *entry.spoken)} & {form.lower() for form in entry.sound_alikes}
    if same:
        yield f"{min(same)!r} is both a form and a sound-alike", "a sound-alike is what a recogniser writes wrongly"


def _frame_faults(frame: FrameEntry, sources: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    if frame.source not in sources:
        yield _no_source(frame.source, sources)
    if frame.kind not in FRAME_KINDS:
        yield f"no such kind of row: {frame.kind!r}", f"one of {', '.join(sorted(FRAME_KINDS))}"
    for slot in _SLOT.findall(frame.frame):
        if slot not in SLOTS:
            near = difflib.get_close_matches(slot, SLOTS, 1)
            yield f"no such slot: {{{slot}}}", f"did you mean {{{near[0]}}}?" if near else ""


def _no_source(name: str, sources: Mapping[str, str]) -> tuple[str, str]:
    near = difflib.get_close_matches(name, sources, 1)
    return f"source {name!r} does not stand under [sources]", f"did you mean {near[0]!r}?" if near else "add it there"
