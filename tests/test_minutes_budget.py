"""A run with a budget hands out what it has; the same run called again ends with the text of one that was never stopped."""
from dataclasses import replace

import pytest
from killing import small_session, text_of
from steady_recogniser import SteadyRecogniser

from debrief.hearing.windows import WindowSettings, cut_windows
from debrief.pipeline import Budget, RunSettings, run
from debrief.session import load_session


def test_a_budget_is_over_when_its_share_is_spent(monkeypatch):
    now = [100.0]
    monkeypatch.setattr("debrief.pipeline.time.monotonic", lambda: now[0])
    budget, endless = Budget(1.0), Budget(None)
    assert not budget.over()
    now[0] = 150.0
    assert budget.over(0.8)
    assert not budget.over()
    now[0] = 161.0
    assert budget.over()
    assert not endless.over()


@pytest.fixture
def small(tmp_path, monkeypatch):
    monkeypatch.setattr("debrief.pipeline.cut_windows", lambda held: cut_windows(held, WindowSettings(longest_s=8.0, filled_s=8.0)))
    return small_session(tmp_path / "session")


def test_no_minutes_leave_a_sheet_and_a_run_that_goes_on(small, tmp_path):
    session, _ = load_session(small.folder / "session.toml", to_hear=True)
    out, whole = tmp_path / "out", tmp_path / "whole"
    with run(session, small.folder, out, SteadyRecogniser(), RunSettings(minutes_budget=0.0)) as store:
        assert store.passes()[-1].finished_utc is None
        heard_first = len(store.segments(1))
    assert heard_first
    assert (out / "sheet.html").exists()
    with run(session, small.folder, out, SteadyRecogniser(), RunSettings()) as store:
        [done] = store.passes()
        assert done.finished_utc is not None
        assert len(store.segments(1)) > heard_first
    run(session, small.folder, whole, SteadyRecogniser(), RunSettings()).close()
    assert text_of(out) == text_of(whole)


def test_a_first_sheet_comes_after_the_loops_of_the_highest_priority(small, tmp_path, monkeypatch):
    written = []
    monkeypatch.setattr("debrief.pipeline.write_run", lambda store, *_: written.append({item.source.channel for item in store.segments(1)}))
    session, _ = load_session(small.folder / "session.toml", to_hear=True)
    loops = tuple(loop.model_copy(update={"priority": 1 if loop.name == "Cabin" else 2}) for loop in session.loops)
    settings = replace(RunSettings(), questions_per_minute=0.0)
    run(session.model_copy(update={"loops": loops}), small.folder, tmp_path / "out", SteadyRecogniser(), settings).close()
    assert written == [{1}, {0, 1}]


def test_of_long_loops_the_first_part_is_handed_out_before_the_rest(small, tmp_path, monkeypatch):
    written = []
    monkeypatch.setattr("debrief.pipeline.FIRST_PART_S", 20.0)
    monkeypatch.setattr("debrief.pipeline.write_run",
                        lambda store, *_: written.append([(item.source.channel, item.span.end_s) for item in store.segments(1) if item.span]))
    session, _ = load_session(small.folder / "session.toml", to_hear=True)
    loops = tuple(loop.model_copy(update={"priority": 1 if loop.name == "Cabin" else 2}) for loop in session.loops)
    settings, session = replace(RunSettings(), questions_per_minute=0.0), session.model_copy(update={"loops": loops})
    run(session, small.folder, tmp_path / "out", SteadyRecogniser(), settings).close()
    first, important, whole = written
    assert {channel for channel, _ in first} == {channel for channel, _ in important} == {1}
    assert max(end_s for _, end_s in first) <= 20 < max(end_s for _, end_s in important)
    assert len(whole) > len(important) > len(first) > 0
    monkeypatch.setattr("debrief.pipeline.FIRST_PART_S", 7200.0)
    run(session, small.folder, tmp_path / "at once", SteadyRecogniser(), settings).close()
    assert [len(found) for found in written[3:]] == [len(important), len(whole)]
