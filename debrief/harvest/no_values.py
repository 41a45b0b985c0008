"""Numbers that are no readouts although nothing beside them says so: counts, step and card names called alone, names and ratings told again.

Common practice, no source.
"""
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from ..records.talk import Number, Turn
from ..session import Session
from ..units import dimension_of, read_unit
from .talk import Talk
from .view import View, stem

CLAIM_TURNS = 3
NAME_TURNS = 4
MOST_RATED = 20
LEAST_COUNT = 3
MOST_SECONDS_ON = 15
MOST_FALL = 10
_COUNTED_FROM = frozenset(map(Decimal, (3, 5, 10)))
_SETTLES = frozenset("at settled settling steady holding is to by".split())
_COUNTS = frozenset("count counting mark minus countdown stand standby ready".split())
_RATED = frozenset("rating ratings rate workload".split())


def counted_down(talk: Talk, turn: Turn, numbers: Sequence[Number]) -> set[int]:
    """First tokens of '... three, two, one': whole numbers from ten or less that fall by one, in this turn or going on from the one before."""
    run: list[Number] = []
    found = {number.start for number in numbers if _spelt_count(turn, number)}
    for number in (*numbers, None):
        if number is not None and run and number.value == run[-1].value - 1 and number.start - run[-1].end <= 2 \
                and not _SETTLES & {token.norm for token in turn.tokens[run[-1].end:number.start]}:
            run.append(number)
            continue
        if _runs_down(talk, turn, run, numbers):
            run = []
        if len(run) >= 3 or (len(run) == 2 and run[-1].value <= 1) or (run and _goes_on(talk, turn, run)):
            found |= {item.start for item in run}
        if run and len(run) == 1 and _counted_alone(talk, turn, run[0]):
            found.add(run[0].start)
        run = [number] if number is not None and 0 <= number.value <= 10 and number.value == int(number.value) and not number.signed else []
    return found


def _runs_down(talk: Talk, turn: Turn, run: Sequence[Number], numbers: Sequence[Number]) -> bool:
    """'Two metres. One.', '8.1. 7. 6. 5.0', 'five metres. Three.' 'Two. One. Contact.': a reading that falls, and no count."""
    if len(run) < 2:
        return False
    if any(_measured(turn, number) or "." in number.text for number in run):
        return True
    words = [token.norm for token in turn.tokens]
    if run[0].value in _COUNTED_FROM or _COUNTS & set(words[:run[0].start]):
        return False
    before = [(talk.turns[index], n) for index in range(max(0, turn.index - NAME_TURNS), turn.index) for n in talk.numbers[index]]
    higher = [(other, n) for other, n in (*before, *((turn, n) for n in numbers if n.end <= run[0].start)) if n.value > run[0].value]
    fell = bool(higher) and higher[-1][1].value <= run[0].value + MOST_FALL
    return fell and any("." in n.text or _measured(other, n) for other, n in higher)


def _measured(turn: Turn, number: Number) -> bool:
    unit = read_unit([token.norm for token in turn.tokens], number.end) if number.end < len(turn.tokens) else None
    return unit is not None and not turn.tokens[number.end - 1].ends_clause and dimension_of(unit.names[0]) != "time"


def _spelt_count(turn: Turn, number: Number) -> bool:
    """'Three two one fire', 'one two one two' for a voice check: a count run together, and no value."""
    text, next_word = number.text, turn.tokens[number.end].norm if number.end < len(turn.tokens) else ""
    if not text.isdigit() or number.end - number.start != len(text) or len(text) < LEAST_COUNT or read_unit((next_word,), 0) is not None:
        return False
    steps = {int(two) - int(one) for one, two in pairwise(text)}
    return (steps == {-1} and text[-1] in "10") or (len(text) > LEAST_COUNT and text in "1212121212" or steps == {1} and len(text) > LEAST_COUNT + 1)


def _counted_alone(talk: Talk, turn: Turn, number: Number) -> bool:
    """'Three.' 'Two.' 'One.', each a turn of its own: the turns around this one, which is one number, count on."""
    if len(turn.tokens) > number.end - number.start + 1:
        return False

    def alone(index: int) -> Decimal | None:
        near = talk.numbers[index] if 0 <= index < len(talk.turns) else ()
        return near[-1].value if len(near) == 1 and len(talk.turns[index].tokens) <= 2 else None

    before, after = alone(turn.index - 1), alone(turn.index + 1)
    return before == number.value + 1 or after == number.value - 1 >= 0


