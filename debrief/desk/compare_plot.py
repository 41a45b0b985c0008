"""The picture of one line of a comparison: every column's values on one scale, each column with its name, so that no colour is needed."""
from collections.abc import Sequence
from decimal import Decimal
from typing import Protocol

from markupsafe import Markup, escape

from ..records.rows import Row

WIDTH, LANE, LEFT, RIGHT = 280, 15, 70, 12
LONGEST_LABEL = 11


class Shown(Protocol):
    """What the picture needs of a value."""

    number: Decimal | None
    text: str
    row: Row


def strip(columns: Sequence[str], cells: Sequence[Sequence[Shown]]) -> Markup:
    """One lane for each column that has a number; empty when fewer than two have one."""
    held = [(name, [item for item in cell if item.number is not None]) for name, cell in zip(columns, cells, strict=True)]
    held = [(name, cell) for name, cell in held if cell]
    if len(held) < 2:
        return Markup("")
    numbers = [float(item.number or 0) for _, cell in held for item in cell]
    low, high = min(numbers), max(numbers)
    height = LANE * len(held) + 16
    lanes = "".join(_lane(name, cell, (low, high), LANE * (i + 0.6)) for i, (name, cell) in enumerate(held))
    ends = (f'<text x="{LEFT}" y="{height - 3}" text-anchor="start">{low:g}</text>'
            f'<text x="{WIDTH - RIGHT}" y="{height - 3}" text-anchor="end">{high:g}</text>')
    says = "; ".join(f"{name} {', '.join(item.text for item in cell)}" for name, cell in held)
    return Markup(f'<svg class="plot" role="img" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}">'  # noqa: S704 - escaped above
                  f"<title>{escape(says)}</title>{lanes}{ends if high > low else ''}</svg>")


def _lane(name: str, cell: Sequence[Shown], ends: tuple[float, float], y: float) -> str:
    line = f'<line class="lane-line" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>'
    label = f'<text class="lane" x="2" y="{y + 4:.1f}">{escape(name if len(name) <= LONGEST_LABEL else name[:LONGEST_LABEL - 1] + "…")}</text>'
    return line + label + "".join(_mark(float(item.number or 0), item.row.certainty == "doubtful", ends, y) for item in cell)


def _mark(value: float, doubtful: bool, ends: tuple[float, float], y: float) -> str:
    low, high = ends
    x = LEFT + ((value - low) / (high - low) if high > low else 0.5) * (WIDTH - LEFT - RIGHT)
    if doubtful:
        return f'<path class="doubt" d="M{x:.1f} {y - 4.5:.1f}l4.5 4.5-4.5 4.5-4.5-4.5z"/>'
    return f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="3.6"/>'
