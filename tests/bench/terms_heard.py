"""Terms of session and lexicon: how many of those said were heard, and how many were heard that nobody said; as heard and as read.

    python tests/bench/terms_heard.py SETS HEARD=NAME ... [--show]

SETS holds sessions/NAME.toml and truth/NAME.truth.jsonl (phrases: start_s, end_s, text), or else NAME.jsonl (lines: t, end_s, text);
HEARD is a transcript whose words have times. A term is heard where it stands in
the words of its line, give or take 1.5 s; false where it stands in no line so near. Everyday words that are no session's own are left out.
Counted twice: to the letter, and as one word in all its spellings and numbers ("red's", "red"; "litres", "liters"; "bail out", "bailout"), which
is what a person would call heard. --show: each term missed or false, with what was said and heard there.
"""
import json
import re
import sys
from collections import Counter
from pathlib import Path

from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import load_session
from debrief.wording.correction import corrector_for, read_as
from debrief.wording.vocabulary import WITH_ARTICLE, plain_words

NEAR_S = 1.5
Placed = list[tuple[float, str]]


def count(terms: set[tuple[str, ...]], said: Placed, heard: Placed) -> Counter[str]:
    """found of all said, and false of all heard words."""
    found: Counter[str] = Counter(words=len(heard))
    for term in terms:
        there, here = _places(term, said), _places(term, heard)
        found["said"] += len(there)
        found["found"] += sum(any(abs(at - other) <= NEAR_S for other in here) for at in there)
        found["false"] += sum(not any(abs(at - other) <= NEAR_S for other in there) for at in here)
    return found


def _places(term: tuple[str, ...], words: Placed) -> list[float]:
    size = len(term)
    return [words[i][0] for i in range(len(words) - size + 1) if tuple(word for _, word in words[i:i + size]) == term]


def spread(text: str, start_s: float, end_s: float) -> Placed:
    """Words of a line with times spread evenly."""
    words = plain_words(text)
    return [(start_s + (end_s - start_s) * i / max(1, len(words)), word) for i, word in enumerate(words)]


def said_in(sets: Path, name: str) -> Placed:
    """The words of a session in order of time, from its phrases where they are known, else from its lines."""
    phrases = sets / "truth" / f"{name}.truth.jsonl"
    file = phrases if phrases.exists() else sets / f"{name}.jsonl"
    lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    return sorted(item for line in lines for item in spread(line["text"], line["start_s" if "start_s" in line else "t"], line["end_s"]))


_SPELT = ((re.compile(r"(?:'s|s')$"), ""), (re.compile(r"is(e|ed|es|ing|ation)$"), r"iz\1"), (re.compile(r"(?<=[a-z]t)re(?=s?$)"), "er"),
          (re.compile(r"our(?=s?$|ed$)"), "or"), (re.compile(r"(?<=[a-z]{2}[^s])s$"), ""))


def folded(word: str) -> str:
    """One spelling for a word's possessive, plural, British and American forms."""
    for pattern, instead in _SPELT:
        word = pattern.sub(instead, word)
    return word


def count_folded(terms: set[tuple[str, ...]], said: Placed, heard: Placed, show: str = "") -> Counter[str]:
    """As count, each word folded, and a term found in one word or in several that are written together alike."""
    found: Counter[str] = Counter(words=len(heard))
    left, right = ([(at, folded(word)) for at, word in words] for words in (said, heard))
    for term in {"".join(map(folded, term)): term for term in sorted(terms)}.values():
        there, here = _folded_places(term, left), _folded_places(term, right)
        found["said"] += len(there)
        for at in there:
            found["found"] += (hit := any(abs(at - other) <= NEAR_S for other in here))
            if show and not hit:
                print(f"{show} missed {' '.join(term)!r} at {at:.1f}: {_around(at, said)} | {_around(at, heard)}")
        for at in here:
            found["false"] += (false := not any(abs(at - other) <= NEAR_S for other in there))
            if show and false:
                print(f"{show} false {' '.join(term)!r} at {at:.1f}: {_around(at, said)} | {_around(at, heard)}")
    return found


def _folded_places(term: tuple[str, ...], words: Placed) -> list[float]:
    key = "".join(map(folded, term))
    return [words[i][0] for i in range(len(words)) for size in range(1, len(term) + 2)
            if len(words[i:i + size]) == size and "".join(word for _, word in words[i:i + size]) == key]


def _around(at: float, words: Placed) -> str:
    return " ".join(word for when, word in words if abs(when - at) < 2 * NEAR_S / 1.5)


def main(sets: Path, pairs: list[str], show: bool) -> None:
    total: dict[str, Counter[str]] = {}
    for pair in pairs:
        file, name = pair.split("=")
        session, _ = load_session(sets / "sessions" / f"{name}.toml")
        segments = read_transcript(Path(file), Source("r1", 0))
        corrector = corrector_for(segments, session)
        entries = [entry for entry in corrector.vocabulary.entries if entry.planned or len(entry.words) > 1]
        said = said_in(sets, name)
        tokens = [token for item in segments for token in read_as(item, corrector)]
        for way in ("heard", "read"):
            words = [(token.span.start_s, part) for token in tokens if token.span
                     for part in plain_words(token.heard if way == "heard" else token.text)]
            for how, found in (("to the letter", count({entry.words for entry in entries}, said, words)),
                               ("in any form", count_folded({entry.words for entry in entries if entry.kind != WITH_ARTICLE}, said, words,
                                                            name if show and way == "read" else ""))):
                total.setdefault(f"as {way}, {how}", Counter()).update(found)
    for way, found in total.items():
        print(f"{way}: {found['found']} of {found['said']} terms ({found['found'] / found['said']:.2f}), "
              f"false {found['false']}, {1000 * found['false'] / found['words']:.1f} in 1 000 words")


if __name__ == "__main__":
    main(Path(sys.argv[1]), [item for item in sys.argv[2:] if item != "--show"], "--show" in sys.argv)
