"""All checks in the order in which they run. A new check is one function and one line here (and one in the README's table)."""
from collections.abc import Mapping, Sequence

from ..harvest.talk import Talk
from ..records.findings import CheckResult
from ..records.rows import Row
from ..records.sound import Stretch
from ..timebase import RecordingClock
from .certainty import certainty
from .clocks import CLOCK_CHECKS
from .consistency import off_scale, remark_against_rating
from .crew_questions import NAME, crew_questions
from .history import contradictions, factor_of_ten, jumps
from .limits import NAME as LIMITS
from .limits import limits
from .listening_list import listening_list
from .planned_not_said import NAME as PLANNED
from .planned_not_said import planned_not_said
from .polls import NAME as POLL
from .polls import poll_check
from .readback_check import NAME as READ_BACK
from .readback_check import readback_check
from .relations import changed_since_reference, relations, unit_mix_up
from .review import Check, Review, run_checks

__all__ = ["CHECKS", "judge", "listening_list"]

CHECKS: tuple[Check, ...] = (
    *CLOCK_CHECKS,
    Check("jump", "measured readouts", "a value far from its neighbours in its own history", jumps),
    Check("factor of ten", "measured readouts", "a value ten or a hundred times the usual, or a tenth", factor_of_ten),
    Check("contradiction", "measured readouts", "two stations give different values within seconds", contradictions),
    Check("off scale", "ratings and scales", "a rating off or between the points of its scale", off_scale),
    Check("remark against rating", "ratings and remarks", "an easy remark beside a hard rating, or the reverse", remark_against_rating),
    Check("unit mix-up", "measured readouts", "a value that fits its history only in another unit: psi for kPa, feet for metres", unit_mix_up),
    Check("relation", "measured readouts and the session's relations", "a dew point, a sum or an order that does not hold", relations),
    Check("changed since reference", "measured readouts and the reference run", "a parameter a fifth and more away from the reference run",
          changed_since_reference),
    Check(POLL, "poll answers and decisions", "who was missing, late, conditional, spoken for, of two minds, and a decision over them", poll_check),
    Check(READ_BACK, "read-backs, values and who answers", "a read-back that is wrong, partial, or was due and only acknowledged",
          readback_check),
    Check(LIMITS, "measured readouts and the session's limits", "a value beyond a limit", limits),
    Check("certainty", "value rows and their witnesses", "how sure each value is, and why", certainty),
    Check(PLANNED, "the plan, steps, ratings, readouts and the words said", "what was planned and never said, declined or left out",
          planned_not_said),
    Check(NAME, "open items, anomalies, read-backs, polls, plan", "what the talk left open, and of whom to ask it", crew_questions),
)


def judge(rows: Sequence[Row], talk: Talk, *, stretches: Sequence[Stretch] = (), clocks: Mapping[str, RecordingClock] | None = None,
          sound: bool = False, reference: Sequence[Row] = ()) -> tuple[Review, list[CheckResult]]:
    """Rows after all checks but those that the session switches off, and what the checks say; results name rows by their position."""
    return run_checks(Review(tuple(rows), talk, tuple(stretches), clocks or {}, sound, reference), CHECKS, talk.session.checks_off)
