"""Anomalies: something told as not as it should be, with its place and where it was put right."""
import re
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..records.talk import Turn
from .fault_words import FAULTS, FINISHED, OF_IT
from .talk import Talk, part
from .view import View, stem, views

_BROKEN = re.compile(
    r"\b(leak\w*(?! (check|test|rate))|hiss\w*|crack(s|ed)?|smoke (in|from|coming)|smell of|burn(ing|t) smell|(on|a) fire|jam(s|med|"
    r"ming)?|stuck|fogg?\w*|"
    r"broken|broke (off|down|away)|snapped|torn|loose|missing|bent|blocked|frozen|(is|went|gone) dead|failed|failing|failure|fault\w*|"
    r"tripped|"
    r"stopped (half|dead|short|itself)\w*|parted|fouled|(is|'s) caught|gone (soft|slack)|"
    r"(i've|we've|i|we) lost (?!sight)(?!you)\w+|"
    r"(has|'s|have) lost (one|a|its|their|his|two|some)|(i've|we've|there's) no (light|power|picture|signal|pressure|reading|sound|video)|"
    r"smoke (at|over|behind|by)|(is|'s) (low|down to|up|high) .*(should|ought to) be|(?<!it)(is|'s) down to (?!the |a )|"
    r"(hasn't|haven't|has not|have not|hadn't|not) (fired|gone off|opened|closed|moved|deployed|let go|inflated|released|lit|come (up|off|on|away|down))|"
    r"vibrat(es|ed|ing)|has gone off|"
    r"fray(s|ed|ing)|chaf(ed|ing)|worn (through|out)|weep(s|ing)|sagg(ed|ing)|bulg(es|ed|ing)|collapsed|punctur\w+|flat (tyre|tire|battery)|"
    r"sprained|hurt (my|his|her|their)|(is|'s) (hurt|bleeding|unconscious)|fainted|passed out|"
    r"(smoke|steam|water|oil|fuel|slag|flames?|gas|dust|mud) ('s |is )?(coming (off|over|out|through|up)|on the|over the|all over|under the)|"
    r"(smoke|steam|water|oil|fuel|slag|gas|dust|mud)'s (coming|all|on|over|out|getting)|"
    r"(damp|fuel|oil|water) in (it|there)|(showing|shows|giving|gives|seeing|see) (me |us )?nothing|nothing (from|on) (it|that|the|my)|"
    r"(shows|reads|showing|reading) (open|shorted|a short)|(misfire|low break|false start|short circuit)\w*|"
    r"seized|chipped|dented|scratched|sheared|buckled|burst|split (open|along)|twisted|dragging(?! \w+ feet)|sticking|blowing by|"
    r"(knock|rattle|bang|whine|scrape|smell) (from|in|at|on|under|near|of)|(it's|that's|is|got) the wrong \w+|"
    r"too (big|small|long|wide|narrow|thick|thin)|an (amber|red) on|"
    r"(it|that|\w+) (won't|will not) (open|close|move|start|clear|come|go|stay|turn|lock|latch|release|fire|fit|seal|read|arm|engage|lift|light|let go)|"
    r"(rusted|painted|welded|wedged|iced) (shut|open|solid|up)|has no (picture|signal|pressure|power|sound|reading|light|feed)|"
    r"(one|two|three|\d+) short|(flow|pressure|return|signal|power|voltage|speed|lift)('s| is| has)? (dropped|dropping|fallen|falling) (off|away|out)|"
    r"there('s| is) a (kink|hole|gap|dent|tear|rip|nick|knot|burr|lump|blockage|bulge)|"
    r"can't (read|move|open|close|get (the|it|my))|cannot (read|move|open|close)|slips|slipping|drift(ing|s) (badly|off)|"
    r"overheat\w*|too (hot|cold|short|tight)|hot spot|alarm|(caution|warning) (light|flag|tone)|momentary tone|"
    r"not (flush|certified|latched|locked|closed|working|right|responding|charging|sealed|steady)|not on(?! (my|the|your|a))|"
    r"(isn't|is not|did not|didn't|does not|doesn't) (work\w*|flush|mov\w+|latch\w*|clear|open|close|fire|start|look right|any good)|"
    r"can't be right|isn't any good|question that|wrong (place|channel|switch|way|position|side|key)|differs?|mismatch|"
    r"below the (\w+ )?(minimum|limit)|over (the|our) (\w+ )?limit|above the (\w+ )?limit|out of (limits|tolerance)|more than (i|"
    r"we) planned|"
    r"(is|it's|'s) full(?!-)|flooded|water in|sparks?|rattl\w+|grinding|squeal\w*|(bird )?strike risk|(wing|nose) (dropped|drops)|"
    r"a problem|"
    r"have trouble|having trouble|lost (pressure|power|signal|video)|came (off|loose)|com(es|ing) (loose|straight into)|"
    r"hear(ing)? (myself|ourselves)|getting (an echo|a repeat)|trickle|dripping|seeping|stream (of|at)|bubbl\w+ (at|from)|my (paper|"
    r"sheet|card|list) (has|says|shows)|flag (is )?still|"
    r"still (got|have) an? \w+ flag|across the \w+|"
    r"there('s| is) (a|an|some|one) (?!bit|lot|little)(\w+ ){0,3}(across|in|under|on|between|over|inside|behind) (the|my|your|his|her|"
    r"our))\b")
