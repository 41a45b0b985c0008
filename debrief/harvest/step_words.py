"""The words by which steps begin, end, are left out or done again. Common practice on radio loops, no source."""
import re

from .view import View, phrases, stem, stems_of

_DONE = frozenset("complete completed completes done finished closed-out".split())
_LEFT_OUT = frozenset("skip skipping skipped omit omitting omitted delete deleting scrub scrubbing scrubbed drop dropping cancel "
                      "cancelling cancelled canceled scratch forget".split())
_SKIP = frozenset("skip skipping skipped omit omitting omitted".split())
_IT = frozenset("it that this those these them".split())
_CALLED_OFF = phrases("called off | is cancelled | is canceled | is scrubbed | is off today | not today")
_OUT_BEFORE = phrases("we leave | we'll leave | leave out | not doing | won't do | no need for | pass on | do without | we pass over")
_OUT_AFTER = phrases("is off | are off | is out | called off | not today | is deleted | is cancelled | is canceled | is scrubbed | is skipped | "
                     "we leave | we don't need | is not required | can wait")
_AGAIN = phrases("again | once more | one more time | repeat | redo | retry | over again | another try | from the top | second time")
_NOT_YET = frozenset("before after until till from of during like since than for if unless when once ready next later".split())
_BROKEN_OFF = frozenset("abandoned aborted abort failed broken incomplete".split())
_CLEARED = frozenset("cleared go move proceed moving proceeding".split())
_PROSPECT = frozenset("coming will would could going before after until if when ready next soon tomorrow yesterday last once unless go "
                      "remember don't not can't poll".split())
_HOLDS = frozenset("stop hold holding halfway not can't couldn't abort wait negative almost nearly".split())
_STATES = frozenset("latched locked secured secure closed shut open opened away aboard clear set connected disconnected engaged stowed "
                    "seated sealed made fast inserted removed released armed pinned confirmed stable landed".split())
_ALL_DONE = phrases("all the way | that's it done | all done | job done | we're done | i'm done | that's complete | it's complete | "
                    "it's done | that's done | task complete | step complete | point complete | run complete | test complete | item complete | "
                    "lift complete | card complete | task completed | step completed | point completed | run completed")
_HOLDS_IT = phrases("has it | holding | holding steady | is steady | and steady | and holding | on the number | and stable")
_UNIT_WORDS = frozenset("m metr meter ft feet foot psi bar kt knot c f l kg t minut min second sec hour percent degre".split())
_TO_NOTHING = re.compile(r"\b(depress\w*|vent down|vent off|empty|drain|unload|bleed)\b")
_DURATION = re.compile(r"\b(second|minute|hour)s?\b|\bmin\b")


def completes(view: View, start: int, end: int) -> bool:
    """'Two charlie complete', 'that completes card one', 'one charlie's done'; no question, no 'when complete'."""
    first, stop = view.sentence(start)
    if view.asks(first, stop) or set(view.words[max(first, start - 4):start]) & {"when", "once", "until", "if", "before"}:
        return False
    after = view.words[end:min(stop, end + 3)]
    if set(after) & _DONE and not set(after) & {"not", "isn't"}:
        return True
    return bool(set(view.words[max(view.clause(start)[0], start - 2):start]) & (_DONE - {"done"}))


def pointed_at(view: View, start: int, end: int) -> bool:
    """'That's step two.': of a step under way, that it is done; of another, that it begins."""
    behind = view.before(start) == ("that's",) or view.before(start, 2) == ("that's", "step") or view.before(start, 2) == ("that", "is")
    return behind and (end == view.sentence(start)[1] or view.turn.tokens[end - 1].ends_clause)


def skips(view: View, start: int, end: int, own: frozenset[str] = frozenset()) -> bool:
    """Ordered or said to be left out, before the id ('skip two charlie') or behind it ('two delta's skipped'). own: stems of the step's own words."""
    first, stop = view.clause(start)
    if view.before(start, 1) == ("leave",):
        return True
    if first == start and start > 0:
        earlier = view.clause(start - 1)
        apart = view.sentence(start)[0] > earlier[0] and any(earlier[0] <= at < earlier[1] for at in view.numbers)
        if not apart and set(view.words[slice(*earlier)]) & _SKIP and not _denied(view, *earlier):
            return True
    if set(view.words[first:start]) & _LEFT_OUT and not _denied(view, first, start) or view.find(_OUT_BEFORE, first, start):
        return True
    behind = next(((a, b) for a, b in view.clauses if a <= end < b), (end, stop))
    return called_off(view, start, end, own) or _skipped_behind(view, end, behind[1])


