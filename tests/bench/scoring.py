"""Word error for benchmarks: one plain normaliser for every system compared, the alignment from jiwer."""
import re

import jiwer

_UNITS = {word: str(value) for value, word in enumerate(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
    .split())} | {"oh": "0", "niner": "9"}
_TENS = {word: value for value, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2)}
_SAME = {"okay": "ok", "rog": "roger", "thats": "that is", "im": "i am", "were": "were"}


def normal(text: str) -> list[str]:
    """Lower case, no punctuation, number words as figures, figures that follow each other run together."""
    text = re.sub(r"\([^)]*\)|\[[^\]]*\]", " ", text.lower()).replace("’", "'").replace("'", "")
    text = re.sub(r"(\d)[.,](\d)", r"\1\2", text)
    words = [_SAME.get(word, word) for word in re.sub(r"[^a-z0-9]+", " ", text).split()]
    out: list[str] = []
    after_tens = False
    for word in words:
        figure = _UNITS.get(word, f"{_TENS[word]}0" if word in _TENS else word)
        if after_tens and len(figure) == 1 and figure.isdigit():
            out[-1] = out[-1][:-1] + figure
        elif figure.isdigit() and out and out[-1].isdigit():
            out[-1] += figure
        else:
            out.append(figure)
        after_tens = word in _TENS
    return out


def errors(reference: str, heard: str) -> dict[str, int]:
    """Words of the reference, and substituted, deleted and inserted ones."""
    left, right = normal(reference), normal(heard)
    if not left:
        return {"words": 0, "substituted": 0, "deleted": 0, "inserted": len(right)}
    result = jiwer.process_words(" ".join(left), " ".join(right))
    return {"words": len(left), "substituted": result.substitutions, "deleted": result.deletions, "inserted": result.insertions}


def rate(counts: dict[str, int]) -> float:
    """Word error rate of summed counts."""
    return (counts["substituted"] + counts["deleted"] + counts["inserted"]) / max(1, counts["words"])
