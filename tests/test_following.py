"""Rows that stand on another follow what a person decides of it: exceedances of a readout, events that tell an anomaly or a step again.

And what the machine said to look at is told as first read.
"""
from decimal import Decimal

import pytest

from debrief.desk.arising import Arising
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
from debrief.session import Limit, Session
from debrief.store import edits
from debrief.store.sessions import SessionStore
from debrief.timebase import Span


def row(kind, value, at=1.0, **fields):
    place = Part("value", "as heard", source=Source("r1", 0), span=Span.of_seconds(at, at + 1), start_s=at)
    fields = {"parameter": "rope tension", "value": Decimal(value), "unit": "kN", **fields}
    return Row(kind, {name: Field(item) for name, item in fields.items()}, (place,), look=(f"{value} kN is below the limit of 30 kN",))


def beyond(value, at=1.0):
    return row("exceedances", value, at, limit=Decimal(30), bound="min")


@pytest.fixture
def store(tmp_path):
    with SessionStore.create(tmp_path) as made:
        made.add_recording(Recording("r1", "loop.wav", "", 160_000, 8000, 1, ("Winch",)))
        begun = made.begin_pass({}, {}, {})
        made.save_rows(begun.number, [row("readouts", "24.8"), beyond("24.8"), row("readouts", "24.8", 5.0), beyond("24.8", 5.0)])
        made.finish_pass(begun.number)
        yield made


def change(store, number, **values):
    return edits.change(store.db, number, edits.standing(store.db, number).revision, values, "Ann")


def test_a_value_that_is_no_more_beyond_takes_its_row_out_and_only_that_one(store):
    assert change(store, 1, value=Decimal("42.8")).look == ("as first read: 24.8 kN is below the limit of 30 kN",)
    assert [edits.standing(store.db, number).state for number in (2, 3, 4)] == ["rejected", "standing", "standing"]
    assert edits.touched_with(store.db, 1) == [1, 2]
    assert edits.deeds(store.db, 2)[0].note == "follows row 1"
    assert edits.undo(store.db, "Ann") == [1, 2]
    assert [edits.standing(store.db, number).row.get("value") for number in (1, 2)] == [Decimal("24.8")] * 2
    assert edits.standing(store.db, 2).state == "standing"


def test_a_value_that_is_still_beyond_stands_in_both(store):
    change(store, 1, value=Decimal("20.8"))
    now = edits.standing(store.db, 2)
    assert (now.state, now.row.get("value"), now.row.get("limit"), now.row.fields["value"].origin) == ("standing", Decimal("20.8"), Decimal(30), "person")


@pytest.mark.parametrize("values", [{"value": Decimal("42.8"), "unit": "N"}, {"value": None}, {"parameter": "rope length"}])
def test_where_it_cannot_be_told_the_row_stands_and_says_so(store, values):
    change(store, 1, **values)
    now = edits.standing(store.db, 2)
    assert (now.state, now.row.get("value")) == ("standing", Decimal("24.8"))
    assert now.row.look[-1] == "its readout was changed: see whether it is still beyond the limit"


def test_what_a_person_decided_of_it_stays_and_other_fields_draw_nothing(store):
    edits.accept(store.db, 2, edits.standing(store.db, 2).revision, "Bo")
    change(store, 1, value=Decimal("42.8"))
    assert edits.standing(store.db, 2).state == "standing"
    change(store, 3, subject="hoist")
    assert edits.touched_with(store.db, 3) == [3]


# a value as a person heard it may be beyond a limit that the value as first read kept

LIMITS = Session(limits=(Limit(what="rope tension", unit="kN", max=40, min=30), Limit(what="rope tension", unit="kN", max=35, applies_to="card 2")))


def limited(tmp_path, session):
    store = SessionStore.create(tmp_path / "limited")
    store.add_recording(Recording("r1", "loop.wav", "", 160_000, 8000, 1, ("Winch",)))
    begun = store.begin_pass({"session": session.model_dump_json()}, {}, {})
    store.save_rows(begun.number, [row("readouts", "33.3"), beyond("24.8", 5.0)])
    store.finish_pass(begun.number)
    return store


@pytest.mark.parametrize(("value", "told"), [("43.3", ("max", 40)), ("13.3", ("min", 30)), ("33.4", None), ("36.0", None)])
def test_a_value_that_is_beyond_only_as_heard_gives_its_own_row(tmp_path, value, told):
    with limited(tmp_path, LIMITS) as store:
        revision = edits.standing(store.db, 1).revision
        Arising(store).change((1, revision), {"value": Decimal(value)}, "Ann")
        found = [item.row for item in edits.all_standing(store.db) if item.row.kind == "exceedances" and item.row.place.start_s == 1.0]
        assert [(item.get("bound"), item.get("limit"), item.get("value"), item.certainty) for item in found] == (
            [(told[0], Decimal(told[1]), Decimal(value), "heard by a person")] if told else [])
        touched = edits.touched_with(store.db, 1)
        assert touched == [1, *(item.number for item in found)]
        assert edits.undo(store.db, "Ann") == touched
        assert [item.row.number for item in edits.all_standing(store.db)] == [1, 2]


