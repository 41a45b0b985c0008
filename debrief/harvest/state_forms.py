"""Forms in which a state is told beside 'the fan is off': how somebody is read in answer to a check, 'it stiff', 'there's a bit of play',
'that's her highest', 'all well in here', 'can't feel much'. Common practice, no source.

Each gives token ranges (parameter from, parameter to, state from, state to), or a name for the parameter in their place.
"""
import re
from collections.abc import Sequence

from .readout_words import BREAKS, DETERMINERS, PREPOSITIONS, word_set
from .state_words import CHANGES, CHECKED_ALL, DEGREES, STATES
from .view import View

Place = tuple[int, int, int, int]
CHECKS = re.compile(r"\b(how (do|did|are|'re) (you|i|we|they) \w*\s*(read|hear|copy|receive|sound|reading|hearing|receiving)|how copy|do you (read|hear|copy)|"
                    r"(radio|comms?|voice|net|line|loop|signal|mike|mic) check|how('s| is) (my|the|this) (signal|voice|comms?|line))\b")
READ_HOW = word_set("clear readable unreadable faint weak five fives loud broken scratchy garbled workable clipped distorted muffled fading strong barely")
"""How a voice is read."""
_TO_HEAR = word_set("you're you are we're reading read hear you that's still it's signal voice five strength")
_ONE_LIKE = word_set("stiff loose tight hot cold dark noisy quiet stuck jammed bent sore numb heavy rough smooth steady stable flush wet foggy fogged dirty "
                     "broken sluggish weak bad good fine okay slack taut")
"""Adjectives that are no verbs: 'it stiff' lacks a verb, 'they clear' has one."""
_SUBJECTS = word_set("it they she he that everything")
_AMOUNTS = re.compile(r"(a |just a |only a |quite a |still a |some |little |slight )*((little |fair |small |tiny )?(bit|touch|hint|trace|lot|amount) of( an?)?|"
                      r"(slight|some|no more|too much|a lot of) ?)")
_CANNOT = word_set("can't cannot couldn't")
_SENSES = word_set("feel see hear move reach read make")
_LITTLE = word_set("much anything nothing a very any well")
_OWNERS = word_set("her his my its the our their your")
_MOST = word_set("best worst most least maximum minimum max limit")
_SO_FAR = word_set("yet so far today now again of the day run all")
_WELL = word_set("well good okay ok fine quiet green normal nominal steady secure dry tight go snug safe comfortable stable happy")
_HERE = word_set("in here up down there aboard on board this end so far now at the my our side over and inside below forward aft")


def told_how(view: View, checked: bool) -> tuple[int, int] | None:
    """How somebody is read, where it is said to him ('you're clipped') or answers a check (checked): 'Clear, bit of an echo'."""
    for start, stop in view.clauses:
        named = [m.end for m in view.names if m.start == start]
        first = named[0] if named and named[0] < stop else start
        told = view.words[first:first + 2] == ("you", "are") or view.words[first:first + 1] == ("you're",)
        at = first + 1 + (view.words[first:first + 1] == ("you",)) if told else first
        while at < stop and view.words[at] in DEGREES:
            at += 1
        if at < stop and view.words[at] in READ_HOW and (told or checked and view.words[at] != "broken") and not _mere_clear(view, at, stop, told):
            return at, _on(view, at, stop)
    last = next((stop for start, stop in view.clauses if view.words[stop - 2:stop] in (("but", "readable"), ("but", "workable"))), None)
    return (view.clause(last - 1)[0], last) if last is not None else None


def _mere_clear(view: View, at: int, stop: int, told: bool) -> bool:
    """'You're clear to lift': allowed, not read."""
    behind = view.words[at + 1:at + 2]
    return view.words[at] == "clear" and (told or behind in (("to",), ("of",), ("for",)))


def _on(view: View, at: int, stop: int) -> int:
    """The end of what tells how, with a clause behind it that goes on about the voice ('bit of an echo in the shell')."""
    following = next(((start, end) for start, end in view.clauses if start == stop), None)
    if following and set(view.words[slice(*following)]) & word_set("echo hum noise background static workable readable clipped hiss tone"):
        return following[1]
    return stop


def asked_how(view: View) -> bool:
    """Whether the turn asks how it is read."""
    return bool(CHECKS.search(" ".join(view.words)))


