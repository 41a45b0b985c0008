"""Readings that fall by one are told; counts are not."""
import pytest
from readout_rows import rows_of


@pytest.mark.parametrize(("before", "said", "values"), [
    ("Lower at half a metre a second.", "Lowering. Two metres. One. Touching.", ["2", "1"]),
    ("Hook height ten metres. Five metres. Three.", "Two. One. Contact.", ["2", "1"]),
    ("Ready on the release.", "Five, four, three, two, one, release.", []),
    ("Depth is ten metres.", "On my count, three, two, one, drop.", []), ("Depth is ten metres.", "Stand by. Two, one, drop.", [])])
def test_a_reading_that_falls_is_no_count(before, said, values, tmp_path):
    assert [str(row.get("value")) for row in rows_of(tmp_path, ("A", before), ("B", said)) if row.turn == 1] == values