_DENIED = re.compile(r"\b(no|not|nothing|never|without|any|isn't|wasn't|free of|clear of|don't see|no sign of|come|"
                     r"came)\b([^\w,.;]+\w+){0,3}\W*$")
_SETTLED = re.compile(r"\b(solved|licked|made safe|no longer|under control|talk about|debrief|remember the scale|if (it|you|they|the))\b")
_REASON = re.compile(r"^(my|there|the|it|it's|i|i've|we|we've|our|his|her|somebody|something)\b")
_STOPS = re.compile(r"\b(stop,? stop|all stop|abort|knock it off)\b")
_ASKED = re.compile(r"\?$")
_TASK = re.compile(r"^(\w+,? ){0,2}(somebody|someone|find (out|that|the|why|what|who)|have a look|see to|look (at|into|for))\b")
"""Somebody is to see to what was told before: an open item, and nothing new that is amiss."""
_RESOLVED = re.compile(r"\b(clear(ed)?( now)?|fixed|gone|better|free( now)?|moves|working|back (on|up)|on( now)?|dry|steady|recovered|"
                       r"sealed|released|out of the|"
                       r"in the green|normal( again)?|restarted|running|done|flush now|light's on|sorted|closed( now)?)\b")
_PLACE = re.compile(r"\b((?:at|on|in|under|between|behind|near|by|over|across|inside|above|below|around)\s+(?:the |a |my |your |our |"
                    r"his |her |its )?"
                    r"(?:[\w'-]+\s*){1,3}(?:\band\s+(?:the )?[\w'-]+(?:\s+[\w'-]+)?)?)")
_BETWEEN = re.compile(r"\b(between (?:[\w'-]+ ){1,4}and (?:the )?[\w'-]+(?: (?:\d+|one|two|three|four|five|six|seven|eight|nine|ten))?)",
                      re.IGNORECASE)
_SIDED = re.compile(r"\b(left|right|port|starboard|upper|lower|forward|aft|main|backup|front|rear)( hand)? \w+", re.IGNORECASE)
_THING = re.compile(r"\b(?:the|my|your|our|his|her) ([a-z][\w'-]+(?: [a-z]+)?)", re.IGNORECASE)
RESOLVES_WITHIN = 40
_SOON = 5
"""Turns within which 'it's steady now' tells of what the same station had called amiss."""
_FEW = 3
_SKIP = frozenset("the a an of at to in on for and is it we our my your i you with that this there s not no coming going getting got has have still now "
                  "one two three four five six seven eight nine ten just here some somewhere over off up down out".split())