def for_one(view: View, end: int) -> bool:
    """'Skip task two for Birch': left out for one of several, and no less to be done."""
    return view.words[end:end + 1] == ("for",) and any(mention.start == end + 1 for mention in view.names)


def _skipped_behind(view: View, end: int, stop: int) -> bool:
    """'... you can skip those', 'skip it', within a few clauses of the id."""
    last = view.sentence(end - 1)[1]
    return any(view.words[i] in _SKIP and (i < stop or view.words[i + 1:i + 2] and view.words[i + 1] in _IT)
               for i in range(end, min(last, end + 12)))


def _denied(view: View, start: int, stop: int) -> bool:
    return bool(set(view.words[start:stop]) & {"don't", "not", "shouldn't", "didn't", "never"})


def left_out_in_words(view: View, words: tuple[str, ...]) -> tuple[float, int, int] | None:
    """'We'll leave the paint samples': how much of a step's words stand in a clause that leaves it out, and where; None under half."""
    wanted, best = _meaning(words), None
    for first, stop in view.clauses:
        shared = wanted & stems_of(view, first, stop)
        if not shared or len(shared) < 0.5 * len(wanted) or _denied(view, first, stop) or view.asks(first, stop):
            continue
        verb = any(word in _LEFT_OUT and stem(word) not in wanted for word in view.words[first:stop])
        if verb or view.find(_OUT_BEFORE, first, stop) or view.find(_CALLED_OFF, first, stop):
            best = max(best or (0.0, 0, 0), (len(shared) / len(wanted), first, stop))
    return best


def called_off(view: View, start: int, end: int, own: frozenset[str] = frozenset()) -> bool:
    """'Card fourteen is off', 'four bravo is called off', 'step six's off'."""
    _, stop = view.sentence(start)
    if view.find(_OUT_AFTER, end, min(stop, end + 5)) or any(
            word in _LEFT_OUT and stem(word) not in own for word in view.words[end:min(stop, end + 4)]):
        return True
    alone = view.words[end:end + 1] in (("off",), ("this",)) and "off" in view.words[end:end + 2]
    return alone and end < stop


def again_said(view: View, start: int, end: int) -> bool:
    first, stop = view.sentence(start)
    return bool(view.find(_AGAIN, end, min(stop, end + 3)) or view.find(_AGAIN, max(first, start - 2), start))


def deferred(view: View, start: int, end: int) -> bool:
    """A card spoken of but not opened: 'ready for card two', 'anything on card eleven to add?'. 'Cleared for' opens it."""
    before = view.before(start, 2)
    if set(before) & _CLEARED:
        return False
    return bool(before[-1:]) and before[-1] in _NOT_YET | {"on", "about", "says", "the", "under", "in"}


def not_an_order(view: View, start: int, end: int) -> bool:
    """A step spoken of but not begun: 'before step two', 'after two alpha', a question about it."""
    before = view.before(start, 1) if view.sentence(start)[0] < start else ()
    if view.before(start, 2) in (("go", "for"), ("cleared", "for"), ("clear", "for"), ("proceed", "with"), ("start", "with")):
        return view.asks(start, end)
    broken_off = bool(set(view.words[end:min(view.sentence(start)[1], end + 3)]) & _BROKEN_OFF)
    return bool(before and before[0] in _NOT_YET) or broken_off or view.asks(start, end)


def marks(view: View, of: frozenset[str] = frozenset()) -> tuple[int, int] | None:
    """'Mark' or 'now' alone in its clause, in a turn that stops or holds nothing (but what the step itself is called, `of`)."""
    if set(view.words) & _HOLDS - {"wait", "not"} - of:
        return None
    return next(((start, end) for start, end in view.clauses if view.words[end - 1] == "mark" or view.words[start:end] == ("now",)), None)


