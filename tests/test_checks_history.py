"""Jumps, factors of ten and contradictions against a parameter's own history."""
from decimal import Decimal

from debrief.checks.consistency import off_scale, remark_against_rating
from debrief.checks.history import contradictions, factor_of_ten, jumps
from debrief.checks.listening_list import chance_wrong, listening_list
from debrief.checks.review import Check, Review, run_checks
from debrief.harvest.talk import Talk
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Source, Stretch
from debrief.session import Scale, Session
from debrief.timebase import Span


def readout(at_s, value, *, station="Panel", parameter="hoist load", doubtful=False, **fields):
    where = Part("value", str(value), source=Source("r1"), span=Span.of_seconds(at_s, at_s + 1), start_s=at_s)
    given = {"parameter": Field(parameter), "unit": Field("kN"), "class": Field("measured"),
             "value": Field(Decimal(str(value)), certainty="doubtful" if doubtful else "clear"),
             **{name: Field(item) for name, item in fields.items()}}
    return Row("readouts", given, (where,), station=station, turn=int(at_s))


def review(*rows, session=None, **more):
    return Review(rows, Talk((), session or Session()), **more)


def test_a_jump_between_quiet_neighbours_is_told_and_the_neighbours_are_not():
    rows = [readout(60 * i, value) for i, value in enumerate([12.0, 12.1, 12.2, 19.2, 12.3, 12.4])]
    found = jumps(review(*rows))
    assert list(found.changed) == [3]
    assert found.changed[3].look == ("jump: 19.2 between 12.2 and 12.3",)


def test_a_steady_climb_is_no_jump():
    assert not jumps(review(*[readout(60 * i, value) for i, value in enumerate([10, 20, 30, 40, 50])])).changed


def test_a_value_that_stands_out_of_a_history_that_never_moves_is_told():
    rows = [readout(60 * i, value) for i, value in enumerate([5, 5, 5, 9, 5, 5, 5.5])]
    assert list(jumps(review(*rows)).changed) == [3]


def test_power_raised_by_decades_loses_no_point():
    rows = [readout(60 * i, value) for i, value in enumerate([4, 10, 25, 70, 98, 250, 700])]
    assert not factor_of_ten(review(*rows)).changed


def test_a_superseded_value_has_no_history():
    rows = [readout(60 * i, v) for i, v in enumerate([12, 12.1, 12.2])] + [readout(300, 99, superseded=True)]
    assert not jumps(review(*rows)).changed


def test_a_lost_point_is_told_as_a_factor_of_ten():
    found = factor_of_ten(review(*[readout(60 * i, value) for i, value in enumerate([12.1, 12.2, 123, 12.3])]))
    assert found.changed[2].look == ("123 is about 10 times its usual 12.2: a lost point or zero?",)


def test_two_stations_that_differ_within_seconds_contradict_each_other():
    found = contradictions(review(readout(10, 4), readout(18, 5, station="Winch")))
    assert set(found.changed) == {0, 1}
    assert found.results[0].says == "hoist load: 4 from Panel, 5 from Winch, 8 s apart"


def test_a_row_that_two_others_contradict_keeps_both_reasons():
    found = contradictions(review(readout(10, 4), readout(18, 5, station="Winch"), readout(26, 6)))
    assert found.changed[1].look == ("4 from Panel, 5 from Winch, 8 s apart", "5 from Winch, 6 from Panel, 8 s apart")


def test_the_same_station_may_read_a_falling_value():
    assert not contradictions(review(readout(10, 5), readout(18, 4))).changed


SCALES = Session(scales=(Scale(name="effort", low=1, high=5, best=1, whole_numbers=True),))


def rating(value, turn=1):
    where = Part("value", str(value), start_s=1.0)
    fields = {"axis": Field("pull"), "value": Field(Decimal(str(value))), "scale": Field("effort")}
    return Row("ratings", fields, (where,), turn=turn)


def test_ratings_off_and_between_the_points_of_a_scale():
    found = off_scale(review(rating(6), rating("2.5"), rating(3), session=SCALES))
    assert found.changed[0].look == ("6 is off the effort scale (1 to 5)",)
    assert found.changed[1].look == ("2.5 is between the points of the effort scale (1 to 5)",)
    assert 2 not in found.changed


def test_easy_beside_a_five_is_told():
    remark = Row("remarks", {"about": Field("pull"), "text": Field("really easy")}, (Part("text", "really easy"),), turn=1)
    found = remark_against_rating(review(rating(5), remark, session=SCALES))
    assert found.changed[0].look == ("5 on effort (best 1) beside the word 'easy'",)
    assert not remark_against_rating(review(rating(1), remark, session=SCALES)).changed


def test_a_check_can_be_switched_off():
    checks = [Check("jump", "readouts", "a value far from its neighbours", jumps)]
    rows = [readout(60 * i, value) for i, value in enumerate([12.0, 12.1, 12.2, 19.2, 12.3, 12.4])]
    assert len(run_checks(review(*rows), checks)[1]) == 1
    assert run_checks(review(*rows), checks, off=["jump"])[1] == []


def test_listening_puts_the_doubtful_before_the_clear_and_fits_the_minutes():
    rows = [readout(10, 4), readout(100, 5, doubtful=True), readout(200, 6)]
    items = listening_list(review(*rows))
    assert [item.row for item in items] == [1, 0, 2]
    assert items[0].seconds == 1 + 2 * 0.4 + 1.0
    assert [item.row for item in listening_list(review(*rows), minutes=3.5 / 60)] == [1]


def test_one_playing_settles_rows_that_touch():
    items = listening_list(review(readout(10, 4), readout(11.2, 5)))
    assert len(items) == 1
    assert items[0].expected_errors == chance_wrong(readout(0, 1)) * 2


def test_unreadable_sound_is_on_the_list():
    lost = Stretch(Source("r1"), Span.of_seconds(50, 60), "unreadable", "digital silence")
    items = listening_list(review(stretches=[lost], sound=True))
    assert [item.why for item in items] == [("sound that could not be read: digital silence",)]
