"""A session is held against the run that its file names."""
from dataclasses import replace
from decimal import Decimal

import pytest
from test_reread import ReadoutRecogniser, heard  # noqa: F401 - a fixture

from debrief.pipeline import RunSettings, run
from debrief.records.rows import Row
from debrief.reference_run import reference_rows
from debrief.store.sessions import SessionStore


@pytest.mark.parametrize("named", [None, "", "yesterday's empty run", "x" * 5000, "a\0b", "nowhere/out"])
def test_words_alone_are_no_run(named, tmp_path):
    assert reference_rows(named, tmp_path) == ()


def test_a_run_is_held_against_the_folder_that_its_session_names(heard, monkeypatch):  # noqa: F811
    out, session, beside = heard
    with SessionStore.open(out, read_only=True) as store:
        rows = store.rows()
    assert reference_rows("../out", beside) == tuple(rows)
    tripled = tuple(replace(row, fields={**row.fields, "value": replace(row.fields["value"], value=row.get("value") * 3)})
                    if row.kind == "readouts" and isinstance(row.get("value"), Decimal) else row for row in rows)
    monkeypatch.setattr("debrief.pipeline.reference_rows", lambda named, folder: tripled if (named, folder) == ("../out", beside) else ())
    told = _told(run(session.model_copy(update={"reference_run": "../out"}), beside, out.parent / "after", ReadoutRecogniser(), RunSettings()))
    assert any("where the reference run had" in why for row in told for why in row.look)
    plain = _told(run(session, beside, out.parent / "plain", ReadoutRecogniser(), RunSettings()))
    assert plain
    assert not any("where the reference run had" in why for row in plain for why in row.look)


def _told(store: SessionStore) -> list[Row]:
    with store:
        return store.rows()