def _meaning(words: tuple[str, ...]) -> frozenset[str]:
    """A step's words without its units; all of them where nothing else is left."""
    return frozenset(word for word in words if word not in _UNIT_WORDS) or frozenset(words)


def starts_by_text(view: View, words: tuple[str, ...], text: str, after: int, busy: bool) -> tuple[int, int] | None:
    """Where a sentence begins this step in the plan's words. busy: another step is open, so more is asked of the words."""
    wanted = _meaning(words)
    if not wanted:
        return None
    barred = _PROSPECT | {"first", "is", "are"} if busy else _PROSPECT
    for first, stop in view.sentences:
        if first < after or view.asks(first, stop) or set(view.words[first:stop]) & barred or _names_a_card(view, first, stop):
            continue
        found = _begun_here(view, wanted, (first, stop), busy)
        if found:
            return found
    marked = None if busy else marks(view, wanted)
    whole = stems_of(view)
    if marked and len(wanted) > 1 and len(wanted & whole) >= max(2, 0.6 * len(wanted)) and marked[1] > after:
        return marked
    return None


def _names_a_card(view: View, first: int, stop: int) -> bool:
    return any(word in ("card", "sheet") for word in view.words[first:stop])


def _begun_here(view: View, wanted: frozenset[str], sentence: tuple[int, int], busy: bool) -> tuple[int, int] | None:
    first, stop = sentence
    shared = wanted & stems_of(view, first, stop)
    if len(wanted) > 1:
        enough = len(shared) >= max(2, (0.99 if busy else 0.6) * len(wanted))
        return sentence if enough else None
    if not shared:
        return None
    alone = [c for c in view.clauses if first <= c[0] < stop and stems_of(view, *c) == wanted]
    if alone:
        return alone[0] if not set(view.words[first:stop]) & _STATES else None
    return None if busy else _ordered_to(view, wanted, first, stop)


def _ordered_to(view: View, wanted: frozenset[str], first: int, stop: int) -> tuple[int, int] | None:
    """'Take us to eighteen', 'up to surface', 'the count starts'."""
    for index in range(first, stop):
        if stems_of(view, index, min(stop, index + 1)) & wanted:
            if view.before(index, 1) == ("to",) or view.before(index, 2) == ("to", "the"):
                return first, stop
            if set(view.words[index + 1:min(stop, index + 3)]) & {"starts", "begins", "started", "starting", "running"}:
                return first, stop
    return None


def reports_done(view: View, words: tuple[str, ...], text: str, other: bool, lag: int) -> tuple[int, int, str] | None:
    """Where a turn reports the open step done, and by what words. other: not by the station that called it; lag: turns since."""
    if lag <= 0:
        return None
    wanted = frozenset(word for word in _meaning(words) if not re.fullmatch(r"[\d.]+", word))
    for first, stop in view.sentences:
        if "count" in text.lower() and _counts_out(view, first):
            return first - 1, first, "the count reached its end"
        why = None if view.asks(first, stop) else _done_in(view, wanted, text, (first, stop), other)
        if why:
            return first, stop, why
    place = marks(view) if other and lag <= 6 and "mark" in view.words else None
    if place and (wanted & stems_of(view) or lag <= 2):
        return *place, "a mark behind its call"
    return None


def _done_in(view: View, wanted: frozenset[str], text: str, sentence: tuple[int, int], other: bool) -> str | None:
    first, stop = sentence
    said, stems = view.words[first:stop], stems_of(view, first, stop)
    if set(said) & (_DONE - {"completes"}) and (wanted & stems or _alone(view)) and not set(said) & _PROSPECT - {"first", "last"}:
        return "said to be complete"
    if view.find(_ALL_DONE, first, stop) and (other or wanted & stems):
        return "said to be done"
    if set(said) & _HOLDS - {"holding"}:
        return None
    return _reached(view, wanted, text, sentence) or ((_in_state(view, wanted, sentence) or _as_ordered(view, wanted, text, sentence)) if other else None)


_FEW = 4
_POINTS_AT = frozenset("that's that this it's it there's is are what's".split())
_ENDS_OF = {"start": frozenset({"running", "started"}), "stop": frozenset({"stopped"}), "begin": frozenset({"running", "begun"})}
_CHECKS = re.compile(r"^(check|confirm|verify|look)\b")


