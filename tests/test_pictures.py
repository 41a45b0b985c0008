"""The script that takes the README's pictures runs, and what it takes is small and not blank."""
import shutil

import av
import numpy as np
import pytest
from make_pictures import HEIGHT, WIDTH, take_pictures
from review_session import Size, make_session

from debrief.desk.contents import read_contents
from debrief.desk.handout import SHEET_NAME, write_sheet
from debrief.desk.sheet import SheetSettings
from debrief.store.sessions import SessionStore

MOST_BYTES = 200_000
FEWEST_GREYS = 20


@pytest.mark.browser
def test_pictures_are_taken_of_sheet_and_review_page(tmp_path):
    if not shutil.which("chromium"):
        pytest.skip("no chromium on this machine")
    session = make_session(tmp_path / "winch", Size(30))
    with SessionStore.open(session) as store:
        write_sheet(read_contents(store), session / SHEET_NAME, SheetSettings(clip=None))
    made = take_pictures(session, tmp_path / "pictures")
    assert [path.name for path in made] == ["sheet.png", "review.png"]
    for path in made:
        assert path.stat().st_size < MOST_BYTES
        with av.open(str(path)) as picture:
            seen = next(picture.decode(video=0)).to_ndarray(format="gray")
        assert seen.shape == (HEIGHT, WIDTH)
        assert len(np.unique(seen)) > FEWEST_GREYS
