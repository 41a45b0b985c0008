"""What must hold between rows: rating scales, remarks against their ratings, relations and orders that the session names.

Dew point: WMO-No. 8 (Guide to Instruments), Annex 4.B: saturation vapour pressure over water is
6.112 exp(17.62 t / (243.12 + t)) hPa.
"""
import re
from collections.abc import Sequence
from math import exp, log

from ..records.rows import Row
from ..session import Scale
from .review import Findings, Review, Told

EASY = frozenset("easy fine good comfortable perfect nothing great smooth pleasant clear".split())
HARD = frozenset("hard heavy bad poor painful terrible awful stiff rubbish unbearable impossible cannot can't".split())


def saturation_hpa(celsius: float) -> float:
    """Saturation vapour pressure over water, hPa; -45 to 60 C (WMO-No. 8, Annex 4.B)."""
    return 6.112 * exp(17.62 * celsius / (243.12 + celsius))


def dew_point_c(celsius: float, humidity_percent: float) -> float:
    """Dew point in C from temperature and relative humidity over water (0, 100]; ValueError outside."""
    if not 0 < humidity_percent <= 100:
        raise ValueError(f"relative humidity {humidity_percent} %: must be above 0 and at most 100")
    ratio = log(humidity_percent / 100 * saturation_hpa(celsius) / 6.112)
    return 243.12 * ratio / (17.62 - ratio)


def _scale(review: Review, row: Row) -> Scale | None:
    name = str(row.get("scale") or "").casefold()
    return next((scale for scale in review.talk.session.scales if scale.name.casefold() == name), None)


def off_scale(review: Review) -> Findings:
    """A rating below, above or between the points of its scale."""
    told = Told(review, "off scale")
    for position, row in review.of("ratings"):
        scale, value = _scale(review, row), row.get("value")
        if scale is None or value is None:
            continue
        number = float(value)  # type: ignore[arg-type]
        outside = not scale.low <= number <= scale.high
        if outside or (scale.whole_numbers and number % 1):
            how = "off" if outside else "between the points of"
            why = f"{number:g} is {how} the {scale.name} scale ({scale.low:g} to {scale.high:g})"
            told.row(position, str(row.get("axis")), why)
    return told.findings()


def remark_against_rating(review: Review) -> Findings:
    """'Easy' with a number from the bad third of the scale, or 'hard' with one from the good third. Needs a scale with `best`."""
    told = Told(review, "remark against rating")
    remarks: dict[tuple[int | None, object], list[str]] = {}
    for _, remark in review.of("remarks"):
        remarks.setdefault((remark.turn, remark.get("about")), []).append(str(remark.get("text") or ""))
    for position, row in review.of("ratings"):
        scale, value = _scale(review, row), row.get("value")
        if scale is None or scale.best is None or value is None or row.turn is None:
            continue
        badness = abs(float(value) - scale.best) / ((scale.high - scale.low) or 1)  # type: ignore[arg-type]
        said = _words(remarks.get((row.turn, row.get("axis")), ()))
        if (badness > 2 / 3 and said & EASY and not said & HARD) or (badness < 1 / 3 and said & HARD and not said & EASY):
            word = sorted(said & (EASY | HARD))[0]
            why = f"{value} on {scale.name} (best {scale.best:g}) beside the word {word!r}"
            told.row(position, str(row.get("axis")), why)
    return told.findings()


def _words(texts: Sequence[str]) -> set[str]:
    """The words of remarks; without those that praise where something is denied."""
    words = set(re.findall(r"[a-z']+", " ".join(texts).lower()))
    return words - EASY if {"not", "isn't", "wasn't"} & words else words