def _as_ordered(view: View, wanted: frozenset[str], text: str, sentence: tuple[int, int]) -> str | None:
    """The order's verb told as done ('blowdown is isolated', 'pump bravo is running'), or what was to be checked told as it should be."""
    first, stop = sentence
    said, stems = view.words[first:stop], stems_of(view, first, stop)
    verb = stem(text.lower().split()[0]) if text.strip() else ""
    rest = wanted - {verb}
    told = bool(wanted) and wanted <= stems and stop - first <= _FEW and any(word in ("is", "are") or word.endswith("'s") for word in said)
    if told and not view.asks(first, stop) and said[0] not in _POINTS_AT:
        return "it is as its order says"  # 'dark the hall': 'hall's dark'
    if stop - first <= 2 and not view.asks(first, stop) and any(word.endswith("ed") and stem(word) in wanted for word in said):
        return "its order is told as done"
    if view.asks(first, stop) or "to" in said[:2] or not (stems & rest):
        return None
    done = any(word.endswith(("ed", "en")) and stem(word) == verb for word in said) or _ENDS_OF.get(verb, frozenset()) & set(said)
    if done and not set(said) & {"be", "not", "never", "isn't", "aren't"}:
        return "its order is told as done"
    checked = _CHECKS.search(text.lower()) and len(rest) > 1 and 3 * len(stems & rest) >= 2 * len(rest)
    return "what it asks for is told" if checked else None


def _alone(view: View) -> bool:
    """A whole turn that says 'complete' and little more; 'done' alone may be about anything."""
    return len(view.words) <= 3 and bool(set(view.words) & (_DONE - {"done"}))


def _counts_out(view: View, first: int) -> bool:
    """'Three. Two. One. Drop.': this sentence follows a spoken countdown to one."""
    return first >= 2 and view.words[first - 2:first] == ("two", "one") and view.words[first:first + 1] not in (("mark",), ("hack",))


def _reached(view: View, wanted: frozenset[str], text: str, sentence: tuple[int, int]) -> str | None:
    """The place or value that the step names is reached: 'at the wall', 'stopped at six', 'three point five, regulator has it'."""
    first, stop = sentence
    goes_to = re.search(r"\bto\b", text.lower())
    timed = _DURATION.search(text.lower())
    if timed and view.words[first:stop] == ("time",):
        return "its time was called"
    if _TO_NOTHING.search(text.lower()) and _nothing_left(view, first, stop):
        return "down to nothing"
    if not goes_to:
        return None
    if "stopped" in view.words[first:stop] and "all" not in view.words[first:stop] and not timed and view.numbers:
        return "stopped there"
    if not timed and _target_said(view, text) and view.find(_HOLDS_IT, first, stop):
        return "its value was reached"
    behind_to = frozenset(stem(word) for word in re.split(r"\bto\b", text.lower())[-1].split()) & wanted
    if stop - first <= 3 and view.words[first] in ("we're", "that's", "she's", "it's") and behind_to & stems_of(view, first + 1, stop):
        return "its place was reached"  # 'fill to level': 'we're level'
    for index in range(first, stop - 1):
        if view.words[index] in ("at", "on", "reached") and behind_to & stems_of(view, index + 1, min(stop, index + 3)):
            return "its place was reached"
    return None


def _nothing_left(view: View, first: int, stop: int) -> bool:
    return bool(set(view.words[first:stop]) & {"ambient", "empty"}) or any(
        not number.value and number.end == stop for at, number in view.numbers.items() if first <= at)


def _target_said(view: View, text: str) -> bool:
    targets = re.findall(r"\d+(?:\.\d+)?", text)
    return bool(targets) and any(f"{n.value.normalize():f}" == targets[-1] for n in view.numbers.values())


def _in_state(view: View, wanted: frozenset[str], sentence: tuple[int, int]) -> str | None:
    """The step's thing in its end state: 'visor ... latched, locked', 'line is away'."""
    first, stop = sentence
    states = set(view.words[first:stop]) & _STATES
    return "told in its end state" if states and wanted & stems_of(view) else None
