"""What sort of value: measured, target, plan, limit or forecast; approximate; past; asked; corrected. By the words of its clause."""
import re
from collections.abc import Sequence

from ..records.talk import Number
from ..units import read_unit
from .readout_bounds import wanted_sort
from .readout_moods import mood
from .readout_words import READING_VERBS
from .view import View

_LIMIT = re.compile(r"\b(limits?|limit's|maximum|minimum|max|min|no (more|less|faster|lower|higher) than|not (go |be |get )?(over|below|above|under|exceed)|"
                    r"at (least|most)|should not|shouldn't|stays? (under|below|above|over)|red ?line|don't (go|let)|must not|keep it (under|below|above)|"
                    r"changeover at|"
                    r"when (it|we|you|that|they|he|she) (get|gets|reach|reaches|hits?|comes?)( \w+)?( to)?|"
                    r"abort (at|limit)|no faster|"
                    r"card says|((need|want|keep|kept|stay|hold|held|must|should|to)( \w+){0,4}|be) (less|greater|more|lower|higher) than\s*$|"
                    r"(need|want|keep|kept|stay|held|to|be) (it |that |them |her )?(under|below|within)\s*$|flag (will )?clears?)\b")
_IS_LIMIT = re.compile(r"^(\w+ )?(is|was|'s|as) (your|the|our|my|a|their) (\w+ )?(limit|maximum|minimum|max|redline)|"
                       r"^(\w+ )?(limit|maximum|minimum|max|min|at most|or less|or more)\b")
_NO_MORE = re.compile(r"^(tops|at most|at least|or less|or more|whichever|(and )?no (faster|slower|more|less|higher|lower|further|deeper|longer)|"
                      r"and not (over|under|above|below|more|less)|allowed|permitted)\b")
_THEN_ACTS = re.compile(r"^(the |our |your |its |an? )?(\w+ ){1,3}(trips|opens|closes|cuts|lifts|blows|stops|shuts|relieves|slips|kicks)\b")
"""'At fifty amps the breaker trips'."""
_RECORDED = re.compile(r"\b(max|min|maximum|minimum)\b(?=.*\b(was|were|came|reached|hit|touched|looks? like|looked)\b)")
"""'Max g on the pull was 1.78': the largest that there was, and no bound."""
_TARGET = re.compile(r"\b((take|bring|get|put|pay|haul|veer|reel|"
                     r"pull|push|pulling|pushing|trim|trimming|turn|set|lower|raise|hoist|climb|descend|slow|"
                     r"accelerate|decelerate|spin|open|close|shut|heat|cool|ease|steer|fill|adjust|throttle)"
                     r"( \w+){0,4} (to|for|up to|down to|of)|(take|bring|get|put|set|hold)( \w+){0,4} at|"
                     r"(come|go|move) (up|down|left|right|to|for)( to)?|(going|moving) (up |down |left |right )?to|"
                     r"give me|stop at|(?<!\bi )(?<!\bwe )make (your|the|her|his) \w+( \w+)?|"
                     r"^((okay|now|and|then|please|well|so) )*set( up| in)? \w+( \w+)?|hold (it|her|him|that|them) (at|to)|"
                     r"level off at|(take|bring|get|put) (it|her|him|us|them|me)( down| up| in| out)?|^(\w+ )?(keep|maintain)|"
                     r"(next|first|second|last) (point|one|run)( is|'s)?( (?!was|were|had)\w+)?|next is|"
                     r"sideslips? at|aim for|maintain|hold (it )?at|(?<!now )(?<!'s )(?<!going )(?<!coming )(?<!climbing )up at|ready for|want|"
                     r"i'll follow at|increase to|reduce to|proceed to|head (for|to)|"
                     r"(?<!on )(?<!to the )(?<!from the )target('s| is| of)?( (?!was|were|had|is)\w+)?)\s*(about |approximately )?$")
_READ_OFF = re.compile(r"\b(i|we|you) (get|got|take)\b[\w' ]*$")
"""'I get a temperature of ...': read off, and no order."""
_PLAN = re.compile(r"\b(first stop|next stop|plan(ned)? (is|for|to)|scheduled|we plan|will stop at|flight plan)\b")
_FORECAST = re.compile(r"\b(expect(ed|ing)?|forecast|predict(ed|ion|s)?|estimated?|should (be|see|read)|will be|would be|going to be|"
                       r"(you|we|it|he|she|they)'ll (peak|see|reach|hit|get|show|read|go))\b")
_PAST = re.compile(r"\b(was|were|had|started( out)?( at)?|before|earlier|previously|last (time|night|run)|used to|went from|when we started|at the start|"
                   r"at los we had|(down|up) from)\b")
_AT = frozenset("at above over past below under".split())
_ABOUT = frozenset("about approximately around roughly maybe nearly almost some call say circa".split())
_IF_OVER = re.compile(r"\b(tell|call|shout to|warn|stop) (me|us) at\s*$|\b(sing|shout|call) out at\s*$|\blet (me|us) know at\s*$|"
                      r"\b(if|when) (it|that|he|she|they|we|you)('s)? (goes|gets|rises|climbs|drops|falls|is|go|get) (over|above|past|below|under)\s*$")
