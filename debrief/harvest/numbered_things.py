"""Like things told one after another by their numbers: 'Bearing one, fifty eight. Two, sixty three.', 'one's six point two, two's seven'.

The numbers that tell them apart go up by one and each has a value of its own behind it; they name, and measure nothing. Common practice, no source.
"""
from collections.abc import Mapping, Sequence
from decimal import Decimal

from ..records.talk import Number
from ..units import read_unit
from .view import View

_WORDS = tuple("one two three four five six seven eight nine ten eleven twelve".split())
_MOST = 16
_LINKS = frozenset(("", *"is was are reads reading shows says at now still about minus plus up down on to has both all each".split()))
_TELLS = frozenset("is was reads shows says at".split())
_ALL = frozenset("both all each are".split())
_MOST_BETWEEN = 3


def numbered(view: View) -> Mapping[int, Number]:
    """The numbers that tell the things of such a list apart, by their first tokens."""
    numbers = sorted([*view.numbers.values(), *_owners(view)], key=lambda n: n.start)
    found: dict[int, Number] = {}
    at = 0
    while at < len(numbers):
        chain = _chain(view, numbers, at)
        if chain:
            found |= {label.start: label for label in chain}
            at = numbers.index(chain[-1]) + 1
        at += 1
    return found


def _owners(view: View) -> list[Number]:
    """'Two's', 'three's', which may be no numbers elsewhere."""
    return [Number(at, at + 1, Decimal(_WORDS.index(word[:-2]) + 1), str(_WORDS.index(word[:-2]) + 1), "cardinal")
            for at, word in enumerate(view.words) if word.endswith("'s") and word[:-2] in _WORDS and at not in view.numbers]


def _chain(view: View, numbers: Sequence[Number], first: int) -> list[Number]:
    """The labels of a list that begins with the number at this place; none where it begins none."""
    if not _label(view, numbers[first]) or not _opens(view, numbers[first].start):
        return []
    labels: list[Number] = []
    values: list[Number] = []
    at = first
    while at < len(numbers):
        group = _group(view, numbers, at)
        value = numbers[at + len(group)] if group and at + len(group) < len(numbers) else None
        if value is None or (labels and group[0].value != labels[-1].value + 1) or not _has(view, group[-1], value):
            break
        if labels and not _follows(view, values[-1], group[0], labels[0]):
            break
        labels += group
        values.append(value)
        at += len(group) + 1
    nouns = [view.words[label.start - 1] if label.start else "" for label in labels]
    cued = sum(_cued(view, label) or (noun == nouns[0] and noun.isalpha() and nouns.count(noun) > 1) for label, noun in zip(labels, nouns, strict=True))
    solid = any(value.value > _MOST or "." in value.text or read_unit(view.words, value.end) is not None for value in values)
    return labels if len(values) >= 2 and cued >= len(values) - 1 and (solid or len(values) > 2) else []


def _label(view: View, number: Number) -> bool:
    whole = number.value == int(number.value) and 0 < number.value <= _MOST and "." not in number.text and not number.signed
    return whole and number.end == number.start + 1 and number.form != "ordinal" and number.value_high is None \
        and not view.turn.tokens[number.start].ends_sentence and (read_unit(view.words, number.end) is None or view.words[number.end] in _TELLS)


def _group(view: View, numbers: Sequence[Number], at: int) -> list[Number]:
    """'Three and four both', 'four, five and six all': several labels with one value; else the label alone."""
    if not _label(view, numbers[at]):
        return []
    group = [numbers[at]]
    for number in numbers[at + 1:at + 5]:
        joined = set(view.words[group[-1].end:number.start]) <= {"and", ""}
        if not joined or not _label(view, number) or number.value != group[-1].value + 1:
            break
        group.append(number)
    return group if len(group) > 1 and view.words[group[-1].end:group[-1].end + 1] and view.words[group[-1].end] in _ALL else group[:1]


def _opens(view: View, start: int) -> bool:
    """Whether a label stands at the head of a clause, alone or behind the one or two words of the thing that it numbers."""
    first, _ = view.clause(start)
    return start - first <= 2 or view.words[start - 1] in ("are", "is", "and") or not any(token.ends_clause for token in view.turn.tokens[:-1])


def _follows(view: View, value: Number, label: Number, first: Number) -> bool:
    """Whether the next label stands right behind a value and its unit, with the thing's name again or without it."""
    unit = read_unit(view.words, value.end)
    between = view.words[unit.end if unit is not None else value.end:label.start]
    noun = view.words[first.start - 1:first.start]
    if len(between) > _MOST_BETWEEN:
        return False
    named = label.start - (view.words[label.start - 1:label.start] == noun)
    return view.turn.tokens[named - 1].ends_clause or not set(between) - {"", "and", "number", "now", *noun}


def _has(view: View, label: Number, value: Number) -> bool:
    between = view.words[label.end:value.start]
    apart = any(view.turn.tokens[i].ends_sentence for i in range(label.start, value.start))
    return len(between) <= _MOST_BETWEEN and not apart and not set(between) - _LINKS


def _cued(view: View, label: Number) -> bool:
    """Whether something parts the label from its value: a comma, "'s", 'is', 'at'."""
    return view.words[label.start].endswith("'s") or view.turn.tokens[label.start].text.endswith((",", ":")) or bool(
        set(view.words[label.end:label.end + 1]) & (_TELLS | _ALL))
