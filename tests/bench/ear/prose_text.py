"""Ordinary English for the other quarter: WordNet's example sentences, Bible verses, fortunes; none with figures or odd characters."""
import re
import subprocess
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

WORDNET = Path("/usr/share/wordnet")  # Debian wordnet-base
FORTUNES = Path("/usr/share/games/fortunes")  # Debian fortunes, fortunes-min
BOOKS = "Genesis Exodus Ruth 1Samuel Esther Proverbs Ecclesiastes Mark Luke Acts".split()  # read with Debian bible-kjv
PLAIN = re.compile(r"[A-Za-z][A-Za-z' ,.?!-]+")


def suited(text: str) -> bool:
    words = text.split()
    return (4 <= len(words) <= 32 and PLAIN.fullmatch(text) is not None and not re.search(r"\b[A-Z]{2,}\b|--|\.\.|\b[b-hj-zB-HJ-Z]\b|\b\w{1,4}\.\s", text)
            and sum(word[0].isupper() for word in words) <= 3)


def tidy(text: str) -> str:
    text = re.sub(r"\s+", " ", text).strip(" \"'")
    text = text[:1].upper() + text[1:]
    return text if text[-1:] in {".", "?", "!"} else text.rstrip(",;:") + "."


@cache
def examples() -> tuple[str, ...]:
    found = []
    for kind in ("noun", "verb", "adj", "adv"):
        lines = (WORDNET / f"data.{kind}").read_text(encoding="utf-8", errors="replace")
        found += [tidy(match) for match in re.findall(r'"([^"]{18,170})"', lines)]
    return tuple(text for text in found if suited(text))


@cache
def verses() -> tuple[str, ...]:
    found = []
    for book in BOOKS:
        said = subprocess.run(["bible", "-f", f"{book}1:1-{book}12"], capture_output=True, text=True, check=False).stdout
        found += [tidy(re.sub(r"^\S+ ", "", line).replace(":", ",").replace(";", ",")) for line in said.splitlines()]
    return tuple(text for text in found if suited(text))


@cache
def fortunes() -> tuple[str, ...]:
    found = []
    for name in ("wisdom", "literature", "miscellaneous", "work", "science", "travel", "weather", "pets", "food", "news", "people", "platitudes"):
        path = FORTUNES / name
        if path.exists():
            for item in path.read_text(encoding="utf-8", errors="replace").split("\n%\n"):
                said = re.sub(r"\s+", " ", item.split("\t\t--")[0])
                found += [tidy(part) for part in re.split(r"(?<=[.?!])\s+", said) if part]
    return tuple(text for text in found if suited(text))


def prose_line(rng: Random) -> dict[str, Any]:
    """One utterance: {'text', 'terms': [], 'kind': 'prose'}; one to three sentences of one source."""
    pool = rng.choices((examples(), verses() or examples(), fortunes() or examples()), (60, 18, 22))[0]
    text = rng.choice(pool)
    while len(text) < 170 and rng.random() < 0.35:
        text += " " + rng.choice(pool)
    return {"text": text, "terms": [], "kind": "prose"}
