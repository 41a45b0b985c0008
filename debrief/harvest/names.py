"""Numbers that are names, counts or figures of speech, and no values: callsigns, card and panel numbers, clock positions, 'that one'.

A general test of language: what kind of word stands before and behind. Common practice, no source.
"""
import re

from ..records.talk import Number, Turn
from ..units import read_unit
from .codes import is_code
from .parameter_words import HEADS
from .readout_words import AFTER_VALUE, BREAKS, HEDGES, READING_VERBS
from .talk import Talk
from .view import View, once

NAMED_THINGS = frozenset(
    "number numbers no no. nr card cards step steps panel page program programme verb noun loop channel frame marker clamp bottle battery bus "
    "inverter fuse fuses position seat bay door hatch station stations gate table test run item paragraph section sheet box cell pump valve "
    "engine motor thruster quad gyro computer camera mag magazine recorder radio mode phase stage rev revs orbit lap pass site area sector "
    "waypoint runway flight unit version block type model diver subject lane berth pier deck floor room hall bed post boat car "
    "picket chase target round trial attempt drop dive plan profile switch button key line group team crew zone grid point "
    "window column row day week month tape side leg circuit loop string sample probe sensor tank carriage coach portal shaft "
    "hoist winch drum tower pylon wagon truck appliance pad tei star vox figure code alarm map chart tab book volume shift platoon squad "
    "cast ladle stake peg borehole pile strut jack sling rake tuyere tray".split())
_MACHINES, _MOST_MACHINES = frozenset("engine motor pump thruster inverter computer gyro tank bottle battery bus drum volume circuit drop".split()), 20
ORBIT = frozenset("orbit orbital apogee perigee apolune perilune".split())
"""Where one of these is said, 'A by B' is a highest and a lowest height."""
_NOT_AFTER = frozenset("is are was were reads reading at shows of about to".split())
_PRONOUN_BEFORE = frozenset("that this which the each every any no another other only good big last next first second right left wrong new "
                            "old bad same third final easy hard easier better worse every a one".split())
_IDIOM_AFTER = frozenset("o'clock oclock by of more another thing point-scale".split())
_ALPHABET = frozenset("alpha alfa bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike november oscar papa quebec romeo "
                      "sierra tango uniform victor whiskey xray x-ray yankee zulu".split())


def pairs_of(talk: Talk) -> frozenset[tuple[str, str]]:
    """(word, number) of the talk's callsigns, found once."""
    return once(talk, "callsign pairs", lambda given: callsign_pairs(list(given.turns), given.numbers))


def names_thing(talk: Talk, view: View, number: Number) -> bool:
    """name_like for the talk's callsigns, each number judged once."""
    known = once(talk, "numbers that name", lambda _: dict[tuple[int, Number], bool]())
    key = (view.turn.index, number)
    if key not in known:
        known[key] = name_like(view, number, pairs_of(talk))
    return known[key]


def name_like(view: View, number: Number, pairs: frozenset[tuple[str, str]]) -> bool:
    """Whether a number names a thing. pairs: (word, number) that recur in the talk as callsigns ('thistle', 'two')."""
    if number.form == "ordinal" or any(mention.start <= number.start and number.end <= mention.end for mention in view.names):
        return True
    if is_code(view, number) or any(test(view, number) for test in (_test_point, _labels, _of_a_count, _position, _attributive, _listed_name, _in_a_word, _gas)):
        return True
    if read_unit(view.words, number.end) is not None or "." in number.text or number.value_high is not None:
        return False
    before, after = _at(view.words, number.start - 1), _at(view.words, number.end)
    if (before, str(number.value)) in pairs or _alphabetic(view.words, number.start, number.end) or (before == "level" and 0 < number.value <= 5):
        return True
    if _one_of_its_sort(view, number) or _tail_of_callsign(view, number, pairs) or _clock_groups(view, number):
        return True
    small = number.value == int(number.value) and 0 <= number.value < 1000
    if _of_a_kind(view, number):
        return True
    if small and (_placed(view, number) or _in_place(view, number) or _tagged(view, number) or _listed_places(view, number)):
        return True
    return (small and _named_thing(view, number.start)) or _figure_of_speech(view, number, before, after) or _one_left_over(view, number)


