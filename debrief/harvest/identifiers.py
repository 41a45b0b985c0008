"""Numbers that are identifiers, zeros kept: serials, part and tag numbers, and what answers to them.

'Serial zero four one' is the text '041', never the value 41. Told again by anybody within a few turns it is the same identifier; another
digit string of the same length there is one too (a paper that says otherwise). Common practice, no source.
"""
import re
from collections.abc import Iterator

from ..records.rows import Certainty, Field, Row
from ..records.talk import Number, Turn
from ..units import read_unit
from .readout_words import BREAKS, DETERMINERS
from .talk import Talk, part
from .view import View, views

NEAR_TURNS = 4
_NAMED = frozenset("serial serials s/n tag barcode stencil asset".split())
_PAIRED = frozenset({("part", "number"), ("serial", "number"), ("lot", "number"), ("batch", "number"), ("tag", "number"), ("stock", "number"),
                     ("inventory", "number"), ("id", "number"), ("asset", "number"), ("registration", "number"), ("cylinder", "number"),
                     ("lot",), ("batch",)} - {("lot",), ("batch",)})
_BETWEEN = frozenset("number is reads says no nr of the on it's that's as follows off from".split())
_LETTERS = {word: word[0].upper() for word in (
    "alpha alfa bravo charlie delta echo foxtrot golf hotel india juliet juliett kilo lima mike november oscar papa quebec romeo sierra tango "
    "uniform victor whiskey x-ray yankee zulu").split()} | {"dash": "-", "slash": "/"}


def identifiers(talk: Talk) -> list[Row]:
    """Rows of the table identifiers. Claims their numbers."""
    rows: list[Row] = []
    asked: tuple[int, str] | None = None
    for turn in talk.operational():
        view = views(talk)[turn.index]
        for start, end, what in _in_turn(view, asked):
            rows.append(_row(view, start, end, what or (asked[1] if asked else "")))
            talk.claim(turn, start, end, "identifiers")
        name = _asks_for(view)
        if name or any(row.turn == turn.index for row in rows):
            asked = (turn.index, name or (asked[1] if asked else ""))
    return _once_a_turn(rows)


def _in_turn(view: View, asked: tuple[int, str] | None) -> Iterator[tuple[int, int, str]]:
    done = -1
    for number in sorted(view.numbers.values(), key=lambda n: n.start):
        if number.start < done or not _whole(number):
            continue
        start, end = _with_letters(view, number)
        key = _key_before(view, start)
        near = asked is not None and view.turn.index - asked[0] <= NEAR_TURNS
        if key is not None or (near and _digit_string(view, number)):
            done = end
            yield start, end, _what(view, key, start) if key is not None else ""


def _whole(number: Number) -> bool:
    return "." not in number.text and number.value_high is None and number.form != "ordinal"


def _digit_string(view: View, number: Number) -> bool:
    """Digits spoken singly, three or more, or two with a zero before: 'zero four one'; no unit behind them."""
    spelt = number.form in ("digits", "figures") and (len(number.text) >= 4 or number.text.startswith("0") and len(number.text) >= 2)
    return spelt and read_unit(view.words, number.end) is None


def _with_letters(view: View, number: Number) -> tuple[int, int]:
    start, end = number.start, number.end
    while start > 0 and _letter(view, start - 1):
        start -= 1
    while end < len(view.words) and not view.turn.tokens[end - 1].ends_clause and (_letter(view, end) or end in view.numbers):
        end = view.numbers[end].end if end in view.numbers else end + 1
    return start, end


def _letter(view: View, index: int) -> bool:
    text = view.turn.tokens[index].text.strip(".,;:")
    return view.words[index] in _LETTERS or (len(text) == 1 and text.isupper() and text not in ("I", "A"))


def _key_before(view: View, start: int) -> int | None:
    """Where the word stands that makes the number behind it an identifier."""
    index = start
    low = view.sentence(start)[0]
    for _ in range(7):
        index -= 1
        if index < low:
            return None
        if view.words[index] in _NAMED or view.words[index - 1:index + 1] in _PAIRED:
            return index
        if view.words[index] not in _BETWEEN and view.words[index] in BREAKS and view.words[index] not in ("reads", "is"):
            return None
    return None


def _asks_for(view: View) -> str:
    """'Read me the serial off the release hook': what is identified, in words; '' where none is asked for."""
    for index, word in enumerate(view.words):
        if word in _NAMED or view.words[index - 1:index + 1] in _PAIRED:
            return _what(view, index, view.clause(index)[1])
    return ""


def _what(view: View, key: int, end: int) -> str:
    """The words around the key: 'release hook serial', 'serial off the release hook'."""
    start = key
    while start > 0 and view.words[start - 1] not in BREAKS and not view.turn.tokens[start - 1].ends_clause:
        start -= 1
    words = [word for word in view.words[start:end] if word not in DETERMINERS and word not in ("number", "is", "reads", "says", "off", "on", "of", "please")]
    return " ".join(word for word in words if not re.search(r"\d", word))


def _text(view: View, start: int, end: int) -> str:
    made, index = "", start
    while index < end:
        number = view.numbers.get(index)
        made += number.text if number else _LETTERS.get(view.words[index], view.turn.tokens[index].text.strip(".,;:").upper())
        index = number.end if number else index + 1
    return made


def _row(view: View, start: int, end: int, what: str) -> Row:
    turn: Turn = view.turn
    whole = [view.numbers[i] for i in range(start, end) if i in view.numbers]
    level: Certainty = "doubtful" if any(n.others for n in whole) and all(n.form == "cardinal" for n in whole) else "clear"
    fields = {"value": Field(_text(view, start, end), "spoken", level, 0), "what": Field(what or "identifier", "spoken" if what else "assumed")}
    return Row("identifiers", fields, (part(turn, "value", start, end),), turn.loop, turn.station, turn.index)


def _once_a_turn(rows: list[Row]) -> list[Row]:
    seen: set[tuple[int | None, str]] = set()
    kept = []
    for row in rows:
        key = (row.turn, str(row.get("value")))
        if key not in seen:
            seen.add(key)
            kept.append(row)
    return kept
