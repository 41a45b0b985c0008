"""What can be rated: the plan's axes with their scales, and the words by which people name them."""
from collections.abc import Mapping
from dataclasses import dataclass, field

from ..session import Scale, Session
from .view import View, stem

_BEGINNING = 4
_GENERIC = frozenset("the a of to and on off general overall rating".split())
# Scales of the trades themselves, for talk without a session file. Cooper-Harper: NASA TN D-5153; Bedford: RAE TR 88050; Borg RPE 6-20
# and CR10: Borg 1982, Med Sci Sports Exerc 14; TLX: Hart and Staveland 1988. Ranges from memory of those papers.
KNOWN_SCALES = (
    Scale(name="Cooper-Harper", low=1, high=10, best=1), Scale(name="Bedford", low=1, high=10, best=1),
    Scale(name="Borg", low=6, high=20, best=6), Scale(name="RPE", low=6, high=20, best=6), Scale(name="CR10", low=0, high=10, best=0),
    Scale(name="TLX", low=0, high=100, best=0), Scale(name="PIO", low=1, high=6, best=1),
)


@dataclass(frozen=True, slots=True)
class Axis:
    """One thing to be rated. cards: card ids that plan it; by: who should rate it; scale: None where none is named."""

    name: str
    scale: Scale | None
    cards: tuple[str, ...] = ()
    by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AxisMention:
    start: int
    end: int
    axes: tuple[Axis, ...]


@dataclass(frozen=True)
class AxisBook:
    """axes by name; scales by their words; called: words of each axis's names to it, by card ('' = any)."""

    axes: Mapping[str, Axis] = field(default_factory=dict)
    scales: Mapping[tuple[str, ...], Scale] = field(default_factory=dict)
    names: Mapping[str, Mapping[tuple[str, ...], tuple[str, ...]]] = field(default_factory=dict)

    @classmethod
    def of(cls, session: Session) -> "AxisBook":
        """Axes of all cards; a first word that only one axis of a card has, and a last word that several share, name them too."""
        scales = {scale.name: scale for scale in session.scales}
        axes: dict[str, Axis] = {}
        for card in session.cards:
            for planned in card.ratings:
                for name in planned.axes:
                    old = axes.get(name, Axis(name, scales.get(planned.scale or "") or scales.get(name)))
                    axes[name] = Axis(name, old.scale, (*old.cards, card.id), tuple(dict.fromkeys((*old.by, *planned.by))))
        names = {card.id: _names([a for p in card.ratings for a in p.axes]) for card in session.cards}
        names[""] = _names(list(axes))
        return cls(axes, {_key(scale.name): scale for scale in (*KNOWN_SCALES, *session.scales)}, names)

    def find(self, view: View, card: str | None) -> list[AxisMention]:
        """Axes named in a turn, the longest name first, in order; the open card's names before those of the others."""
        found: list[AxisMention] = []
        stems = [stem(word) for word in view.words]
        index = 0
        while index < len(stems):
            mention = (self._at(stems, index, self.names.get(card or "", {})) or self._at(stems, index, self.names[""])
                       or self._begun(view, stems, index))
            if mention:
                found.append(mention)
            index = mention.end if mention else index + 1
        return found

    def _at(self, stems: list[str], index: int, names: Mapping[tuple[str, ...], tuple[str, ...]]) -> AxisMention | None:
        for length in (3, 2, 1):
            key = tuple(stems[index:index + length])
            if len(key) == length and key in names:
                return AxisMention(index, index + length, tuple(self.axes[name] for name in names[key]))
        return None

    def _begun(self, view: View, stems: list[str], index: int) -> AxisMention | None:
        """'Warm, a three' for warmth: the beginning of the name of one axis, right before a value."""
        word = stems[index]
        if len(word) < _BEGINNING or not any(at in view.numbers for at in range(index + 1, index + 4)):
            return None
        fits = [axis for name, axis in self.axes.items() if " " not in name and stem(name.lower()) != word and stem(name.lower()).startswith(word)]
        return AxisMention(index, index + 1, tuple(fits)) if len(fits) == 1 else None

    def scale_at(self, view: View, index: int) -> tuple[int, Scale] | None:
        for key, scale in self.scales.items():
            if view.words[index:index + len(key)] == key:
                return index + len(key), scale
        return None


def _key(name: str) -> tuple[str, ...]:
    return tuple(name.lower().replace("-", " ").split())


def _names(axes: list[str]) -> dict[tuple[str, ...], tuple[str, ...]]:
    words = {axis: tuple(stem(word) for word in axis.lower().split()) for axis in dict.fromkeys(axes)}
    found: dict[tuple[str, ...], tuple[str, ...]] = {key: (axis,) for axis, key in words.items()}
    for axis in words:  # 'headrest' for 'head rest', as recognisers write it
        found.setdefault((stem("".join(axis.lower().split())),), (axis,))
    for pick in (0, -1):
        shared: dict[str, list[str]] = {}
        for axis, key in words.items():
            if len(key) > 1 and key[pick] not in _GENERIC:
                shared.setdefault(key[pick], []).append(axis)
        for word, group in shared.items():
            found.setdefault((word,), tuple(group))
    return found
