"""Small drawings for the sheet, as SVG: readouts over time against their limits, and the timeline.

Drawn by hand because every mark is a link to its row with a name of its own, and nothing but lines and shapes is needed. How sure a
value is shows by shape: filled dot for clear, ringed dot for repeated or heard by a person, hollow diamond for doubtful.
"""
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup, escape

from ..records.rows import Certainty
from ..timebase import hms

WIDTH, HEIGHT = 340, 150
LEFT, RIGHT, TOP, BOTTOM = 44, 10, 12, 22
LANE = 22
TEXT_HEIGHT = 11
_STEPS_S = (10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800)


@dataclass(frozen=True, slots=True)
class Point:
    """at_s: session seconds; number: the row's; name: what a reader is told of it."""

    at_s: float
    value: float
    certainty: Certainty
    number: int
    name: str


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark of the timeline in the lane of its kind."""

    at_s: float
    lane: str
    number: int
    name: str
    doubtful: bool = False


def time_ticks(start_s: float, end_s: float, most: int = 6) -> list[float]:
    """Round session times in the span, at most that many."""
    step = next((step for step in _STEPS_S if (end_s - start_s) / step <= most), 86_400)
    first = -(-start_s // step) * step
    return [first + i * step for i in range(int((end_s - first) // step) + 1)]


def _scaled(value: float, low: float, high: float, size: tuple[float, float]) -> float:
    start, end = size
    return start + (value - low) / (high - low) * (end - start) if high > low else (start + end) / 2


def _text(x: float, y: float, text: str, *, anchor: str = "start", kind: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="{kind}">{escape(text)}</text>'


def _dot(x: float, y: float, certainty: Certainty) -> str:
    if certainty == "doubtful":
        return f'<path class="doubt" d="M{x:.1f} {y - 5:.1f}l5 5l-5 5l-5 -5z"/>'
    ring = f'<circle class="ring" cx="{x:.1f}" cy="{y:.1f}" r="5.5"/>' if certainty != "clear" else ""
    return f'{ring}<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="3"/>'


def _link(number: int, name: str, inner: str) -> str:
    return f'<a href="#r{number}" aria-label="{escape(name)}"><title>{escape(name)}</title>{inner}</a>'


def readout_plot(title: str, points: Sequence[Point], limits: Sequence[tuple[str, float]], span: tuple[float, float]) -> Markup:
    """Values over session time. limits: (name, value); a line is drawn through sure values only, so that a doubtful one bends nothing."""
    values = [point.value for point in points] + [value for _, value in limits]
    low, high = min(values), max(values)
    room = (high - low) * 0.12 or abs(high) * 0.05 or 1.0
    low, high = low - room, high + room

    def x(at_s: float) -> float:
        return _scaled(at_s, *span, (LEFT, WIDTH - RIGHT))

    def y(value: float) -> float:
        return _scaled(value, low, high, (HEIGHT - BOTTOM, TOP))

    drawn = [f'<line class="axis" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{HEIGHT - BOTTOM}" y2="{HEIGHT - BOTTOM}"/>']
    drawn += [_text(x(at), HEIGHT - 8, hms(at), anchor="middle") for at in time_ticks(*span, most=4)]
    for name, value in limits:
        drawn.append(f'<line class="limit" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y(value):.1f}" y2="{y(value):.1f}"/>')
        drawn.append(_text(WIDTH - RIGHT, y(value) - 3, f"{name} {value:g}", anchor="end", kind="limit-name"))
    least, most = min(p.value for p in points), max(p.value for p in points)
    ends = {least, most} if y(least) - y(most) > TEXT_HEIGHT else {most}
    drawn += [_text(LEFT - 6, y(value) + 3, f"{value:g}", anchor="end") for value in sorted(ends)]
    sure = [point for point in points if point.certainty != "doubtful"]
    drawn += [f'<line class="run" x1="{x(a.at_s):.1f}" y1="{y(a.value):.1f}" x2="{x(b.at_s):.1f}" y2="{y(b.value):.1f}"/>'
              for a, b in pairwise(sure)]
    drawn += [_link(point.number, point.name, _dot(x(point.at_s), y(point.value), point.certainty)) for point in points]
    return _svg(title, WIDTH, HEIGHT, drawn)


def timeline(marks: Sequence[Mark], lanes: Sequence[str], span: tuple[float, float]) -> Markup:
    """One lane a kind, a mark a row, over session time."""
    width, left = 1000, 120
    height = LANE * len(lanes) + 26

    def x(at_s: float) -> float:
        return _scaled(at_s, *span, (left, width - 14))

    drawn: list[str] = []
    for at in time_ticks(*span, most=10):
        drawn.append(f'<line class="grid" x1="{x(at):.1f}" x2="{x(at):.1f}" y1="4" y2="{height - 20}"/>')
        drawn.append(_text(x(at), height - 6, hms(at), anchor="middle"))
    for position, lane in enumerate(lanes):
        middle = LANE * position + LANE / 2 + 4
        drawn.append(_text(left - 10, middle + 4, lane, anchor="end", kind="lane"))
        drawn.append(f'<line class="lane-line" x1="{left}" x2="{width - 14}" y1="{middle}" y2="{middle}"/>')
        drawn += [_link(mark.number, mark.name, _dot(x(mark.at_s), middle, "doubtful" if mark.doubtful else "clear"))
                  for mark in marks if mark.lane == lane]
    return _svg("Timeline", width, height, drawn)


def _svg(title: str, width: int, height: int, drawn: Sequence[str]) -> Markup:
    head = f'<svg viewBox="0 0 {width} {height}" role="group" aria-label="{escape(title)}" class="plot">'
    return Markup(head + "".join(drawn) + "</svg>")  # noqa: S704 (every text in it went through escape)