def _test_point(view: View, number: Number) -> bool:
    """'Test point one zero one', 'hover performance, point one.': a noun, and no decimal point."""
    if _at(view.words, number.start) != "point":
        return False
    first, stop = view.sentence(number.start)
    named = view.turn.tokens[number.start - 1].text.endswith(",") and all(
        word.isalpha() and word not in HEADS and word not in BREAKS | READING_VERBS | {"ratio"} and word.removesuffix("s") not in HEADS
        for word in view.words[first:number.start])
    alone = number.start > first and stop == number.end == number.start + 2 and not any(first <= one < number.start for one in view.numbers)
    return _at(view.words, number.start - 1) == "test" or alone and named


def _of_a_count(view: View, number: Number) -> bool:
    """'T minus three'."""
    lead = view.words[max(0, number.start - 2):number.end]
    return lead[:2] in (("t", "minus"), ("t", "plus")) or lead[1:3] in (("t", "minus"), ("t", "plus")) or "--" in lead


def _position(view: View, number: Number) -> bool:
    """'ten o'clock', 'five by five'."""
    words, end = view.words, number.end
    if ORBIT & set(words):
        return False
    if _at(words, number.start - 1) == "at" and "o'clock" in words[:end] and 0 < number.value <= 12 and view.turn.tokens[end - 1].ends_clause:
        return True
    if _at(words, end) in ("o'clock", "oclock") or (_at(words, end) == "by" and _at(words, end + 1) in ("five", "four", "three", "5", "4", "3")):
        return True
    return _at(words, number.start - 1) == "by" and number.start >= 2 and (number.start - 2) in view.numbers


def _gas(view: View, number: Number) -> bool:
    """'P O 2 is one point two', as a recogniser cuts the names of gases."""
    lead = _at(view.words, number.start - 1)
    return number.value == 2 and number.end == number.start + 1 and lead == "o" and _at(view.words, number.end) != "" \
        and read_unit(view.words, number.end) is None


def _one_left_over(view: View, number: Number) -> bool:
    """'... one': the word alone behind what could not be made out."""
    behind_gap = view.words[number.start:number.end] == ("one",) and number.start > 0 and view.turn.tokens[number.start - 1].text.endswith("...")
    return behind_gap and not any(other.end == number.start for other in view.numbers.values())


def _at(words: tuple[str, ...], index: int) -> str:
    return words[index] if 0 <= index < len(words) else ""


def _alphabetic(words: tuple[str, ...], start: int, end: int) -> bool:
    """'one alpha', 'bravo two', 'area 1 Charlie'."""
    short = end - start == 1 and len(words[start].strip("0123456789")) != 0 or len(words[start]) <= 2
    return short and (_at(words, end) in _ALPHABET or _at(words, start - 1) in _ALPHABET)


def _named_thing(view: View, start: int) -> bool:
    before = _at(view.words, start - 1)
    if before == "no" and view.turn.tokens[start - 1].text == "No." and _at(view.words, start + 1) in READING_VERBS and start > 1:
        return True  # 'Ammeter No. 1 is 19, No. 2 is ...'
    if before == "no" and (view.turn.tokens[start - 1].text.endswith(",") or any(0 < start - n.end <= 3 for n in view.numbers.values())):
        return False  # 'one oh four, no, one oh one'
    if before not in _THROUGH and start > 1 and not view.turn.tokens[start - 2].ends_clause and any(
            number.end == start - 1 for number in view.numbers.values()):
        return False  # 'number one battery 24': numbered already
    if view.turn.tokens[start - 1].text[-1:] in ".?!;:—" if start else True:
        return False
    if before == "point" and _at(view.words, start - 2) in ("dew", "set", "freezing", "boiling", "melting"):
        return False
    if before == "nr" and view.turn.tokens[start - 1].text == "NR" and start in view.numbers and view.numbers[start].value > _MOST_MACHINES:
        return False  # rotor speed
    singular = before.removesuffix("s") if before not in NAMED_THINGS else before
    if before in _MACHINES and start in view.numbers and view.numbers[start].value > _MOST_MACHINES:
        return False  # 'engine eighty eight', 'inverter 117': so many there are not
    if before in NAMED_THINGS or singular in NAMED_THINGS:
        return True
    # "frame twelve and thirteen", "marker two to marker six"
    return before in _THROUGH and start >= 2 and any(n.end == start - 1 and _named_thing(view, s) for s, n in view.numbers.items()
                                                             if s < start)


_THROUGH = frozenset("and or to through thru".split())


