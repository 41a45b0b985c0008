"""Ratings told by others: 'harness the same', 'neck dam, same as his', 'same as before except the entry, that was an eight'.

Each is a rating of its own, with the value of the one it points at; told as doubtful, since nobody said the number.
"""
from collections.abc import Sequence
from decimal import Decimal

from ..records.rows import Row
from .rating_axes import AxisMention
from .view import View, phrases

_BUT = frozenset("except excepting bar but apart other barring".split())
_OTHERS = frozenset("his her hers theirs their him them yours mine".split())
_SAME = phrases("same again | same except | same but | same apart | same other | the same | same as | same for | as before | unchanged | no change | all the same")
_NOT_OF_RATINGS = frozenset("task procedure load speed altitude time place way one thing step run side channel page again with".split())
_CLUSTER, _REACH, _BEFORE_AXIS = 6, 80, 4


def told_the_same(view: View, mentions: Sequence[AxisMention], rows: Sequence[Row]) -> list[tuple[int, str, Decimal]]:
    """Token, axis and value of each rating that a turn gives by pointing at an earlier one. rows: the ratings given so far."""
    place = view.find(_SAME)
    if place is None or view.asks(*view.sentence(place[0])) or set(view.words[place[1]:place[1] + 1]) & _NOT_OF_RATINGS:
        return []
    first, stop = view.sentence(place[0])
    start = place[0]
    now = {str(row.get("axis")) for row in rows if row.turn == view.turn.index}
    earlier = [row for row in rows if row.turn is not None and 0 < view.turn.index - row.turn <= _REACH and isinstance(row.get("value"), Decimal)]
    another = bool(set(view.words[place[1]:place[1] + 2]) & _OTHERS) or any(place[1] <= m.start <= place[1] + 1 for m in view.names)
    own = [row for row in earlier if (row.station != view.turn.station) is another or view.turn.station is None]
    named = [m for m in mentions if first <= m.start and m.end <= start and start - m.end <= _BEFORE_AXIS]
    if named:
        group = dict.fromkeys(axis.name for axis in named[-1].axes)
        return [(start, name, value) for name in group if name not in now and (value := _latest(own, name)) is not None]
    but = next((i for i in range(start, stop) if view.words[i] in _BUT), None)
    if but is None:
        return []
    last = own[-1].turn if own else None
    group = dict.fromkeys(str(row.get("axis")) for row in own if last is not None and row.turn is not None and last - row.turn <= _CLUSTER)
    excepted = {axis.name for mention in mentions if mention.start > but for axis in mention.axes}
    return [(start, name, value) for name in group if name not in now | excepted and (value := _latest(own, name)) is not None]


def _latest(rows: Sequence[Row], axis: str) -> Decimal | None:
    value = next((row.get("value") for row in reversed(rows) if row.get("axis") == axis), None)
    return value if isinstance(value, Decimal) else None
