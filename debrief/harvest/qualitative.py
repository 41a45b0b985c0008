"""States told in words: 'squib is armed', 'flight path looks good', 'loud and clear', 'gear down and locked', 'I feel fine'.

A clause gives at most one state. Orders, wishes, conditions and questions give none, nor does a clause whose value is a readout.
"""
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..records.rows import Field, Row
from .readout_words import BREAKS, DETERMINERS, PREPOSITIONS, PRONOUNS
from .state_forms import Place, all_well, asked_how, bit_of, cannot, most, told_how, trend_alone, without_link, written_as_question
from .state_words import BODY, CHANGES, CHECKED_ALL, DEGREES, FEELING, HAVING, LINKS, NOT_TOLD, PLACES, STATES
from .talk import Talk, part
from .view import View, phrases, views

MOST_NAME, MOST_STATE = 5, 7
_COMM = phrases("""loud and clear | five by five | five by | five square | fives | weak but readable | weak but clear | broken and unreadable |
    clipped | breaking up | garbled | scratchy | faint but clear | strength five | good signal""")
_COMM_VERBS = frozenset("read reads reading hear hears hearing copy receive receiving you me voice comm comms signal modulation transmission".split())
_SHAPE = re.compile(r"^(in (good|bad|great|poor|fine|excellent) shape|within limits|well within limits|on the stop|off scale( low| high)?|in the green|"
                    r"to the limit|at the stop|out of limits|in tolerance|on schedule|under (good |full )?control|"
                    r"in the (right|wrong) direction|full scale|full-scale|in sight|in (the )?\w+[- ]position)")
_TREND = re.compile(r"^(and |still |now |slowly |is |fairly |pretty )*(falling|rising|dropping|steady|climbing|increasing|decreasing|holding|decaying|building|"
                    r"constant|coming down|coming up|going up|going down)\b")


@dataclass(frozen=True, slots=True)
class _State:
    """parameter over tokens [start, middle), state over [at, end); name: the parameter's words where they are not those."""

    start: int
    middle: int
    at: int
    end: int
    name: str = ""
    doubt: str = ""


def qualitative(talk: Talk) -> list[Row]:
    """Rows of the table qualitative, at most one a clause."""
    rows: list[Row] = []
    for turn in talk.operational():
        if turn.set_aside:
            continue
        view = views(talk)[turn.index]
        seen: set[str] = set()
        for found in _in_turn(talk, view):
            row = _row(talk, view, found)
            key = f"{row.get('parameter')} {row.get('state')}".lower()
            if key not in seen and not _echoes(row, rows):
                seen.add(key)
                rows.append(row)
    return rows


def _echoes(row: Row, rows: Sequence[Row]) -> bool:
    """Another station's state said again within two turns; how one is read is told by each."""
    if row.get("parameter") == "comm" or row.turn is None:
        return False
    said = _told(row)
    return any(old.turn is not None and row.turn - 2 <= old.turn < row.turn and old.station != row.station and said <= _told(old)
               for old in rows[-4:])


def _told(row: Row) -> set[str]:
    return {word for word in f"{row.get('parameter')} {row.get('state')}".lower().split() if word not in DEGREES}


def _in_turn(talk: Talk, view: View) -> Iterator[_State]:
    told = _comm(view) or _read_back_how(talk, view)
    if told is not None:
        yield told
    for start, stop in _clauses(view):
        if told is not None and start < told.end and told.at < stop:
            continue
        if view.asks(*view.sentence(start)) or NOT_TOLD & set(view.words[start:stop]):
            continue
        found = _trend(talk, view, start, stop) or _other_form(view, start, stop) or _by_verb(view, start, stop) or _by_feeling(view, start, stop) \
            or _by_having(view, start, stop) or _without_verb(view, start, stop) or _none_of(view, start, stop) or _alone(view, start, stop)
        if found is not None and not _has_value(talk, view, found) and not _on_the_loop(view, found):
            yield found


def _read_back_how(talk: Talk, view: View) -> _State | None:
    """How one is read, in answer to a check by voice or told to him."""
    before = next((v for v in reversed(views(talk)[max(0, view.turn.index - 2):view.turn.index]) if not v.turn.commentary), None)
    found = told_how(view, before is not None and asked_how(before))
    return _State(found[0], found[0], *found, "comm") if found is not None and not view.asks(*view.clause(found[0])) else None


