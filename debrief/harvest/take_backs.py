"""Values taken back in the same breath: 'ninety two bar, I correct, ninety five bar', '102 over 64, no, hold on, 108 over 64'.

The later value stands, the earlier is none. Common practice, no source.
"""
import re
from collections.abc import Sequence
from dataclasses import replace

from .readout_found import Found
from .view import View

_MENDS = re.compile(r"\b(correction|i correct|correct (that|it)|corrected to|(better )?make (that|it)|i mean|i meant|rather|(scratch|strike) that|"
                    r"i say again|no,? it's|call (it|that)|tell a lie|my (mistake|error)|"
                    r"no,? that's (the|my|your|his|her|a)|misread|disregard( that)?)\b|\bwait( a minute| one)?$")
_DENIES = frozenset("no nope sorry apologies negative wrong oops".split())
_SMALL = frozenset("er uh um oh ah well i'm i am that's it's its is that was make a the beg your pardon now actually hold on wait hang say again "
                   "sec second moment minute".split())
MOST_NUMBERED = 20
MOST_MENDED = 12.0
"""A value said in place of another is no further from it ('one hundred point eight. Call it twelve hundredths since' mends nothing)."""
_PATIENCE = re.compile(r"(hold on|hang on|wait|say again)( a (sec|second|moment|minute))?")
"""Words that ask for patience or a repeat take a value back where nothing else stands between the two."""


def corrects(view: View, start: int, end: int) -> bool:
    """Whether the words [start, end) between two numbers say that the second replaces the first."""
    if end > start and view.turn.tokens[end - 1].text in ("No.", "no.", "Nr.") and end in view.numbers and view.numbers[end].value < MOST_NUMBERED:
        return False  # 'Ammeter No. 1 is 19, No. 2 is ...'
    words = [word for word in view.words[start:end] if word]
    between = " ".join(words)
    denied = bool(_DENIES & set(words)) and set(words) <= _DENIES | _SMALL
    return denied or bool(_MENDS.search(between) or _PATIENCE.fullmatch(between))


def in_place_of(kept: list[Found], found: Found, alike: bool) -> Found:
    """The value that takes back the last of those kept, which is left out where both can be of one thing (alike)."""
    if found.words[-1:] == ("systolic",) and [one.words[-1:] for one in kept[-2:]] == [("systolic",), ("diastolic",)]:
        del kept[-2:]  # '102 over 64, no, 108 over 64': both are told anew
    elif alike:
        before = kept.pop()
        return replace(found, words=before.words, planned=before.planned, subject=before.subject) if found.how else found
    return found


def not_taken_back(view: View, kept: Sequence[Found]) -> list[Found]:
    """The values but those that say no unit and are taken back by what is no readout: 'four and a half, no, four point eight seconds'."""
    told = {found.number.start for found in kept}
    left: list[Found] = []
    for found in kept:
        later = min((number for number in view.numbers if number >= found.end), default=None)
        taken = later is not None and later not in told and found.unit is None and corrects(view, found.end, later)
        left += [] if taken else [found]
    return left
