"""Rows of an archive by their values and in their order: kinds of pressure are never mixed in silence, and the first are the earliest."""
from pathlib import Path

import pytest
from archive_sessions import SECOND, make, readout

from debrief.archive import finding
from debrief.archive.adding import add
from debrief.archive.finding import find
from debrief.archive.places import places
from debrief.archive.query import Query, amount, bounds, instant
from debrief.archive.shape import Archive
from debrief.archive.showing import summary
from debrief.store import database

PRESSURES = (readout(5, "cabin pressure", "4.8", "psia"), readout(15, "cabin pressure", "4.7", "psi"), readout(25, "cabin pressure", "0.2", "psig"),
             readout(35, "cabin pressure", "34.0", "kPa"), readout(45, "cabin differential pressure", "4.6", "psi"), readout(55, "cabin pressure", "14.6", "psia"))


def made(folder: Path, *sessions) -> Archive:
    """An archive of sessions with these rows, the first on 1 April, the next on 2 April and so on; added in the order of their folders' names."""
    for number, (name, day, rows) in enumerate(sessions):
        make(folder / "runs" / name, SECOND, rows, sha256=f"{number:x}" * 64, day=day, title=name)
    archive = Archive.create(folder / "archive")
    assert {item.what for item in add(archive, [folder / "runs"])} == {"added"}
    return archive


@pytest.fixture
def pressures(tmp_path):
    with made(tmp_path, ("one", 1, PRESSURES)) as archive:
        yield archive


def asked(archive, below="5 psi", **more):
    answer = find(archive, Query(parameter="cabin pressure", high=amount(below), **more))
    return [place.says for place in places(archive, answer)], answer.notes


def test_a_question_without_a_kind_finds_every_pressure_and_counts_the_kinds(pressures):
    says, notes = asked(pressures)
    assert says == ["cabin pressure 4.8 psia", "cabin pressure 4.7 psi", "cabin pressure 0.2 psig", "cabin pressure 34.0 kPa",
                    "cabin differential pressure 4.6 psi"]
    assert notes == ("of these pressures are told: 1 as absolute, 1 as gauge, 1 as differential, 2 without saying which; they are not the same measure",)


def test_a_question_with_a_kind_leaves_other_kinds_out_and_says_so(pressures):
    says, notes = asked(pressures, "5 psia")
    assert says == ["cabin pressure 4.8 psia", "cabin pressure 4.7 psi", "cabin pressure 34.0 kPa"]
    assert notes == ("not compared: 1 told as gauge pressure, 1 told as differential pressure", "2 of these do not say which kind of pressure they are")
    assert asked(pressures, "5 psig")[0] == ["cabin pressure 4.7 psi", "cabin pressure 0.2 psig", "cabin pressure 34.0 kPa"]


def test_one_kind_alone_needs_no_word(tmp_path):
    with made(tmp_path, ("one", 1, PRESSURES[1:2])) as archive:
        assert asked(archive) == (["cabin pressure 4.7 psi"], ())
    with made(tmp_path / "b", ("one", 1, PRESSURES[:1])) as archive:
        assert asked(archive) == (["cabin pressure 4.8 psia"], ())


def test_the_notes_stand_in_what_a_person_reads(pressures):
    answer = find(pressures, Query(parameter="cabin pressure", high=amount("5 psi")))
    assert summary(answer).startswith("5 rows; of these pressures are told: 1 as absolute")


def test_bounds_of_two_kinds_cannot_be_asked():
    with pytest.raises(Exception, match="do not measure the same"):
        bounds(None, None, ("4 psia", "5 psig"))


@pytest.mark.parametrize(("query", "index", "found"), [
    (Query(parameter="cabin pressure", low=amount("10 psi")), "COVERING INDEX rows_by_value", [6]),
    (Query(parameter="cabin differential pressure"), "COVERING INDEX rows_by_value", [5]),
    (Query(kinds=("readouts",), high=amount("1 psi")), "COVERING INDEX rows_by_dimension", [3]),
    (Query(kinds=("readouts",)), "INDEX rows_by_kind", [1, 2, 3, 4, 5, 6])])
def test_a_new_archive_asks_the_index_that_says_most(pressures, query, index, found):
    wanted = finding._wanted(finding._Search(pressures, query))
    plan = " ".join(item[3] for item in pressures.all(f"EXPLAIN QUERY PLAN {wanted.sql(None)[0]}"))
    assert index in plan
    assert sorted(wanted.ids(pressures, 10)) == found


# order


LATE_FIRST = (("a", 9, [readout(50, "bus", "24", "V"), readout(20, "bus", "25", "V")]), ("b", 3, [readout(70, "bus", "26", "V"), readout(30, "bus", "27", "V")]),
              ("c", None, [readout(1, "bus", "28", "V")]))


@pytest.mark.parametrize("most", [10_000, 2])
def test_rows_come_in_the_order_of_time_however_many_there_are(tmp_path, monkeypatch, most):
    monkeypatch.setattr(finding, "MOST_COUNTED", most)
    with made(tmp_path, *LATE_FIRST) as archive:
        def said(**more):
            return [place.says for place in places(archive, find(archive, Query(kinds=("readouts",), **more)))]

        assert said() == ["bus 27 V", "bus 26 V", "bus 25 V", "bus 24 V", "bus 28 V"]
        assert said(limit=3) == ["bus 27 V", "bus 26 V", "bus 25 V"]
        assert said(first="session") == ["bus 27 V", "bus 25 V", "bus 28 V"]
        assert said(first="archive") == ["bus 27 V"]
        assert said(utc_from=instant("2031-04-09T10:00:30")) == ["bus 24 V"]
        assert said(sessions=("a", "c")) == ["bus 25 V", "bus 24 V", "bus 28 V"]
        assert find(archive, Query(kinds=("readouts",))).more == (most == 2)


@pytest.mark.parametrize("most", [10_000, 1])
def test_talk_comes_in_the_order_of_time_however_much_there_is(tmp_path, monkeypatch, most):
    monkeypatch.setattr(finding, "MOST_COUNTED", most)
    with made(tmp_path, *LATE_FIRST) as archive:
        def when(**more):
            return [(place.title, place.start_s) for place in places(archive, find(archive, Query("leaks", **more)))]

        assert when() == [("b", 0), ("b", 10), ("a", 0), ("a", 10), ("c", 0), ("c", 10)]
        assert when(first="archive") == [("b", 0)]
        assert when(first="session") == [("b", 0), ("a", 0), ("c", 0)]
        later = instant("2031-04-03T10:00:05")
        assert when(utc_from=later) == [("b", 10), ("a", 0), ("a", 10)]
        assert when(utc_from=later, first="session") == [("b", 10), ("a", 0)]
        assert when(utc_from=instant("2031-04-03T10:00:15"), first="archive") == [("a", 0)]


def test_ranges_that_touch_are_asked_as_one():
    assert finding._joined([(5, 9), (1, 5), (11, 12)]) == [(1, 9), (11, 12)]


def test_an_archive_in_a_folder_nobody_may_write_is_read(tmp_path, monkeypatch):
    made(tmp_path, *LATE_FIRST).close()
    monkeypatch.setattr(database.os, "access", lambda *_, **__: False)  # whoever runs the tests may be allowed to write everywhere
    (tmp_path / "archive").chmod(0o500)
    try:
        with Archive.open(tmp_path / "archive", read_only=True) as archive:
            assert find(archive, Query(kinds=("readouts",))).counted == 5
        assert [file.name for file in (tmp_path / "archive").iterdir()] == ["archive.sqlite"]
    finally:
        (tmp_path / "archive").chmod(0o700)
