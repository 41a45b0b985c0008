"""Anomalies: something told as not as it should be, with its place and where it was put right."""
import re
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..records.talk import Turn
from .talk import Talk, part
from .view import View, stem, views

_BROKEN = re.compile(
    r"\b(leak\w*|hiss\w*|crack\w*|smoke|smell\w*|burn(ing|t) smell|fire|jam\w*|stuck|fog\w*|broken|broke|snapped|torn|tear in|loose|missing|bent|"
    r"blocked|frozen|dead|fail(ed|ure|s|ing)?|fault\w*|trip(ped)?|stopped (half|dead|short)|won't|will not|can't (read|hear|see|get|move|open|close|reach)|"
    r"cannot|slips?|slipping|drift(ing|s) (badly|off)|overheat\w*|too hot|hot spot|alarm|warning|caution light|tone|not (flush|certified|latched|"
    r"locked|closed|open|on|working|right|responding|charging|sealed|steady|clear)|isn't (working|on|flush|moving|latched)|wrong (place|channel|switch|way|"
    r"position|side)|differs?|mismatch|below the (card )?(minimum|limit)|over (the|our) (\w+ )?limit|above the limit|out of (limits|tolerance)|"
    r"more than (i|we) planned|full\b|flooded|water in|oil on|sparks?|rattl\w*|knock\w*|vibrat\w*|grinding|squeal\w*|across the|in the (lane|way)|"
    r"risk|dropped,|nods down|problem|trouble|garbled|stiff|no (signal|power|pressure|flow|light)|lost (pressure|power|signal|contact|video)|"
    r"did not (clear|open|close|fire|start)|didn't (clear|open|close|fire|start|move)|double authority|came? (off|loose)|comes? (loose|straight into))\b")
_DENIED = re.compile(r"\b(no|not|nothing|never|without|any|isn't|wasn't|free of|clear of|don't see|no sign of)\b(\W+\w+){0,3}$")
_ASKED = re.compile(r"\?$")
_RESOLVED = re.compile(r"\b(clear(ed)?( now)?|fixed|gone|better|free( now)?|moves|working|back (on|up)|on( now)?|dry|steady|recovered|sealed|released|out of the|"
                       r"in the green|normal( again)?|restarted|running|done|flush now|light's on|sorted|closed( now)?)\b")
_PLACE = re.compile(r"\b((?:at|on|in|under|between|behind|near|by|over|across|inside|above|below|around)\s+(?:the |a |my |your |our |his |her |its )?"
                    r"(?:[\w'-]+\s*){1,3}(?:\band\s+(?:the )?[\w'-]+(?:\s+[\w'-]+)?)?)")
RESOLVES_WITHIN = 40
_SKIP = frozenset("the a an of at to in on for and is it we our my your i you with that this there s not no".split())


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
        if any(turn.index - index <= 12 and len(stems & other) >= max(1, len(stems) // 3) for index, other in told):
            continue
        told.append((turn.index, stems))
        rows.append(_row(talk, turns, position, (start, end), stems))
    return rows


def _sentence(view: View) -> tuple[int, int] | None:
    """The first sentence of a turn that tells of something wrong, is no question and does not deny it."""
    for start, end in view.sentences:
        text = " ".join(token.text for token in view.turn.tokens[start:end]).lower().replace("’", "'")
        found = _BROKEN.search(text)
        if found and not _ASKED.search(text) and not _DENIED.search(text[:found.start()]) and end - start >= 3:
            return start, end
    return None


def _stems(view: View, start: int, end: int) -> frozenset[str]:
    return frozenset(stem(word) for word in view.words[start:end] if word not in _SKIP and word.isalpha())


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
    found = _PLACE.findall(text)
    best = max(found, key=lambda phrase: (bool(re.search(r"between|number|\d", phrase)), len(phrase)), default="")
    return best.strip(" ,.") or " ".join(token.text for token in turn.tokens[start:start + 6]).strip(" ,.")


def _resolution(talk: Talk, turns: Sequence[Turn], position: int, stems: frozenset[str]) -> Turn | None:
    """A later turn that speaks of the same thing as put right."""
    for later in turns[position + 1:position + 1 + RESOLVES_WITHIN]:
        text = later.text.lower()
        words = {stem(token.norm) for token in later.tokens}
        if _RESOLVED.search(text) and "?" not in text and words & stems - _COMMON:
            return later
    return None


_COMMON = frozenset(stem(word) for word in "go copy gantry lead control right left step card now one two three check clear".split())