def _in_place(view: View, number: Number) -> bool:
    """'A bit of understeer in 4,': a small whole number behind 'in' that ends its clause tells where."""
    plain = number.end == number.start + 1 and 0 < number.value <= 20 and number.value == int(number.value)
    said = _at(view.words, number.start - 2)
    return plain and _at(view.words, number.start - 1) == "in" and said.isalpha() and said not in BREAKS | READING_VERBS and said not in HEADS \
        and view.turn.tokens[number.end - 1].ends_clause


def _placed(view: View, number: Number) -> bool:
    """'a low level on dewar two.', 'at crosscut seven': a place and its number, at the end of what is said of it."""
    noun, lead = _at(view.words, number.start - 1), _at(view.words, number.start - 2)
    if number.end != number.start + 1 or not 0 < number.value <= 20 or lead not in _PLACES or len(noun) < 3 or not noun.isalpha():
        return False
    plain = noun.removesuffix("s")
    measured = noun in HEADS or plain in HEADS or noun in BREAKS or noun in AFTER_VALUE or noun in HEDGES or noun.endswith("ly")
    return not measured and view.turn.tokens[number.end - 1].ends_clause and not view.turn.tokens[number.start - 1].ends_clause


def _tagged(view: View, number: Number) -> bool:
    """'P two came up', 'bearing three's at forty', 'four says': one of several like things, of which something is told."""
    before, after = _at(view.words, number.start - 1), _at(view.words, number.end)
    if number.end != number.start + 1 or not 0 < number.value <= 12 or view.turn.tokens[number.start].ends_clause and before != "bearing":
        return False
    if before == "bearing" and len(number.text) < 3:
        return True
    if after in _SHOWS and number.end + 1 in view.numbers and before.isalpha() and before not in BREAKS | HEDGES | AFTER_VALUE and len(before) > 2:
        return True  # 'brake 2 shows 5.2'
    letter = len(before) == 1 and before.isalpha() and before not in ("a", "i")
    opens = number.start == 0 or view.turn.tokens[number.start - 1].ends_clause
    return letter and after in READING_VERBS or opens and after in ("says", "said", "reports", "wants", "thinks")


_SHOWS = frozenset("shows reads is says reading showing".split())


def _of_a_kind(view: View, number: Number) -> bool:
    """'Tap eleven, forty eight kelvin. Tap twelve's thirty nine', 'strut five minus one ninety': things of one kind by their numbers, each with a
    value right behind it; a measure has no number."""
    noun, value = _at(view.words, number.start - 1), number.value
    if number.end != number.start + 1 or not 0 < value <= _MOST_MACHINES or value != int(value) or not _kind(noun) \
            or view.turn.tokens[number.start - 1].ends_clause:
        return False
    if _at(view.words, number.end) in _READS and not view.turn.tokens[number.end - 1].ends_clause and _value_follows(view, number):
        return True  # 'servo two is forty one'
    others = {n.value for n in view.numbers.values() if n is not number and n.end == n.start + 1 and 0 < n.value <= _MOST_MACHINES
              and _at(view.words, n.start - 1) == noun}
    return bool(others - {value}) and any(_value_follows(view, n) for n in view.numbers.values() if _at(view.words, n.start - 1) == noun)


def _kind(noun: str) -> bool:
    plain = noun.removesuffix("s")
    return len(noun) > 2 and noun.isalpha() and not {noun, plain} & HEADS.keys() and noun not in BREAKS | AFTER_VALUE | HEDGES | READING_VERBS \
        and not noun.endswith("ly") and read_unit((noun,), 0) is None


def _value_follows(view: View, number: Number) -> bool:
    index = number.end
    while index < len(view.words) and view.words[index] in ("at", "is", "reads", "says", "minus", "plus", "", "was"):
        index += 1
    return index in view.numbers or any(start <= index < n.end for start, n in view.numbers.items() if start > number.start)


def _labels(view: View, number: Number) -> bool:
    """'Three's 18.2. Six, 17.9. Nine, 18.0.': sentences that each open with a small number and go on with a value."""
    def opens(one: Number) -> bool:
        first, stop = view.sentence(one.start)
        other = view.numbers.get(one.end)
        small = one.start == first and one.end == first + 1 and 0 < one.value <= 12 and one.value == int(one.value) and "." not in one.text
        return small and other is not None and other.end <= stop and ("." in other.text or other.value > 12) \
            and (view.turn.tokens[one.end - 1].text.endswith(",") or view.words[one.start].endswith("'s"))
    return opens(number) and sum(opens(one) for one in view.numbers.values()) >= 2


