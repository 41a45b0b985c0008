"""Lengths of time that are measured are readouts by their names; those that only say how long to wait are not."""
import pytest
from readout_rows import rows_of


def told(tmp_path, *lines):
    return [(str(row.get("parameter")).lower(), str(row.get("value")), row.get("unit"), row.get("class")) for row in rows_of(tmp_path, *lines)
            if row.get("unit") in ("s", "min", "h", "ms")]


@pytest.mark.parametrize(("said", "row"), [
    ("Brake applied. Stopped, braking time one point seven seconds.", ("braking time", "1.7", "s", "measured")),
    ("QRS is 96 milliseconds.", ("qrs", "96", "ms", "measured")), ("Working time ninety minutes at most.", ("working time", "90", "min", "limit")),
    ("Brake pipe dumped in one point nine seconds.", ("brake pipe time", "1.9", "s", "measured")),
    ("Drogue fired at 0.17 seconds.", ("drogue time", "0.17", "s", "measured")), ("101 seconds on the clock.", ("time", "101", "s", "measured")),
    ("Seat one, mask off time three minutes forty.", ("mask off time", "220", "s", "measured"))])
def test_a_named_or_timed_length_is_a_readout(said, row, tmp_path):
    assert told(tmp_path, ("A", said)) == [row]


def test_a_length_that_was_asked_for_takes_its_name_from_the_question(tmp_path):
    assert told(tmp_path, ("A", "Good. Drain time?"), ("B", "3 minutes 20.")) == [("drain time", "200", "s", "measured")]
    assert told(tmp_path, ("A", "How long did it take?"), ("B", "Forty seconds.")) == [("time", "40", "s", "measured")]


@pytest.mark.parametrize("said", [
    "Wait five minutes.", "We had a good time, 10 minutes of it.", "This time 20 seconds please.", "I'll be with you in two and a half minutes.",
    "Ten minutes on the clock.", "Half a minute.", "Is the drain time 20 seconds?", "It was ten minutes ago."])
def test_other_lengths_are_none(said, tmp_path):
    assert told(tmp_path, ("A", said)) == []