def test_the_limit_is_told_in_the_unit_of_the_value(tmp_path):
    """One unit stands in the row, for both: 43.3 kN beyond a limit of 40 000 N is beyond 40 kN."""
    limits = Session(limits=(Limit(what="rope tension", unit="N", max=40_000),))
    with limited(tmp_path, limits) as store:
        for value, beyond in (("43.3", True), ("39.9", False)):
            Arising(store).change((1, edits.standing(store.db, 1).revision), {"value": Decimal(value)}, "Ann")
            found = [item.row for item in edits.all_standing(store.db) if item.row.kind == "exceedances" and item.row.place.start_s == 1.0]
            assert [(item.get("limit"), item.get("unit"), item.look) for item in found] == (
                [(Decimal(40), "kN", ("43.3 kN is above the limit of 40000 N",))] if beyond else [])


def test_a_row_that_tells_this_limit_already_is_not_told_twice_and_a_check_that_is_off_tells_nothing(tmp_path):
    with limited(tmp_path, LIMITS) as store:
        for value in ("43.3", "44.4"):
            Arising(store).change((1, edits.standing(store.db, 1).revision), {"value": Decimal(value)}, "Ann")
        assert sum(item.row.kind == "exceedances" for item in edits.all_standing(store.db)) == 2
    with limited(tmp_path / "off", LIMITS.model_copy(update={"checks_off": ("limits",)})) as store:
        Arising(store).change((1, edits.standing(store.db, 1).revision), {"value": Decimal(99)}, "Ann")
        assert edits.touched_with(store.db, 1) == [1]


def test_a_readout_that_is_rejected_takes_its_exceedance_out(store):
    edits.reject(store.db, 1, edits.standing(store.db, 1).revision, "Ann")
    assert [edits.standing(store.db, number).state for number in (1, 2, 3, 4)] == ["rejected", "rejected", "standing", "standing"]
    assert edits.undo(store.db, "Ann") == [1, 2]
    assert edits.standing(store.db, 2).state == "standing"


def test_a_readout_that_is_right_leaves_its_exceedance_to_be_decided(store):
    edits.accept(store.db, 1, edits.standing(store.db, 1).revision, "Ann")
    assert edits.touched_with(store.db, 1) == [1]
    assert edits.standing(store.db, 2).row.certainty == "clear"


# events that tell again what another table tells


@pytest.fixture
def retold(tmp_path):
    with SessionStore.create(tmp_path) as made:
        begun = made.begin_pass({}, {}, {})
        made.save_rows(begun.number, [
            told("anomalies", 1.0, what="the window rattles"), told("events", 1.0, "carried", kind="anomaly", what="the window rattles"),
            told("steps", 2.0, card="2", step="2a", event="start"), told("events", 2.0, "carried", kind="step_start", what="step 2a"),
            told("events", 1.0, "spoken", kind="correction", what="correction")])
        made.finish_pass(begun.number)
        yield made


def told(table, at, origin="spoken", **fields):
    place = Part("text", "as heard", source=Source("r1", 0), span=Span.of_seconds(at, at + 1), start_s=at)
    return Row(table, {name: Field(item, origin) for name, item in fields.items()}, (place,), turn=int(at))


def test_an_event_that_tells_a_row_again_is_decided_with_it(retold):
    edits.reject(retold.db, 1, edits.standing(retold.db, 1).revision, "Ann")
    edits.accept(retold.db, 3, edits.standing(retold.db, 3).revision, "Ann")
    assert [edits.standing(retold.db, number).state for number in (2, 5)] == ["rejected", "standing"]
    assert edits.standing(retold.db, 4).row.certainty == "heard by a person"
    assert edits.deeds(retold.db, 4)[0].action == "accept"
    assert edits.undo(retold.db, "Ann") == [3, 4]
    assert edits.undo(retold.db, "Ann") == [1, 2]
    assert [edits.standing(retold.db, number).row.certainty for number in (2, 4)] == ["clear", "clear"]


@pytest.mark.parametrize(("number", "values", "event", "kind", "what"), [
    (1, {"what": "the wind bow rattles"}, 2, "anomaly", "the wind bow rattles"), (3, {"step": "2b"}, 4, "step_start", "step 2b"),
    (3, {"event": "complete"}, 4, "step_complete", "step 2a"), (3, {"event": "skipped"}, 4, None, None)])
def test_an_event_says_what_its_row_says_now(retold, number, values, event, kind, what):
    edits.change(retold.db, number, edits.standing(retold.db, number).revision, values, "Ann")
    now = edits.standing(retold.db, event)
    if kind is None:
        assert now.state == "rejected"
    else:
        assert (now.state, now.row.get("kind"), now.row.get("what")) == ("standing", kind, what)


def test_what_follows_rows_that_were_named_together_is_of_the_same_deed(store):
    edits.rename(store.db, [(1, edits.standing(store.db, 1).revision), (3, edits.standing(store.db, 3).revision)], ("parameter", "rope load"), "Ann")
    assert sorted(edits.touched_with(store.db, 1)) == [1, 2, 3, 4]
    assert sorted(edits.undo(store.db, "Ann")) == [1, 2, 3, 4]
    assert {edits.standing(store.db, number).row.get("parameter") for number in (1, 2, 3, 4)} == {"rope tension"}
