"""English letters to sounds, for words that the dictionary lacks: a small table, longest spelling first. Rough by design.

Rules of our own after the usual spelling rules of English; they need only be near enough for likeness of sound.
"""
from functools import lru_cache

LETTER_NAMES = {
    "a": "EY", "b": "B IY", "c": "S IY", "d": "D IY", "e": "IY", "f": "EH F", "g": "JH IY", "h": "EY CH", "i": "AY", "j": "JH EY",
    "k": "K EY", "l": "EH L", "m": "EH M", "n": "EH N", "o": "OW", "p": "P IY", "q": "K Y UW", "r": "AA R", "s": "EH S", "t": "T IY",
    "u": "Y UW", "v": "V IY", "w": "D AH B AH L Y UW", "x": "EH K S", "y": "W AY", "z": "Z IY",
}
_SPELLINGS = {
    spelling: sounds for spelling, _, sounds in (rule.strip().partition(" ") for rule in """
    tion SH AH N|sion ZH AH N|ture CH ER|ough OW|augh AO|eigh EY|igh AY|tch CH|dge JH|sch S K|squ S K W
    ph F|sh SH|ch CH|th TH|wh W|ck K|ng NG|qu K W|gh G|kn N|wr R|ps S|pn N|gn N|mb M
    ai EY|ay EY|ea IY|ee IY|ei IY|ey IY|oa OW|oe OW|oi OY|oy OY|oo UW|ou AW|ow OW|au AO|aw AO|ie IY|ue UW|ui UW|eu UW|ew UW
    ar AA R|er ER|ir ER|or AO R|ur ER|ce S|ci S IH|cy S IY|ge JH|gi JH IH|le AH L
    bb B|cc K|dd D|ff F|gg G|ll L|mm M|nn N|pp P|rr R|ss S|tt T|zz Z
    a AE|b B|c K|d D|e EH|f F|g G|h HH|i IH|j JH|k K|l L|m M|n N|o AA|p P|q K|r R|s S|t T|u AH|v V|w W|x K S|y IY|z Z
    """.replace("\n", "|").split("|")) if spelling
}
_LONG = {"a": "EY", "e": "IY", "i": "AY", "o": "OW", "u": "UW"}


@lru_cache(maxsize=8192)
def read_letters(word: str) -> tuple[str, ...]:
    """Sounds of a word in lower-case letters; a final e is silent and makes the vowel before it long ("gybe")."""
    found: list[str] = []
    at, silent = 0, len(word) > 3 and word.endswith("e") and word[-2] not in "aeiou"
    end = len(word) - 1 if silent else len(word)
    while at < end:
        if silent and at == end - 2 and word[at] in _LONG:
            found.append(_LONG[word[at]])
            at += 1
            continue
        size = next((n for n in (4, 3, 2, 1) if at + n <= end and word[at:at + n] in _SPELLINGS), 1)
        found += _SPELLINGS.get(word[at:at + size], "").split()
        at += size
    return tuple(found)