def anomalies(talk: Talk) -> list[Row]:
    """Rows of the table anomalies: told once, however often it is spoken of in the turns that follow."""
    rows: list[Row] = []
    told: list[tuple[int, frozenset[str]]] = []
    seen = views(talk)
    turns = list(talk.operational())
    for position, turn in enumerate(turns):
        sentence = _sentence(seen[turn.index])
        if sentence is None:
            continue
        start, end = sentence
        stems = _stems(seen[turn.index], start, end)
        if any(turn.index - index <= 12 and len(stems & other) >= max(1 + (len(stems) > _FEW), len(stems) // 3) for index, other in told):
            continue
        told.append((turn.index, stems))
        rows.append(_row(talk, turns, position, (start, end), stems))
    return rows


def _sentence(view: View) -> tuple[int, int] | None:
    """The first sentence of a turn that tells of something wrong, is no question and does not deny it."""
    for start, end in view.sentences:
        text = " ".join(token.text for token in view.turn.tokens[start:end]).lower().replace("’", "'")
        if _ASKED.search(text) or _SETTLED.search(text) or _TASK.search(text) or end - start < 3:
            continue
        found = _BROKEN.search(text) or FAULTS.search(text)
        if (found and not _DENIED.search(text[:found.start()])) or (start and _stopped_for(view, text)):
            return start, end
    return None


def _stopped_for(view: View, text: str) -> bool:
    """The sentence behind a stop call gives its reason: by practice something is wrong."""
    return bool(_STOPS.search(view.turn.text.lower()) and _REASON.match(text) and not _STOPS.search(text))


def _stems(view: View, start: int, end: int) -> frozenset[str]:
    plain = (word.removesuffix("'s") for word in view.words[start:end])
    return frozenset(stem(word) for word in plain if word not in _SKIP and word.isalpha())


def _row(talk: Talk, turns: Sequence[Turn], position: int, sentence: tuple[int, int], stems: frozenset[str]) -> Row:
    turn = turns[position]
    start, end = sentence
    what = " ".join(token.text for token in turn.tokens[start:end]).rstrip(".!")
    evidence = [part(turn, "text", start, end)]
    fields = {"what": Field(what, part=0)}
    place = _place(turns, position, start)
    if place:
        fields["location"] = Field(place, "spoken", part=0)
    resolved = _resolution(talk, turns, position, stems)
    if resolved is not None:
        evidence.append(part(resolved, "resolution"))
        name, value = ("resolved_line", resolved.line_index) if turn.line_index is not None else ("resolved_s", resolved.start_s)
        fields[name] = Field(value, "spoken", part=1)
    return Row("anomalies", fields, tuple(evidence), turn.loop, turn.station, turn.index)


def _place(turns: Sequence[Turn], position: int, start: int) -> str:
    """The place as given: in the sentence, the rest of the turn, or the speaker's next turn."""
    turn = turns[position]
    text = " ".join(token.text for token in turn.tokens[start:])
    found = _BETWEEN.findall(text) or _PLACE.findall(text)
    best = max(found, key=lambda phrase: (bool(re.search(r"between|number|\d", phrase)), len(phrase)), default="")
    if best.strip(" ,."):
        return best.strip(" ,.")
    sided = _SIDED.search(text)
    things = _THING.findall(text)
    return sided.group() if sided else things[-1] if things else ""


def _resolution(talk: Talk, turns: Sequence[Turn], position: int, stems: frozenset[str]) -> Turn | None:
    """A later turn that speaks of the same thing as put right."""
    seen, station = views(talk), turns[position].station
    for offset, later in enumerate(turns[position + 1:position + 1 + RESOLVES_WITHIN]):
        text = later.text.lower().replace("\u2019", "'")
        words = {stem(token.norm.removesuffix("'s")) for token in later.tokens}
        if "?" in text:
            continue
        if words & stems - _COMMON and (_RESOLVED.search(text) or FINISHED.search(text)) and not _sentence_again(seen[later.index], stems):
            return later
        if offset < _SOON and station is not None and later.station == station:
            if OF_IT.search(text):
                return later
            station = None if _sentence(seen[later.index]) else station
    return None


def _sentence_again(view: View, stems: frozenset[str]) -> bool:
    """The turn tells of the same thing as still amiss ('the light still won't go out')."""
    found = _sentence(view)
    return found is not None and bool(_stems(view, *found) & stems - _COMMON)


_COMMON = frozenset(stem(word) for word in "go copy gantry lead control right left step card now one two three check clear".split())