def _other_form(view: View, start: int, stop: int) -> _State | None:
    """Forms without a plain verb (state_forms)."""
    place = all_well(view, start, stop)
    if place is not None:
        return _named_so(place, "status")
    place = most(view, start, stop)
    if place is not None:
        return _named_so(place, "the value")
    place = cannot(view, start, stop)
    if place is not None:
        return _State(*place) if place[1] > place[0] else _named_so(place, "it")
    place = bit_of(view, start, stop)
    if place is not None:
        return _State(*place)
    place = without_link(view, start, stop)
    return _named_so(place, "it") if place is not None else None


def _named_so(place: Place, name: str) -> _State:
    return _State(place[2], place[2], place[2], place[3], name)


def _on_the_loop(view: View, found: _State) -> bool:
    """'Winch is on the deck loop', 'Chase is on': who listens, and no state of anything."""
    station = any(found.start <= mention.start and mention.end <= found.middle for mention in view.names)
    state = view.words[found.at:found.end]
    return station and state[:1] == ("on",) and (len(state) == 1 or bool(_LOOPS & set(state)))


_LOOPS = frozenset("loop channel net frequency line air".split())


def _clauses(view: View) -> Iterator[tuple[int, int]]:
    """Clauses, cut at 'and', 'but' and 'so' too where a new subject or verb follows."""
    for start, stop in view.clauses:
        cuts = [i for i in range(start + 1, stop) if view.words[i] in ("and", "but", "so", "because", "though", "since") and i + 1 < stop
                and LINKS & set(view.words[i + 1:min(i + 6, stop)])]
        yield from zip([start, *(cut + 1 for cut in cuts)], [*cuts, stop], strict=True)


def _comm(view: View) -> _State | None:
    """How somebody is read."""
    found = view.find(_COMM) or _read_how(view)
    if found is None:
        return None
    start, end = found
    sentence = view.words[slice(*view.sentence(start))]
    sure = view.words[start] in ("loud", "five", "fives") or _COMM_VERBS & set(sentence)
    asks = view.asks(*view.clause(start)) and not (view.words[start] == "loud" and written_as_question(view, start))
    return _State(start, start, start, end, "comm") if sure and not asks else None


def _read_how(view: View) -> tuple[int, int] | None:
    """'I read you better now', 'reading you very clear'."""
    for index, word in enumerate(view.words[:-2]):
        if word in ("read", "reading", "hear", "hearing", "copy") and view.words[index + 1] in ("you", "him", "her", "them"):
            at = _skip(view, index + 2, len(view.words))
            if at < len(view.words) and view.words[at] in STATES and view.words[at] not in ("well", "not"):
                return index + 2, at + 1
    return None


def _has_value(talk: Talk, view: View, found: _State) -> bool:
    return any(talk.claimed(view.turn, i, i + 1) in ("readouts", "ratings", "clock_calls", "polls", "steps") for i in range(found.start, found.end))


def _by_verb(view: View, start: int, stop: int) -> _State | None:
    """'the fan is off', 'flight path looks good', 'the light's on', 'everything's working fine'."""
    for verb in range(start, stop):
        word = view.words[verb]
        short = word.endswith("'s") and word not in ("let's", "what's", "how's", "where's", "who's")
        if not short and word not in LINKS:
            continue
        at = _skip(view, verb + 1, stop)
        if at >= stop or not _tells_state(view, at, verb + 1, stop):
            continue
        end = _state_end(view, at, stop)
        if short and word.removesuffix("'s") not in PRONOUNS and word not in PRONOUNS:
            return _State(_name_start(view, start, verb + 1), verb + 1, verb + 1, end)
        first = _name_start(view, start, verb)
        if first < verb:
            return _State(first, verb, verb + 1, end)
        return _of_pronoun(view, start, verb, end)
    return None


def _of_pronoun(view: View, start: int, verb: int, end: int) -> _State | None:
    """'it's stiff', 'everything looks good', 'looks good': of what was talked of; no name is made up for it."""
    word = view.words[verb]
    subject = word.removesuffix("'s") if word.endswith("'s") else view.words[verb - 1] if verb > start else ""
    told = set(view.words[verb:end])
    if not told & (STATES | CHANGES) or (subject in ("there", "here", "who", "what", "we", "you", "i") and not told & STATES):
        return None
    if subject in CHECKED_ALL or word.startswith("look"):
        return _State(verb, verb, verb, end, "status")
    return _State(verb, verb, verb + 1, end, "it") if subject in ("it", "that", "they", "this", "these", "she", "he", "you") else None