def written_as_question(view: View, start: int) -> bool:
    """'Have you loud and clear?': a recogniser's question mark behind words that ask nothing."""
    return not set(view.words[view.sentence(start)[0]:start]) & word_set("how do does did am are is was can could")


def without_link(view: View, start: int, stop: int) -> Place | None:
    """'It stiff but it moves': the verb was lost."""
    at = start + 1
    while at < stop and view.words[at] in DEGREES:
        at += 1
    fits = view.words[start] in _SUBJECTS and at < stop and view.words[at] in _ONE_LIKE and (at + 1 == stop or view.words[at + 1] in ("but", "and", "now"))
    return (start, start + 1, start + 1, at + 1) if fits else None


def bit_of(view: View, start: int, stop: int) -> Place | None:
    """'There's a bit of a dead band', 'little bit of hum on my side', 'I've got some play': an amount, then what there is."""
    words = view.words[start:stop]
    lead = next((n for n in range(min(4, len(words))) if words[n] in ("there's", "theres", "got", "have", "having", "i've", "we've", "still", "with")), -1)
    begins = start + lead + 1
    if words[:2] == ("there", "is"):
        begins = start + 2
    found = _AMOUNTS.match(" ".join(view.words[begins:stop]))
    if not found:
        return None
    at = begins + len(found.group().split())
    if lead < 0 and begins == start and not re.search(r"\b(bit|hint|trace|touch) of", found.group()):
        return None
    end = at
    while end < stop and end - at < 3 and _noun(view.words[end]):
        end += 1
    last = end
    if last < stop and view.words[last] in PREPOSITIONS:
        last = min(stop, last + 4)
    return (at, last, begins, at) if end > at and not any(i in view.numbers for i in range(begins, end)) else None


def _noun(word: str) -> bool:
    return word.replace("-", "").isalpha() and word not in BREAKS and word not in DEGREES


def most(view: View, start: int, stop: int) -> Place | None:
    """'That's her highest', 'it's the worst so far': how a value just told stands among its own."""
    if view.words[start] not in ("that's", "it's", "thats", "that") or stop - start < 3:
        return None
    at = start + 1 + (view.words[start + 1] == "is")
    if view.words[at:at + 1] == () or view.words[at] not in _OWNERS:
        return None
    at += 1
    most_of = at < stop and (view.words[at] in _MOST or view.words[at].endswith("est") and len(view.words[at]) > 5 and view.words[at] not in ("request", "interest"))
    return (start, start, at - 1, stop) if most_of and set(view.words[at + 1:stop]) <= _SO_FAR else None


def all_well(view: View, start: int, stop: int) -> Place | None:
    """'All well in here', 'all systems are go', 'all systems green'."""
    words = view.words[start:stop]
    if words[:1] not in (("all",), ("everything",)) or len(words) < 2:
        return None
    systems = words[1] in CHECKED_ALL
    rest = [word for word in words[1 + systems:] if word not in ("are", "is", "still", "looks", "look", "very")]
    fits = bool(rest) and rest[0] in _WELL and set(rest[1:]) <= _HERE and (systems or rest[0] != "go") and (systems or len(rest) > 1 or rest[0] == "well")
    return (start, start, start, stop) if fits else None


def cannot(view: View, start: int, stop: int) -> Place | None:
    """'Gloves. I can't feel much through them': of the one thing that the clause before names."""
    at = next((i for i in range(start, min(stop, start + 3)) if view.words[i] in _CANNOT), None)
    if at is None or at + 2 >= stop or view.words[at + 1] not in _SENSES or view.words[at + 2] not in _LITTLE:
        return None
    before = next((clause for clause in view.clauses if clause[1] == start), None)
    thing = before is not None and before[1] - before[0] <= 2 and all(_noun(word) or word in DETERMINERS for word in view.words[slice(*before)])
    return (*(before if thing and before else (start, start)), at, stop)


def trend_alone(words: Sequence[str]) -> bool:
    """'Holding.', 'still climbing': a whole sentence that tells how the value before it moves."""
    rest = [word for word in words if word not in DEGREES and word not in ("and", "still", "now", "there")]
    return len(words) <= 3 and len(rest) == 1 and rest[0] in CHANGES | {"steady", "constant", "dropping"} and rest[0] in _MOVES | STATES


_MOVES = word_set("holding rising falling climbing dropping steady building decaying increasing decreasing constant settling")
