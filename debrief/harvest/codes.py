"""Numbers that are codes, dates, money or times of day by the words beside them, and no values: radio frequencies, squawks, years, 'you owe me five'.

Words of closed kinds; where nothing of them stands beside a number it is left to what else is known. Common practice, no source.
"""
import re
from decimal import Decimal

from ..records.talk import Number
from ..units import read_unit
from .readout_words import BREAKS
from .view import View

_CALLED = frozenset("contact monitor frequency frequencies freq channel tower ground approach radar departure director control radio centre center "
                    "guard atis unicom ctaf company".split())
_AIRBANDS = ((Decimal(108), Decimal(137)), (Decimal(225), Decimal(400)))
"""MHz, as spoken where aircraft are worked: from memory."""
_CODED = frozenset("squawk squawking transponder extension ext permit procedure certificate cue cues policy docket invoice clause "
                   "paragraph appendix annex rule tile".split())
_LEADS = frozenset("a of is the code number no your".split())
_BY_NUMBER = frozenset("cable bolt bolts burner spot worker cutter lamp fan feeder hook rivet stud nut screw blade plug socket weld "
                       "seam rib bulkhead panel bin rack slot locker coil".split())
"""Things that are told apart by small numbers, beside those that names.py knows."""
_THROUGH = frozenset("through thru to and or".split())
_MOST, _LEAST_STEP = 40, 5
_MONEY = frozenset("owe owes owed bet bets pay pays paid cost costs fine fined quid fiver price wager borrowed spent".split())
_COINS = frozenset("pound pounds quid dollar dollars bucks buck euro euros pence cents cent pint pints beer beers coffee coffees tea teas".split())
_EVENT = re.compile(r"\b((log|loop|permit|door|hatch|gate|shop|office|bar|road|line|range|session)\w* (is |was |are |be |being )?(clos|open)\w*|"
                    r"clos\w+ (the )?(log|loop|permit|door|hatch|gate|shop|office|road|line|range|session)|debrief\w*|briefing|meet\w*|lunch|dinner|"
                    r"supper|breakfast|sample( \w+)? taken|taken|due|eta|etd|e t a|arriv\w+|depart\w*|sunset|sunrise|logged|expires?|"
                    r"train|bus|pass(es|ed)? you|high water|low water|call home|on the ground by)\b")
_AT = frozenset("at by until till before after since eta taken".split())
_MOST_LABEL, _MOST_WORDS, _MOST_SCALE = 12, 5, 20
_WHICH = frozenset("the this that another which".split())
_RATED = frozenset("rate rating ratings scale score comfort workload effort symptoms pain discomfort nausea anxiety fatigue".split())
_FIRST_YEAR, _LAST_YEAR = 1800, 2100


def is_code(view: View, number: Number) -> bool:
    """Whether the words beside a number say that it is no value."""
    if view.words[number.start - 1:number.start] == ("per",):
        return view.words[number.start] in ("million", "billion", "thousand", "hundred")
    if _owed(view, number):
        return True
    if number.signed or read_unit(view.words, number.end) is not None:
        return False
    if _scale_ends(view, number) or _that_one(view, number):
        return True
    if number.value_high is not None:
        return False
    if _small(number) and (_owns(view, number) or _labels_a_row(view, number) or _all_alike(view, number)):
        return True
    return _frequency(view, number) or _coded(view, number) or _year(view, number) or _hour_told(view, number) or _at_table(view, number)


def _scale_ends(view: View, number: Number) -> bool:
    """'Rate your symptoms, nought to five', 'breathing effort, one to ten': the ends of a scale."""
    if not 0 <= number.value <= _MOST_SCALE or number.value_high is None and "to" not in (*view.before(number.start), *view.words[number.end:number.end + 1]):
        return False
    first, stop = view.sentence(number.start)
    before = next((one for one in view.numbers.values() if one.end == number.start - 1 and view.words[one.end] == "to"), None)
    behind = view.numbers.get(number.end + 1) if view.words[number.end:number.end + 1] == ("to",) else None
    low, high = (before or number).value, number.value_high if number.value_high is not None else (behind or number).value
    paired = number.value_high is not None or before is not None or behind is not None
    return paired and low in (0, 1) and 3 <= high <= _MOST_SCALE and bool(_RATED & set(view.words[first:stop]))


def _that_one(view: View, number: Number) -> bool:
    """'The green one', 'the port one, it shut late': which of several."""
    words, at = view.words, number.start
    return words[at].removesuffix("s") == "one" and number.end == at + 1 and at > 1 and words[at - 2] in _WHICH and words[at - 1].isalpha() \
        and words[at - 1] not in BREAKS and not view.turn.tokens[at - 1].ends_clause


def _frequency(view: View, number: Number) -> bool:
    """'Contact tower on 124.3', 'one one eight decimal six'."""
    in_band = any(low <= number.value < high for low, high in _AIRBANDS) and ("." in number.text or len(number.text) > 3)
    if "decimal" in view.words[number.start:number.end] and any(low <= number.value < high for low, high in _AIRBANDS):
        return True
    first, _ = view.sentence(number.start)
    return in_band and "." in number.text and bool(_CALLED & set(view.words[max(first, number.start - 6):number.start]))


