"""What runs warm is told by its temperature. Common practice, no source."""
from dataclasses import replace

from .readout_found import Found
from .readout_phrases import Phrase, TurnTerms
from .view import View

_RUNS = frozenset("running runs getting gets feels looks is going".split())
_STATES = frozenset("warm hot cool cold warmer hotter cooler colder".split())


def runs_warm(view: View, terms: TurnTerms, made: Found, before: Phrase | None) -> Found | None:
    """'The fan bearing is running warm, sixty eight': the temperature of what stands before 'warm'."""
    if before is None or not before.words or made.unit is not None and "F" not in made.unit.names:
        return None
    thing, between = before, set(view.words[before.end:made.number.start])
    if {word.lower() for word in before.words} <= _STATES:
        found = terms.before(view.sentence(made.number.start)[0], before.start)
        if found is None or not found.words:
            return None
        thing = found
    elif not _STATES & between or not _RUNS & between or "temperature" in thing.words:
        return None
    return replace(made, words=(*thing.words, "temperature"), phrase=thing, subject=thing.subject)