def _alone(view: View, start: int, stop: int) -> _State | None:
    """'Much better.', 'Flush now.': a state that is all there is to its sentence, after a question or a report of what was done."""
    first, last = view.sentence(start)
    if (start, stop) != (first, last) or stop - start > 4:
        return None
    at = _skip(view, start, stop)
    rest = [word for word in view.words[at + 1:stop] if word not in DEGREES and word not in STATES and word not in ("and", "in", "here", "there")]
    plain = at < stop and view.words[at] in STATES and view.words[at] not in _ACKNOWLEDGED
    return _State(start, start, start, stop, "it") if plain and not rest else None


_ACKNOWLEDGED = frozenset("good okay ok fine excellent great perfect beautiful nice clear super superb terrific well right".split())


def _skip(view: View, index: int, stop: int) -> int:
    while index < stop and (view.words[index] in DEGREES or view.words[index] in ("of", "the", "to", "be")) and view.words[index] not in PLACES:
        index += 1
    return index


def _tells_state(view: View, at: int, first: int, stop: int) -> bool:
    word, text = view.words[at], view.turn.tokens[at].text.strip(".,;:?!\"'")
    if word in STATES or word in PLACES or word in CHANGES:
        follows = view.words[at + 1] if at + 1 < stop else ""
        noun = word in PLACES and follows and follows not in BREAKS and follows not in PLACES and not view.turn.tokens[at].ends_clause
        going = word in ("going", "coming", "looking", "looks") and follows not in ("up", "down", "in", "out", "good", "okay", "along", "fine", "great")
        return not noun and not going
    if _SHAPE.match(" ".join(view.words[first:stop])) or _SHAPE.match(" ".join(view.words[at:stop])):
        return True
    return len(text) > 2 and text.isupper() and text.isalpha() and view.words[at] not in ("go",)


def _state_end(view: View, at: int, stop: int) -> int:
    return min(stop, at + MOST_STATE)


def _name_start(view: View, low: int, end: int) -> int:
    """Where the noun phrase that ends at token end begins; end itself where none does."""
    index = end
    while index > low and end - index < MOST_NAME and _nameable(view, index - 1):
        index -= 1
    lead = index
    while lead > low and view.words[lead - 1] in DETERMINERS:
        lead -= 1
    if index < end and lead - 1 > low and view.words[lead - 1] in PREPOSITIONS and _nameable(view, lead - 2):
        inner = lead - 1
        while inner > low and end - inner < MOST_NAME + 2 and _nameable(view, inner - 1):
            inner -= 1
        return inner
    return index


def _nameable(view: View, index: int) -> bool:
    word = view.words[index]
    plain = word.removesuffix("'s")
    if not any(c.isalnum() for c in plain) or word in PRONOUNS or word == "mine" or "(" in view.turn.tokens[index].text:
        return False
    return plain in ("check", "work") or (plain not in BREAKS and plain not in DEGREES and plain not in LINKS) or index in view.numbers


def _by_feeling(view: View, start: int, stop: int) -> _State | None:
    """'I feel fine', 'I am very comfortable', 'feel fine': of the person who speaks."""
    for verb in range(start, stop):
        if view.words[verb] in FEELING or view.words[verb:verb + 2] == ("i", "am"):
            at = _skip(view, verb + (2 if view.words[verb] == "i" else 1), stop)
            if at < stop and view.words[at] in BODY:
                return _State(verb, verb, verb, _state_end(view, at, stop), "pilot" if view.turn.station is None else f"{view.turn.station} pilot")
    return None


