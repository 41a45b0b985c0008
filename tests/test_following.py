"""A readout that a person changes takes the rows with it that speak of its limit; and what the machine said to look at is told as first read."""
from decimal import Decimal

import pytest

from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
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