def _listed_places(view: View, number: Number) -> bool:
    """'on one, two and three', 'at three, six, nine and twelve': numbers that go up behind a preposition, with no unit, are places."""
    run = sorted((n for n in view.numbers.values() if n.end == n.start + 1 and abs(n.start - number.start) <= 6), key=lambda n: n.start)
    values = [n.value for n in run]
    around = len(run) >= 3 and values == sorted(set(values)) and all(0 < value <= 12 and value == int(value) for value in values)
    if number not in run or not (values[:3] == [1, 2, 3] or around and _at(view.words, run[0].start - 1) == "at"):
        return False
    first, last = run[0], run[-1]
    between = set(view.words[first.start:last.end]) - {view.words[n.start] for n in run}
    return not between - {"and", "or", "", "to"} and _at(view.words, first.start - 1) in _PLACES | {"numbers"} and read_unit(view.words, last.end) is None


_PLACES = frozenset("on in at of from behind near by under inside outside above between past".split())
_SINGULAR = frozenset("volt amp foot metre meter pound degree knot mile inch litre liter gallon ton tonne kilogram watt bar-class point minute "
                      "second hour day kilowatt kilometer kilometre cell".split())


def _attributive(view: View, number: Number) -> bool:
    """'a 150 volt inverter', 'the five-point scale': number and singular unit before a noun tell a sort, not a reading."""
    after, noun = _at(view.words, number.end), _at(view.words, number.end + 1)
    if "." in number.text:
        return False
    if after == "per" and noun.removesuffix("'s") in ("rev", "revolution"):
        return True  # 'a four per rev': of what order a shake is
    if view.words[number.end - 1].rpartition("-")[2] in _SINGULAR:
        return bool(after) and not view.turn.tokens[number.end - 1].ends_clause
    if view.turn.tokens[number.end - 1].ends_clause or number.end in view.numbers:
        return False
    stem = after.partition("-")[0]
    singular = stem in _SINGULAR and abs(number.value) != 1 and not view.turn.tokens[min(number.end, len(view.words) - 1)].ends_clause
    return singular and (bool(noun) and noun not in _AFTER_UNIT or "-" in after)


_AFTER_UNIT = frozenset("and or but now is are was at on of for in to from with per a an the left right up down more less over under".split())
_READS = frozenset("is are was reads".split())


def _listed_name(view: View, number: Number) -> bool:
    """'Number one is 25, two is 25': a small number that is told to be another number."""
    if number.end != number.start + 1 or number.value != int(number.value) or not 0 < number.value < 20:
        return False
    starts = number.start == 0 or view.turn.tokens[number.start - 1].ends_clause
    verb = _at(view.words, number.end) in _READS and not view.turn.tokens[number.end - 1].ends_clause
    return starts and verb and number.end + 1 in view.numbers


_TOLD_OF = frozenset("is was looks reads says shows".split())
_LOOKS_AT = frozenset("watch mind watching note".split())


def _one_of_its_sort(view: View, number: Number) -> bool:
    """'the 250 inverter', 'the 3 setting': an article and a noun around a number."""
    before, after = _at(view.words, number.start - 1), _at(view.words, number.end)
    if before == "the" and "." not in number.text and (after in _TOLD_OF or view.words[number.end - 1].endswith("'s")) \
            and not view.turn.tokens[number.end - 1].ends_clause:
        return True  # 'the 150 is running warm', 'the 250's at 118'
    if before in ("the", "your") and _at(view.words, number.start - 2) in _LOOKS_AT and (not after or view.turn.tokens[number.end - 1].ends_clause):
        return True  # 'watch the thirty eight': what was told, and no new reading
    closed = view.turn.tokens[number.end - 1].ends_clause or not after or after in AFTER_VALUE or after in BREAKS
    return before in ("the", "that", "your", "our", "this") and not closed and any(c.isalpha() for c in after) and "." not in number.text


