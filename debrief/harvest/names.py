"""Numbers that are names, counts or figures of speech, and no values: callsigns, card and panel numbers, clock positions, 'that one'.

A general test of language: what kind of word stands before and behind. Common practice, no source.
"""
from ..records.talk import Number, Turn
from ..units import read_unit
from .view import View

NAMED_THINGS = frozenset(
    "number numbers no no. nr card cards step steps panel page program programme verb noun loop channel frame marker clamp bottle battery bus "
    "inverter fuse fuses position seat bay door hatch station stations gate table test run item paragraph section sheet box cell pump valve "
    "engine motor thruster quad gyro computer camera mag magazine recorder radio mode phase stage rev revs orbit lap pass site area sector "
    "waypoint runway flight unit version block type model diver subject lane berth pier deck floor room hall bed post boat car "
    "picket chase target round trial attempt drop dive plan profile switch button key line group team crew zone grid point "
    "window column row day week month tape side leg circuit loop string sample probe sensor tank carriage coach portal shaft "
    "hoist winch drum tower pylon wagon truck appliance pad tei star vox figure code alarm map chart tab book volume shift platoon squad".split())
_NOT_AFTER = frozenset("is are was were reads reading at shows of about to".split())
_PRONOUN_BEFORE = frozenset("that this which the each every any no another other only good big last next first second right left wrong new "
                            "old bad same third final easy hard easier better worse every a one".split())
_IDIOM_AFTER = frozenset("o'clock oclock by of more another thing point-scale".split())
_ALPHABET = frozenset("alpha alfa bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike november oscar papa quebec romeo "
                      "sierra tango uniform victor whiskey xray x-ray yankee zulu".split())


def name_like(view: View, number: Number, pairs: frozenset[tuple[str, str]]) -> bool:
    """Whether a number names a thing. pairs: (word, number) that recur in the talk as callsigns ('thistle', 'two')."""
    words, start, end = view.words, number.start, number.end
    before, after = _at(words, start - 1), _at(words, end)
    if number.form == "ordinal" or any(mention.start <= start < mention.end for mention in view.names):
        return True
    if after in ("o'clock", "oclock") or (after == "by" and _at(words, end + 1) in ("five", "four", "three", "5", "4", "3")):
        return True
    if before == "by" and start >= 2 and (start - 2) in view.numbers:
        return True
    if read_unit(words, end) is not None or "." in number.text or number.value_high is not None:
        return False
    if (before, str(number.value)) in pairs or _alphabetic(words, start, end):
        return True
    small = number.value == int(number.value) and 0 <= number.value < 1000
    if small and _named_thing(view, start):
        return True
    return _figure_of_speech(view, number, before, after)


def _at(words: tuple[str, ...], index: int) -> str:
    return words[index] if 0 <= index < len(words) else ""


def _alphabetic(words: tuple[str, ...], start: int, end: int) -> bool:
    """'one alpha', 'bravo two', 'area 1 Charlie'."""
    return _at(words, end) in _ALPHABET or _at(words, start - 1) in _ALPHABET


def _named_thing(view: View, start: int) -> bool:
    before = _at(view.words, start - 1)
    if view.turn.tokens[start - 1].text[-1:] in ".?!;:—" if start else True:
        return False
    singular = before.removesuffix("s") if before not in NAMED_THINGS else before
    if before in NAMED_THINGS or singular in NAMED_THINGS:
        return True
    # "frame twelve and thirteen", "marker two to marker six"
    return before in ("and", "or", "to") and start >= 2 and any(n.end == start - 1 and _named_thing(view, s) for s, n in view.numbers.items()
                                                             if s < start)


def _figure_of_speech(view: View, number: Number, before: str, after: str) -> bool:
    words = view.words
    if words[number.start] in ("one", "a") and number.end == number.start + 1 and number.value == 1:
        stands = before in ("is", "at", "reads", "to", "plus", "minus") or view.turn.tokens[number.end - 1].ends_clause
        return not stands or before in _PRONOUN_BEFORE
    if after == "of" and _at(words, number.end + 1) in ("the", "them", "us", "you", "these", "those"):
        return True
    if before == "of" and _at(words, number.start - 2) == "out":
        return True
    return before in ("these", "those", "them") or after in ("times", "people", "men", "women", "of")


def callsign_pairs(turns: list[Turn], numbers: tuple[tuple[Number, ...], ...]) -> frozenset[tuple[str, str]]:
    """Word and number that stand together again and again, capitalised, with no unit: 'Friendship Seven', 'Thistle Two'."""
    seen: dict[tuple[str, str], int] = {}
    for turn in turns:
        for number in numbers[turn.index]:
            if number.start == 0 or number.end != number.start + 1 or number.value != int(number.value) or number.value > 99:
                continue
            word = turn.tokens[number.start - 1]
            named = word.text[:1].isupper() and not word.text.isupper() and not word.ends_clause
            if named and word.norm not in _NOT_AFTER:
                key = (word.norm, str(number.value))
                seen[key] = seen.get(key, 0) + 1
    return frozenset(key for key, count in seen.items() if count >= 3)