def _coded(view: View, number: Number) -> bool:
    """'A squawk of 4127', 'extension double four seven', 'permit two one seven', 'cable six'."""
    index = number.start - 1
    while index >= max(0, number.start - 3) and view.words[index] in _LEADS and not view.turn.tokens[index].ends_clause:
        index -= 1
    if index < 0 or view.turn.tokens[index].ends_clause or "." in number.text:
        return False
    if view.words[index] in _CODED:
        return True
    if view.words[index] in _THROUGH and index == number.start - 1:
        return any(one.end == index and _coded(view, one) for one in view.numbers.values())
    plain = index == number.start - 1 and number.value == int(number.value) and 0 < number.value <= _MOST and number.form in ("cardinal", "digits", "figures")
    following = view.numbers.get(number.end)
    runs = following is not None and following.value - number.value >= _LEAST_STEP  # 'cable 12, 20, 28'
    return plain and not runs and view.words[index] in _BY_NUMBER and number.end == number.start + 1


def _year(view: View, number: Number) -> bool:
    """'Built in nineteen sixty one', 'since 2019'."""
    lead = view.words[number.start - 1] if number.start else ""
    return re.fullmatch(r"\d{4}", number.text) is not None and _FIRST_YEAR <= number.value < _LAST_YEAR and lead in ("since", "in", "year")


def _hour_told(view: View, number: Number) -> bool:
    """'Log closes at sixteen twenty', 'taken zero four ten', 'debrief at fourteen thirty'."""
    value, lead = number.value, view.words[number.start - 1] if number.start else ""
    clock = re.fullmatch(r"\d{3,4}", number.text) and value < 2400 and value % 100 < 60
    first, _ = view.sentence(number.start)
    return bool(clock) and lead in _AT and bool(_EVENT.search(" ".join(view.words[first:number.start])))


def _owed(view: View, number: Number) -> bool:
    """'You owe me five pounds', 'that'll cost you ten'."""
    first, stop = view.clause(number.start)
    behind = view.words[number.end:number.end + 1]
    return bool(_MONEY & set(view.words[max(first, number.start - 5):number.start])) and (not behind or number.end >= stop or behind[0] in _COINS)


def _at_table(view: View, number: Number) -> bool:
    """'A hand of seven', '7 out of 10 for the coffee' (what is given for no test)."""
    two = view.before(number.start, 2)
    return two == ("hand", "of") or view.words[number.end:number.end + 2] == ("out", "of") and bool(_COINS & set(view.words[number.end:number.end + 6]))


def _small(number: Number) -> bool:
    return number.end == number.start + 1 and 0 < number.value <= _MOST_LABEL and number.value == int(number.value) and "." not in number.text


def _labels_a_row(view: View, number: Number) -> bool:
    """'Gauge one, sixty two. Two, sixty five.', 'One, ten percent. Two, sixty.': small numbers that go up, each with its value behind a comma."""
    def labels(one: Number) -> bool:
        if one.end not in view.numbers or not view.turn.tokens[one.start].text.endswith((",", ":")) or not _small(one):
            return False
        first, _ = view.sentence(one.start)
        lead = view.words[one.start - 1] if one.start > first else ""
        return one.start == first or lead.isalpha() and lead not in BREAKS and not view.turn.tokens[one.start - 1].ends_clause
    if not labels(number):
        return False
    told = {one.value for one in view.numbers.values() if labels(one)}
    return bool({number.value - 1, number.value + 1} & told)


def _owns(view: View, number: Number) -> bool:
    """'Two's at forty', 'hydraulic 2's dropped to 2,750': a thing by its number, of which a value is told."""
    if not view.words[number.start].endswith("'s") or view.turn.tokens[number.start].ends_clause:
        return False
    stop = view.sentence(number.start)[1]
    return any(number.end <= one.start <= number.end + _MOST_WORDS and one.end <= stop for one in view.numbers.values())


def for_each(view: View, number: Number) -> bool:
    """'Eighty eight for one, ninety five for two': whose each value is; no value, and no name of the next one."""
    def whose(one: Number) -> bool:
        return _small(one) and view.words[one.start - 1:one.start] == ("for",) and any(other.end == one.start - 1 for other in view.numbers.values())
    return whose(number) and any(whose(one) and abs(one.value - number.value) == 1 for one in view.numbers.values())


def _all_alike(view: View, number: Number) -> bool:
    """'Four, five and six all thirty two', 'three and four both fifty five': things that have one value."""
    if not {"all", "both"} & set(view.words):
        return False
    run = [number]
    while (after := next((one for one in view.numbers.values() if one.start - run[-1].end in (0, 1) and one.value == run[-1].value + 1
                          and view.words[run[-1].end:one.start] in ((), ("and",))), None)) is not None:
        run.append(after)
    end = run[-1].end
    return all(map(_small, run)) and view.words[end:end + 1] in (("all",), ("both",)) and any(end < one.start <= end + 3 for one in view.numbers.values())
