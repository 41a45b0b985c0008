"""Words that tell whose value it is and never what is measured: 'Alarm's sixty five, trip seventy', 'design's twenty six', 'predict was one ten'.

A value behind them is a limit, a plan or a forecast of what was told last, or of what stands behind it. Common practice, no source.
"""
import re
from collections.abc import Sequence
from dataclasses import replace

from .readout_found import Found
from .readout_words import word_set

_LIMITS = word_set("limit limits maximum max minimum minimums min redline redlines red line lines alarm alarms trip trips cutoff cut cutout abort aborts "
                   "bingo caution warning requirement requirements requirement's spec specs specification allowance allowable tolerance threshold pass "
                   "criterion criteria rule placard card guideline guidelines boundary contract "
                   "contract's ceiling amber slows allow allows allowed permit permits permitted alert alerts cuts shuts lifts blows relieves quits")
_NAMES_TOO = word_set("line lines card cut flight pass rule red")
_PLANS = word_set("design nominal plan planned book procedure sheet checklist schedule flight drawing")
_FORECASTS = word_set("forecast predicted prediction predict predicts predictions expected estimate estimated calculated computed theory model simulation "
                      "table tables chart charts curve calculation calculations calc calcs sums")
_BESIDE = word_set("the a our your their for says said allows allow comes come has gives calls wants asks is was should be low high upper lower first continuous "
                   "second normal standard meant supposed should've would've")
_WANTED = re.compile(r"\b((it's|that's|is|was|we're|they're|were) (meant|supposed) to (be|read)|ought to (be|read)|should've been|should have been|"
                     r"^((the|our) )?(nominal|normal)('s| is| was)?|"
                     r"(sheet|book|procedure|plan|schedule|checklist|drawing|design)('s| \w+)? (says|has|wants|calls for|asks for|gives)( \w+){0,4})\s*"
                     r"(about |around )?$")
_HELD = re.compile(r"\b(don't|not|never|no|keep|stay|wait|till|until|before|when|once|want|wants|needs?|must|pass|passes|procedure|spec|limit|good|"
                   r"stop|abort|accept)\b.*\b(over|above|below|under|beyond|past|less than|more than|greater than|fewer than)\s*$|"
                   r"^(\w+ ){0,3}\w+ (it|them|her|him|this|that)( \w+)? (over|above|below|under)\s*$|"
                   r"\b(good|cleared|rated|certified|placarded) (up |down )?(to|for)\s*$|"
                   r"\b(cut|trip|alarm|abort|shut down|warn)\w*( \w+){0,4} at\s*$|"
                   r"\b(we|they|rules?|i'd|i|it|she|he|you|they|limits?) (only )?(allow|permit|stop|quit|turn (you |him |us )?(round|back)|change over|"
                   r"come back)s? at\s*$|"
                   r"\b(we|they|rules?|book) (only )?(allow|permit)s?( you| us| it| her| him)?( up to)?\s*$|"
                   r"\b(slows|slow|trips|cuts|shuts|backs|opens|lifts|blows|relieves)( \w+)?( down| back| out| off)? at\s*$|"
                   r"^not (over|above|below|under|more than|less than)\s*$")
