"""A second look at read-backs: values that came back in each other's place, and a number changed among the same words.

Common practice, no source: 'close six and open nine' read back as 'open six, close nine' has the right numbers and is wrong; 'points for
track four' read back as 'points set for track five' is one thing said twice, with another number. Read are the turns themselves, since a
pair whose words say the same and whose numbers do not may not have been taken for a read-back at all.
"""
from collections.abc import Iterator
from itertools import combinations

from ..harvest.view import View, content, stem, views
from ..records.talk import Number
from .review import Review

SHARED, MOST_WORDS, REACH = 0.6, 4, 2


def swapped(review: Review) -> Iterator[tuple[int, str]]:
    """Read-backs taken for right, in which two values stand behind each other's words: position of the row, and why."""
    seen = views(review.talk)
    by_place: dict[tuple[object, ...], int] = {(turn.tokens[0].segment, turn.start_s, turn.line_index): turn.index
                                               for turn in review.talk.turns if turn.tokens}
    for position, row in review.of("readbacks"):
        parts = {part.role: by_place.get((part.segment, part.start_s, part.line_index)) for part in row.evidence}
        said, back = parts.get("said"), row.turn
        if row.get("match") is True and said is not None and back is not None:
            why = _crossed(_led_by(seen[said]), _led_by(seen[back]))
            if why:
                yield position, why


def _led_by(view: View) -> list[tuple[Number, frozenset[str]]]:
    """Numbers with the content words that lead up to each."""
    found = []
    for at, number in sorted(view.numbers.items()):
        first = max((other.end for other in view.numbers.values() if other.end <= at), default=0)
        found.append((number, frozenset(stem(word) for word in view.words[max(first, at - MOST_WORDS):at] if content(word))))
    return found


def _crossed(said: list[tuple[Number, frozenset[str]]], back: list[tuple[Number, frozenset[str]]]) -> str | None:
    """Two values of which each came back behind words of the other, and not behind its own."""
    for (one, its), (two, others) in combinations(said, 2):
        words = {number.value: led for number, led in back}
        first, second = words.get(one.value), words.get(two.value)
        if first is None or second is None or one.value == two.value:
            continue
        if (others - its) & first and (its - others) & second and not (its - others) & first and not (others - its) & second:
            return f"{one.text} and {two.text} came back in each other's place"
    return None


def differing(review: Review, told: set[int]) -> Iterator[tuple[int, str]]:
    """Turns that say again the words of a turn before them with another number, and are no whole read-back yet: the turn's index, and why."""
    seen = views(review.talk)
    turns = [turn for turn in review.talk.operational() if turn.tokens]
    whole = {row.turn for _, row in review.of("readbacks") if row.get("verdict") != "partial"}
    whole |= {row.turn for _, row in review.of("ratings")}
    partial = {row.turn for _, row in review.of("readbacks") if row.get("verdict") == "partial"}
    for at, turn in enumerate(turns):
        for before in turns[max(0, at - REACH):at]:
            if turn.index in whole or (before.index in told and turn.index not in partial) or not _other_station(before.station, turn.station):
                continue
            why = _changed(seen[before.index], seen[turn.index])
            if why:
                yield turn.index, why
                break


def _other_station(one: str | None, two: str | None) -> bool:
    return one is not None and two is not None and one != two


def _changed(said: View, back: View) -> str | None:
    """'four came back as five', where nearly all content words of a short turn are those of the turn before, and as many numbers."""
    words = {stem(word) for i, word in enumerate(back.words) if content(word) and not _in_number(back, i) and not _named(back, i)}
    known = {stem(word) for word in said.words}
    asks = any("?" in token.text for token in (*said.turn.tokens, *back.turn.tokens))
    if asks or len(words & known) < 2 or len(words & known) < SHARED * len(words) or not said.numbers or len(back.numbers) != len(said.numbers):
        return None
    given, returned = ([view.numbers[at] for at in sorted(view.numbers)] for view in (said, back))
    pairs = [(one, two) for one, two in zip(given, returned, strict=True) if one.text != two.text and one.value != two.value and two.value not in one.others]
    return "; ".join(f"{one.text} came back as {two.text}" for one, two in pairs) or None


def _in_number(view: View, index: int) -> bool:
    return any(number.start <= index < number.end for number in view.numbers.values())


def _named(view: View, index: int) -> bool:
    return any(mention.start <= index < mention.end for mention in view.names)