_IF_REACHED = re.compile(r"\b(if|once) (it|that|he|she|they|we|you|either|anybody|anyone)( \w+ \w+)?('s)? ((gets?|goes|comes?|drops?|falls?|rises?|climbs?) "
                         r"(down |up |back )?(to|below|above|under|over)|reach(es)?|hits?|touch(es)?)\s*$")
_BEYOND = re.compile(r"^((anything|once|and|but|so) )*(below|above|over|under|past|beyond)\s*$")
_SUPPOSED = re.compile(r"\b(if (it|you|we|they|he|she|that)|would have|in case|suppose|unless)\b")
_DENIED = re.compile(r"\b(not going (up |down |back )?to|won't (go|be going) to|no need (to go|for)|never (got|went) to|didn't (get|go) to|instead of|"
                     r"another|an extra|a further)\s*$")
_THEN = frozenset("yesterday last before this earlier morning tuesday".split())
_QUESTION_WORDS = frozenset("is are was were do does did can could will would have has what which how why who when where isn't aren't".split())


def value_class(view: View, number: Number, clause_start: int, clause_end: int) -> str:
    """The class of a number from its own part of the clause [clause_start, clause_end): the words since the number before it, and what is
    said of it right behind."""
    first = max([clause_start, *(n.end for n in view.numbers.values() if clause_start <= n.start < number.start and n.form != "ordinal")])
    last = min([clause_end, number.end + 6, *(n for n in view.numbers if n >= number.end)])
    before, after = " ".join(view.words[first:number.start]), " ".join(view.words[number.end:last])
    whole = " ".join(view.words[clause_start:clause_end])
    unit = read_unit(view.words, number.end)
    end = unit.end if unit is not None else number.end
    if _LIMIT.search(_RECORDED.sub("", before)) or _IS_LIMIT.match(after) or _IS_LIMIT.match(" ".join(view.words[end:last])) \
            or _NO_MORE.match(" ".join(view.words[end:end + 3])) or before in _AT and _THEN_ACTS.match(" ".join(view.words[end:end + 5])):
        return "limit"
    if _PLAN.search(whole):
        return "plan"
    if (wanted := wanted_sort(before) or mood(view, number, clause_start, before, after)) is not None:
        return wanted
    if _TARGET.search(before) and not _READ_OFF.search(before):
        return "target"
    if _FORECAST.search(before):
        return "forecast"
    if "please" in (*view.words[clause_end - 1:clause_end], *view.words[end:end + 1]) and not READING_VERBS & set(view.words[clause_start:clause_end]):
        return "target"
    return "measured"


def is_past(view: View, start: int, clause_start: int, clause_end: int) -> bool:
    """'it was point two when we started': told of another time. Plain 'was' alone, as in a report of a reading, is none."""
    whole = " ".join(view.words[clause_start:clause_end])
    then = re.search(r"\b(when we started|at the start|started|went from|before|earlier|last (time|run)|(down|up) from)\b", whole)
    return then is not None and bool(_PAST.search(whole))


def is_about(words: Sequence[str], start: int) -> bool:
    return any(word in _ABOUT for word in words[max(0, start - 2):start])


def bounds(view: View, clause_start: int, start: int) -> bool:
    """'Tell me if it goes over eighty': the value is a limit for what was told before."""
    before = " ".join(view.words[clause_start:start])
    return bool(_IF_OVER.search(before) or _IF_REACHED.search(before)) or bool(_BEYOND.search(before)) and view.clause(start)[1] - start > 2


def denied(view: View, clause_start: int, start: int) -> bool:
    """'We're not going to fifty', 'another fifty revs': no reading, and nothing that is asked for."""
    return bool(_DENIED.search(" ".join(view.words[clause_start:start])))


def differs(view: View, number: Number) -> bool:
    """'That's down a half from yesterday': by how much a value has changed, and no value."""
    before = [word for word in view.words[max(0, number.start - 3):number.start] if word not in ("a", "by", "about", "another")]
    behind = view.words[number.end:number.end + 4]
    return before[-1:] in (["down"], ["up"]) and "from" in behind[:3] and bool(_THEN & set(behind))


def supposed(view: View, clause_start: int, clause_end: int) -> bool:
    return bool(_SUPPOSED.search(" ".join(view.words[clause_start:clause_end])))


def asks(view: View, number: Number, clause: tuple[int, int]) -> bool:
    """A value in a question; one told before it, in a clause of its own ('it shows one oh two, are you warm?'), is told."""
    first, stop = view.sentence(number.start)
    if clause[1] < stop and view.words[first] not in _QUESTION_WORDS and READING_VERBS & set(view.words[clause[0]:number.start]):
        return False
    tail = view.words[stop - 1]
    return view.turn.tokens[stop - 1].text.rstrip("\"'").endswith("?") and tail not in ("right", "correct", "it", "huh", "okay")