def _goes_on(talk: Talk, turn: Turn, run: Sequence[Number]) -> bool:
    before = talk.numbers[turn.index - 1][-1:] if turn.index else ()
    return len(run) >= 2 and any(number.value == run[0].value + 1 for number in before)


def time_goes_on(talk: Talk, turn: Turn, numbers: Sequence[Number]) -> set[int]:
    """First tokens of 'fifty seconds. Sixty.': bare numbers behind a length of time called alone, a little more each: the seconds go on.

    Claims them as times, so that the next turn can go on from them.
    """
    found: set[int] = set()
    last = _seconds_called(talk, turn)
    called = {time.start: time.seconds for time in talk.times[turn.index] if time.kind == "duration" and _alone_in_clause(turn, time.start, time.end)}
    for start, number in sorted([(n.start, n) for n in numbers] + [(at, None) for at in called], key=lambda item: item[0]):
        if number is None:
            last = called[start]
        elif last is not None and _alone_in_clause(turn, start, number.end) and 0 < number.value - last <= MOST_SECONDS_ON and not number.signed:
            found.add(start)
            last = number.value
            talk.claim(turn, start, number.end, "times")
    return found


def _seconds_called(talk: Talk, turn: Turn) -> Decimal | None:
    """Seconds that this station called alone last, at the end of its turn before."""
    before = next((other for other in reversed(talk.turns[max(0, turn.index - NAME_TURNS):turn.index]) if other.station == turn.station), None)
    ends = [n for n in talk.numbers[before.index] if talk.claimed(before, n.start, n.end) == "times" and _alone_in_clause(before, n.start, n.end)] \
        if before is not None and turn.station is not None else []
    return ends[-1].value if ends else None


def _alone_in_clause(turn: Turn, start: int, end: int) -> bool:
    tokens = turn.tokens
    return (start == 0 or tokens[start - 1].ends_clause) and (end == len(tokens) or tokens[end - 1].ends_clause)


def called_steps(session: Session) -> frozenset[str]:
    """Digits by which cards and steps of the plan are called ('2.4' is called two four)."""
    ids = [step.id for card in session.cards for step in card.steps] + [card.id for card in session.cards]
    return frozenset(text for text in (re.sub(r"\D", "", name) for name in ids) if len(text) >= 2)


def is_called_step(number: Number, steps: Iterable[str], view: View) -> bool:
    """'Two four, left hand reach': digits of a planned step, spoken singly."""
    del view
    return re.sub(r"\D", "", number.text) in steps and number.form in ("digits", "figures", "decimal", "cardinal")


def claimed_near(talk: Talk, turn: Turn, *kinds: str) -> frozenset[Decimal]:
    """Values of the numbers that these kinds of rows took in the last turns, or in this one."""
    found: set[Decimal] = set()
    for index in range(max(0, turn.index - CLAIM_TURNS), turn.index + 1):
        other = talk.turns[index]
        found |= {n.value for n in talk.numbers[index] if talk.claimed(other, n.start, n.end) in kinds}
    return frozenset(found)


def most_rated(session: Session) -> Decimal:
    """The top of the session's highest scale (no more than 20 counts as a rating)."""
    return Decimal(str(min(MOST_RATED, max((scale.high for scale in session.scales), default=MOST_RATED))))


def could_be_rating(number: Number, near: frozenset[Decimal], most: Decimal) -> bool:
    """A small bare number, whole or a half, while ratings are being given or told again."""
    return bool(near) and 0 <= number.value <= most and number.value * 2 % 1 == 0 and number.value_high is None


def rating_asked(talk: Talk, turn: Turn, axes: frozenset[str]) -> bool:
    """Whether one of the last turns asks for ratings: by that word, or by something that the session rates. axes: stems of what it rates."""
    near = (talk.turns[index] for index in range(max(0, turn.index - CLAIM_TURNS), turn.index))
    rated = _RATED if axes else _RATED - {"rate"}
    return any(word in rated or stem(word) in axes for other in near if not talk.numbers[other.index] for word in (t.norm for t in other.tokens))


def asks_time(talk: Talk, turn: Turn) -> bool:
    """Whether the turn before asks for the time."""
    before = talk.turns[turn.index - 1] if turn.index else None
    return before is not None and re.search(r"\btime\s*\?|what('s| is) the time|what time", before.text.lower()) is not None


def names_near(turn: Turn, named: Mapping[int, frozenset[Decimal]]) -> frozenset[Decimal]:
    """Values of the numbers that were names in the last turns ('frame twelve'); said again bare they are names still."""
    return frozenset(value for index in range(turn.index - NAME_TURNS, turn.index + 1) for value in named.get(index, ()))