def _in_a_word(view: View, number: Number) -> bool:
    """'the 8-ball', 'a 4-1 area': figures that are part of a word, or a code of single figures before a noun."""
    token = view.turn.tokens[number.end - 1].text
    letters = re.fullmatch(r"[\"'(]*\d+-[A-Za-z]{3,}.*", token)
    code = re.fullmatch(r"\d-\d", token) and _at(view.words, number.end)[:1].isalpha() or re.fullmatch(r"\d+-\d:", token) or (
        re.fullmatch(r"\d+-\d", token) and _at(view.words, number.end) in _CODED)
    if number.value == 0 and (token.lower().startswith("zero-") or _at(view.words, number.end) in ("g", "gravity")):
        return True
    return bool(letters and token.rpartition("-")[2].rstrip(".,;:?!").lower() not in _UNIT_TAILS or code)


_CODED = frozenset("update updates load area time pad landing".split())
_UNIT_TAILS = frozenset("foot feet degree degrees volt volts amp amps psi pounds pound percent knots knot metre meter metres meters".split())


def _tail_of_callsign(view: View, number: Number, pairs: frozenset[tuple[str, str]]) -> bool:
    """'Seven, you are fading': the last part of a callsign, called by itself."""
    if not any(value == str(number.value) for _, value in pairs):
        return False
    called = number.start > 0 and view.turn.tokens[number.start - 1].text.endswith(",") and view.turn.tokens[number.end - 1].ends_clause
    if called and number.end - number.start == len(number.text) and number.start - 1 not in {i for n in view.numbers.values() for i in range(n.start, n.end)}:
        return not view.turn.tokens[number.start].text[0].isdigit() and view.turn.tokens[number.start].text[0].isupper()  # 'you broke up, Two.'
    if number.start != view.sentence(number.start)[0]:
        return False
    if number.start == 0 and len(number.text) > 1 and number.form == "digits" and view.turn.tokens[number.end - 1].text.endswith(","):
        return True  # 'Six one, altimeter two nine eight eight'
    return view.turn.tokens[number.end - 1].text.endswith(",") and _at(view.words, number.end) in ("you", "this", "we", "i", "your", "you're", "how", "go")


def _clock_groups(view: View, number: Number) -> bool:
    """'00 32 12': three groups of two figures, the first with a zero before it, are a time."""
    if not re.fullmatch(r"\d\d", view.words[number.start]):
        return False
    first = number.start
    while first > 0 and re.fullmatch(r"[0-5]\d", view.words[first - 1]):
        first -= 1
    last = number.start
    while last + 1 < len(view.words) and re.fullmatch(r"[0-5]\d", view.words[last + 1]) and not view.turn.tokens[last].ends_clause:
        last += 1
    return last - first >= 2 and view.words[first].startswith("0")


def _figure_of_speech(view: View, number: Number, before: str, after: str) -> bool:
    words = view.words
    if words[number.start] in ("one", "a") and number.end == number.start + 1 and number.value == 1:
        stands = before in ("is", "at", "reads", "to", "plus", "minus") or view.turn.tokens[number.end - 1].ends_clause
        return not stands or before in _PRONOUN_BEFORE
    if before == "all" and number.value < 20 and read_unit(words, number.end) is None:
        return True
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
    return frozenset(key for key, count in seen.items() if count >= 3) | _called(turns, numbers)


def _called(turns: list[Turn], numbers: tuple[tuple[Number, ...], ...]) -> frozenset[tuple[str, str]]:
    """'Bluebird two one, Tower, ...': a capital word that is no measure and its figures said one by one at the head of a turn, with a comma behind;
    the word is written small nowhere, and no other number follows it in the talk."""
    heads, small, numbers_of = set(), set(), dict[str, set[str]]()
    for turn in turns:
        for token in turn.tokens:
            if token.text[:1].islower():
                small.add(token.norm)
        for number in numbers[turn.index]:
            word = turn.tokens[number.start - 1] if number.start else None
            if word is None or word.ends_clause or not _kind(word.norm) or not word.text[:1].isupper():
                continue
            numbers_of.setdefault(word.norm, set()).add(str(number.value))
            first = number.start == 1 or (number.start > 1 and turn.tokens[number.start - 2].ends_clause and number.start <= 3)
            said = number.form == "digits" and number.end - number.start == len(number.text) or turn.tokens[number.start].text[:1].isdigit()
            if first and said and 2 <= len(number.text) <= 4 and number.text.isdigit() and turn.tokens[number.end - 1].text.endswith(","):
                heads.add((word.norm, str(number.value)))
    return frozenset((word, value) for word, value in heads if word not in small and numbers_of[word] == {value})