def _by_having(view: View, start: int, stop: int) -> _State | None:
    """'we have solid telemetry contact', 'you've got a good trace', 'we have TM solid'."""
    verb = next((i for i in range(start, stop) if view.words[i] in HAVING or view.words[i].endswith("'ve")), None)
    if verb is None:
        return None
    at = _skip(view, verb + 1, stop)
    while at < stop and (view.words[at] in DETERMINERS or view.words[at] in HAVING):
        at = _skip(view, at + 1, stop)
    if at + 1 < stop and view.words[at] in STATES:
        end = at + 1
        while end < stop and end - at <= MOST_NAME and _nameable(view, end):
            end += 1
        return _State(at + 1, end, at, at + 1) if end > at + 1 and view.words[at] not in ("red", "green", "low", "high", "hot", "cold") else None
    return _without_verb(view, at, stop)


def _without_verb(view: View, start: int, stop: int) -> _State | None:
    """'yaw check okay', 'gear down and locked', 'flight very smooth now': a name, then a state that closes the clause."""
    at = next((i for i in range(start + 1, stop) if view.words[i] in STATES), None)
    if at is None or any(view.words[i] in LINKS for i in range(start, at)):
        return None
    first = at
    while first > start + 1 and (view.words[first - 1] in DEGREES or view.words[first - 1] in PLACES or view.words[first - 1] == "and"):
        first -= 1
    name = _name_start(view, start, first)
    rest = [word for word in view.words[at + 1:stop] if word not in DEGREES and word not in STATES and word not in ("and", "here", "today", "in", "there")]
    opens = name == start or view.words[name - 1] in DETERMINERS or view.words[name - 1] in HAVING or view.words[name - 1] in ("roger", "okay", "and", "your")
    long_name = first - name <= 4
    if name >= first or rest or not opens or not long_name or view.words[at] in ("go", "red", "green", "clear") and first - name > 2:
        return None
    return _State(name, first, first, stop)


def _none_of(view: View, start: int, stop: int) -> _State | None:
    """'no flags', 'no tones', 'nothing at the neck': told at the head of a clause."""
    words = view.words[start:stop]
    if len(words) == 2 and words[0] == "no" and words[1].endswith("s") and words[1] not in BREAKS:
        return _State(start + 1, stop, start, start + 1)
    return None


def _trend(talk: Talk, view: View, start: int, stop: int) -> _State | None:
    """'CHT right one three one and falling', '2.3 tonnes, steady': how a value that was just read out moves."""
    if (start, stop) == view.sentence(start) and trend_alone(view.words[start:stop]) and any(
            talk.claimed(view.turn, index, index + 1) == "readouts" for index in range(start)):
        return _State(start, start, start, stop, "the value")
    for index in range(max(0, start - 3), stop):
        if talk.claimed(view.turn, index, index + 1) != "readouts":
            continue
        behind = index + 1
        while behind < len(view.words) and talk.claimed(view.turn, behind, behind + 1) == "readouts":
            behind += 1
        for begin in (behind, behind + 1, behind + 2):
            found = _TREND.match(" ".join(view.words[begin:begin + 4]))
            if found and begin < stop:
                return _State(begin, begin, begin, begin + len(found.group().split()), "the value")
    return None


def _row(talk: Talk, view: View, found: _State) -> Row:
    turn = view.turn
    evidence = [part(turn, "text", found.at, found.end)]
    text = _plain(view, found.at, found.end)
    name = found.name if found.name and found.name != "the value" else _plain(view, found.start, found.middle)
    if found.name == "the value":
        name = _of_last_value(talk, view, found.at) or "it"
    fields = {"parameter": Field(name, "spoken" if not found.name else "assumed"), "state": Field(text, "spoken", part=0)}
    if not found.name:
        evidence.append(part(turn, "parameter", found.start, found.middle))
        fields["parameter"] = Field(name, "spoken", part=1)
    return Row("qualitative", fields, tuple(evidence), turn.loop, turn.station, turn.index)


def _of_last_value(talk: Talk, view: View, at: int) -> str:
    """The words that stand before the last value, in its clause."""
    value = next((i for i in range(at - 1, -1, -1) if talk.claimed(view.turn, i, i + 1) == "readouts"), at)
    first = max(0, at - 10, view.clause(value)[0])
    return " ".join(w for i, w in enumerate(view.words[first:value], first) if talk.claimed(view.turn, i, i + 1) is None and w not in BREAKS)


def _plain(view: View, start: int, end: int) -> str:
    words: Sequence[str] = [token.text.strip(".,;:?!—\"") for token in view.turn.tokens[start:end]]
    return " ".join(word for word in words if word).removesuffix("'s").removesuffix("’s")
