"""Which lines of a comparison are one: what one session does not say of a value is no contradiction to what another says of it.

Two lines are joined when they are about the same axis or parameter, no session stands in both, what both say (card, step, hand, subject ...)
is equal, the one says all that the other says, and neither could be joined with a third. The line then tells what was not said, and where.
"""
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Draft(Generic[Item]):
    """A line in the making. fixed: what must be equal (scale, class); parts: card, step, subject ...; cells: one for each column.

    letters: of each column's session; unsaid: for each session that says less, the parts that it does not say.
    """

    what: str
    fixed: str
    parts: Mapping[str, str]
    cells: Sequence[list[Item]]
    letters: Sequence[str]
    unsaid: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def sessions(self) -> frozenset[str]:
        return frozenset(letter for letter, cell in zip(self.letters, self.cells, strict=True) if cell)

    def holds(self, other: "Draft[Item]") -> bool:
        """Whether this line says all that the other says, and more, and no session is in both."""
        return (self.what, self.fixed) == (other.what, other.fixed) and other.parts.items() < self.parts.items() and not self.sessions & other.sessions

    def with_other(self, other: "Draft[Item]") -> "Draft[Item]":
        less = tuple(sorted(self.parts.keys() - other.parts.keys()))
        cells = [[*one, *two] for one, two in zip(self.cells, other.cells, strict=True)]
        return Draft(self.what, self.fixed, self.parts, cells, self.letters, {**self.unsaid, **other.unsaid, **dict.fromkeys(other.sessions, less)})


def joined(drafts: Iterable[Draft[Item]]) -> list[Draft[Item]]:
    """The lines, with those joined that say less than exactly one other and that no second one could take; those that say least go first."""
    left = sorted(drafts, key=lambda draft: len(draft.parts))
    done: list[Draft[Item]] = []
    while left:
        least = left.pop(0)
        fitting = [draft for draft in left if draft.holds(least)]
        rivals = [draft for draft in [*left, *done] if fitting and draft is not fitting[0] and fitting[0].holds(draft) and draft.sessions & least.sessions]
        if len(fitting) == 1 and not rivals:
            left[left.index(fitting[0])] = fitting[0].with_other(least)
        else:
            done.append(least)
    return done


def shared_cards(cards: Iterable[set[str]]) -> bool:
    """Whether the sessions have a card in common for a parameter; where they have none, a step was missed, and cards separate nothing."""
    found = list(cards)
    return bool(set.intersection(*found)) if found else False


def about(draft: Draft[Item], *, first: bool) -> str:
    """'ten-point, card 2, step 2b (B: step not said)'. first: the fixed part stands before the others."""
    parts = [value if name == "subject" else f"{name} {value}" for name, value in draft.parts.items()]
    subject = [value for name, value in draft.parts.items() if name == "subject"]
    rest = [text for text in parts if text not in subject]
    whole = [draft.fixed, *parts] if first else [*subject, draft.fixed, *rest]
    told = ", ".join(text for text in whole if text)
    less = "; ".join(f"{letter}: {', '.join(names)} not said" for letter, names in sorted(draft.unsaid.items()))
    return f"{told} ({less})" if less else told