_OVER = r"(over|above|below|under|past|beyond|inside|within|(more|less) than)"
_FRAMED = re.compile(
    rf"\b(nothing|nobody|no one)( \w+){{0,2}} {_OVER}\s*$|\b(allowed|permitted)( (up|down) to)?\s*$|\b(i've|we've|you've) got (up|down) to\s*$|"
    rf"\bas long as\b.* {_OVER}\s*$|\bnot (to )?exceed\s*$|\b(has|have) to (reach|make|get to|hit)\s*$|"
    r"^((and|so|but|the|our|its|a|your|that) )*(\w+ )?(pass mark|trip point|hard deck|band|tolerance|rating|action (level|value)|relief|relief valve|"
    r"break(ing)? (strength|load)|cut-?out|alarm|rated)('s| is| was| are)?( (set|at|to|plus or minus))*\s*$|"
    r"^((and|so|but|the|it's) )*(red|amber|yellow) (above|over|below|under|from|past|beyond)\s*$|"
    rf"\b(can't|cannot|won't|don't|doesn't|mustn't|wouldn't) (\w+ ){{1,4}}(in |with )?{_OVER}\s*$|"
    rf"\b(\w+ (off|on)|safe|unsafe|closed|shut) {_OVER}\s*$|\b(lift|flight|crane|deck|valve|it)'s (off|out) {_OVER}\s*$|"
    rf"^((and|then|we|they) )*(reject|discard|scrap|evacuate|condemn|retire|fail)s?( it| them)?( is| are)? (at|{_OVER[1:-1]})\s*$|"
    r"\b(says?|allows?|gives?) (up|down) to\s*$|\b(is|are|was|\w+'s) rated( (for|to|at))?\s*$|"
    r"\b(stops|slips) at\s*$|\b(tell|call|shout to) (me|us) when (it's|you're|we're|he's|she's)( at)?\s*$|"
    r"\b(as soon as|the moment) (\w+ ){1,3}(passes|hits|reaches|touches|gets to|goes (over|under|above|below|past))\s*$|"
    r"\b(it'll|she'll|that'll) (only )?take\s*$|\b(want|wants|need|needs)( \w+){0,3} (better|more|less|fewer|higher|lower) than\s*$|"
    rf"\bworry(ing)? (at|{_OVER[1:-1]})\s*$|"
    r"(^|(^| )(still|well|comfortably|safely|easily|all|is|are|\w+'s|\w+'re) )(under|inside|within)\s*$")
"""Frames of English that make the value behind them a bound, whatever is measured."""
STRICT = {"limit": word_set("limit limits redline redlines allowance allowable requirement spec tolerance threshold bingo"),
          "forecast": word_set("predicted expected forecast estimated"), "plan": word_set("planned nominal design")}


def bound_sort(words: Sequence[str]) -> str | None:
    """limit, plan or forecast where a name is made of such words alone; None for every other."""
    said = {word.lower().removesuffix("'s") for word in words}
    left = said - _BESIDE
    if not left and said & {"allow", "allows"}:
        return "limit"
    for sort, known in (("limit", _LIMITS), ("plan", _PLANS), ("forecast", _FORECASTS)):
        if left and left <= known and (left != {"flight"}):
            return sort
    return None


def bound_behind(words: Sequence[str]) -> tuple[str, ...]:
    """The words before a bound that ends a name ('casing trips', 'sieve limit'); empty where the name ends in none, or is one alone."""
    last = words[-1].lower().removesuffix("'s") if len(words) > 1 else ""
    return tuple(words[:-1]) if last in _LIMITS - _NAMES_TOO else ()


def wanted_sort(before: str) -> str | None:
    """The class that the words of the clause before a value give it: 'it's meant to be', 'wait till they're under'."""
    return "limit" if _HELD.search(before) or _FRAMED.search(before) else "plan" if _WANTED.search(before) else None


def without_bounds(found: Found) -> Found:
    """'Plank wear allowance' is a limit of plank wear; 'expected thrust' a forecast of thrust."""
    for sort, known in STRICT.items():
        rest = tuple(word for word in found.words if word.lower() not in known)
        if found.sort == "measured" and rest and len(rest) < len(found.words):
            return replace(found, words=rest, sort=sort)
    return found


def told_last(made: Found, kept: Sequence[Found], near: Sequence[Found]) -> Found | None:
    """Of what the value is a bound: the latest of like size, in this turn, then in those before, else the latest named at all."""
    named = [found for found in (*reversed(kept), *near) if found.words]

    def like(found: Found) -> bool:
        one, two = abs(float(made.number.value)), abs(float(found.number.value))
        unit = made.unit is None or found.given_unit is None and found.unit is None or bool(
            set(made.unit.names) & {found.given_unit, *(found.unit.names if found.unit else ())})
        return unit and bool(one and two) and max(one, two) / min(one, two) <= 2.5
    return next((found for found in named if like(found)), named[0] if named else None)
