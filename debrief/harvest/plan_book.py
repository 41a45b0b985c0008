"""What the session file asks to be read out, limits and knows: parameters by name, by card and by unit."""
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from ..session import Session
from ..units import canonical, joined_unit, read_unit
from ..wording.spoken_numbers import read_numbers
from .readout_words import SIDES
from .view import stem


@dataclass(frozen=True, slots=True)
class Planned:
    """A parameter of the plan: readout due, limit or known parameter."""

    what: str
    unit: str | None
    subject: str | None
    names: tuple[frozenset[str], ...]


@dataclass(frozen=True, slots=True)
class Aim:
    """A value that a step asks for: its unit and the stems of the step's words."""

    unit: str
    words: frozenset[str]


class PlanBook:
    """All parameters of a session file."""

    def __init__(self, session: Session) -> None:
        self.session = session

    @cached_property
    def planned(self) -> tuple[Planned, ...]:
        given = [(item.what, item.unit, item.subject, item.also_called) for card in self.session.cards for item in card.readouts]
        given += [(item.what, item.unit, item.subject, item.also_called) for item in self.session.parameters]
        given += [(limit.what, limit.unit, None, ()) for limit in self.session.limits]
        made = (Planned(what, canonical(unit), subject, tuple(_stems(name) for name in (what, *also))) for what, unit, subject, also in given)
        return tuple(dict.fromkeys(made))

    @cached_property
    def by_card(self) -> Mapping[str, tuple[Planned, ...]]:
        """What each card asks to be read out."""
        first = {(item.what, item.subject): item for item in reversed(self.planned)}
        return {card.id: tuple(first[readout.what, readout.subject] for readout in card.readouts) for card in self.session.cards}

    @cached_property
    def aims(self) -> Mapping[str, Mapping[Decimal, Aim]]:
        """Values with units in the texts of each card's steps ('up to 3.5 psi'), with the stems of the step's words."""
        found: dict[str, dict[Decimal, Aim]] = {}
        for card in self.session.cards:
            for written in (step.text.replace(",", " ").split() for step in card.steps):
                words = [word.lower() for word in written]
                for number in read_numbers(words):
                    unit = read_unit(words, number.end)
                    name = unit.name if unit is not None else joined_unit(f"1{written[number.end]}") if number.end < len(written) else None
                    if name:
                        found.setdefault(card.id, {}).setdefault(number.value, Aim(name, frozenset(map(stem, words))))
        return found

    @cached_property
    def rated(self) -> frozenset[str]:
        """Stems of single words that name something to be rated."""
        axes = (axis.lower() for card in self.session.cards for rating in card.ratings for axis in rating.axes)
        return frozenset(stem(axis) for axis in axes if " " not in axis)

    @cached_property
    def scales(self) -> frozenset[tuple[Decimal, Decimal | None]]:
        """The ends of the session's scales: 'effort, the one to five' tells no reading."""
        return frozenset((Decimal(str(scale.low)), Decimal(str(scale.high))) for scale in self.session.scales)

    @cached_property
    def flies(self) -> bool:
        """Whether the session is a flight: there a speed is an airspeed (common practice, no source)."""
        texts = " ".join([self.session.title, *(station.role for station in self.session.stations)]).lower()
        return bool({"flight", "aircraft", "glider", "helicopter", "aeroplane", "airplane"} & set(texts.replace(",", " ").split()))

    @cached_property
    def limits(self) -> tuple[tuple[Planned, frozenset[Decimal]], ...]:
        """The plan's limits with their bounds."""
        first = {item.what: item for item in reversed(self.planned)}
        return tuple((first[limit.what], frozenset(Decimal(str(bound)) for bound in (limit.min, limit.max) if bound is not None))
                     for limit in self.session.limits)

    def words_of_station(self, name: str | None) -> frozenset[str]:
        """Stems of the words of a station's name and role that tell it from others and can name what it reads out."""
        station = next((station for station in self.session.stations if station.name == name), None)
        return _stems(f"{station.name} {station.role}".replace(",", " ")) - GENERIC - _NO_HEADS - _DUTIES if station is not None else frozenset()

    @cached_property
    def words(self) -> frozenset[str]:
        """Stems of all planned parameter names: words that may head a phrase in this session."""
        return frozenset(word for item in self.planned for names in item.names for word in names if word not in _NO_HEADS)

    @cached_property
    def _known(self) -> dict[tuple[frozenset[str], str | None], "Planned | None"]:
        return {}

    def meant(self, words: Iterable[str], subject: str | None = None) -> Planned | None:
        """The planned parameter that these words name best; None where less than half of the words of both is shared."""
        key = (frozenset(stem(word.lower()) for word in words), subject)
        if key not in self._known:
            self._known[key] = self._best(*key)
        return self._known[key]

    @staticmethod
    def _another(said: frozenset[str], names: frozenset[str]) -> bool:
        """'Engine speed' is not the plan's 'speed', nor a breathing rate its 'rate': only a word that many share is the same."""
        return bool(said - GENERIC) and bool(names) and names <= GENERIC

    def _best(self, said: frozenset[str], subject: str | None) -> Planned | None:
        best, score = None, 0.0
        for item in self.planned:
            for names in item.names:
                shared = len(said & names) if not (_APART & said) - names and not self._another(said, names) else 0
                value = 2 * shared / (len(said) + len(names)) if shared else 0.0
                value += 0.05 if shared and subject and item.subject == subject else 0.0
                if value > score:
                    best, score = item, value
        return best if score >= (0.6 if said - GENERIC else 0.9) else None


GENERIC = frozenset(stem(word) for word in SIDES) | frozenset(
    stem(word) for word in "pressure temperature temp quantity flow depth height altitude speed rate force level load volume "
                     "weight current voltage power distance length angle reading time left right".split())
"""Heads that many parameters share: alone they name none of the plan's."""
_APART = frozenset(stem(word) for word in "differential diff delta".split())
"""What makes another quantity of the same thing."""
_DUTIES = frozenset(stem(word) for word in "test conductor lead crew seat monitor engineer operator director control and of the on".split())
_NO_HEADS = frozenset("left right main out in at of bell".split())


def _stems(text: str) -> frozenset[str]:
    return frozenset(stem(word) for word in text.lower().split())
