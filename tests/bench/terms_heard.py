"""Terms of session and lexicon: how many of those said were heard, and how many were heard that nobody said; as heard and as read.

    python tests/bench/terms_heard.py SETS HEARD=NAME ...

SETS holds sessions/NAME.toml and NAME.jsonl (t, end_s, text). A term is heard where it stands in the words of its line, give or take 1.5 s;
false where it stands in no line so near. Everyday words that are no session's own are left out.
"""
import json
import sys
from collections import Counter
from pathlib import Path

from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import load_session
from debrief.wording.correction import corrector_for, read_as
from debrief.wording.vocabulary import plain_words

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


def main(sets: Path, pairs: list[str]) -> None:
    total: dict[str, Counter[str]] = {"heard": Counter(), "read": Counter()}
    for pair in pairs:
        file, name = pair.split("=")
        session, _ = load_session(sets / "sessions" / f"{name}.toml")
        lines = [json.loads(line) for line in (sets / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()]
        segments = read_transcript(Path(file), Source("r1", 0))
        corrector = corrector_for(segments, session)
        terms = {entry.words for entry in corrector.vocabulary.entries if entry.planned or len(entry.words) > 1}
        said = [item for line in lines for item in spread(line["text"], line["t"], line["end_s"])]
        tokens = [token for item in segments for token in read_as(item, corrector)]
        for way in ("heard", "read"):
            words = [(token.span.start_s, part) for token in tokens if token.span
                     for part in plain_words(token.heard if way == "heard" else token.text)]
            total[way] += count(terms, said, words)
    for way, found in total.items():
        print(f"as {way}: {found['found']} of {found['said']} terms ({found['found'] / found['said']:.2f}), "
              f"false {1000 * found['false'] / found['words']:.1f} in 1 000 words")


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
