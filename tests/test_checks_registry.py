"""The registry: every check has its own name and card, the README tells of each, and the session file switches each off."""
import re
from pathlib import Path

from debrief.checks.registry import CHECKS, judge
from debrief.checks.review import Review, run_checks
from debrief.harvest.talk import Talk
from debrief.session import Session

README = Path(__file__).parents[1] / "README.md"


def test_names_are_unique_and_every_card_is_filled():
    assert len({check.name for check in CHECKS}) == len(CHECKS) > 10
    assert all(check.reads and check.says for check in CHECKS)


def test_the_readme_tells_of_every_check_and_of_no_other():
    section = README.read_text(encoding="utf-8").split("\n## Checks\n")[1].split("\n## ")[0]
    told = [tuple(cells) for cells in re.findall(r"^\| (?!check |---)(.+?) \| (.+?) \| (.+?) \|$", section, re.MULTILINE)]
    assert told == [(check.name, check.reads, check.says) for check in CHECKS]


def test_certainty_stands_behind_all_that_gives_rows_a_reason_to_look():
    names = [check.name for check in CHECKS]
    assert names.index("certainty") > max(names.index(name) for name in ("jump", "limits", "factor of ten", "unit mix-up"))


def test_every_check_takes_an_empty_session_and_can_be_switched_off():
    assert judge((), Talk(()))[1] == []
    off = Session(checks_off=tuple(check.name for check in CHECKS))
    review, results = judge((), Talk((), off))
    assert (review.rows, results) == ((), [])


def test_what_is_switched_off_does_not_run():
    ran = []
    checks = [type(CHECKS[0])(name, "", "", lambda review, name=name: ran.append(name) or CHECKS[0].run(Review((), Talk(())))) for name in "ab"]
    run_checks(Review((), Talk(())), checks, off=("a",))
    assert ran == ["b"]
