"""The page of an archive's answer in a real browser, opened from disk: it plays, asks for nothing, and runs nothing that was said."""
import shutil
import wave

import numpy as np
import pytest
from archive_sessions import make

from debrief.archive.adding import add
from debrief.archive.finding import find
from debrief.archive.places import places
from debrief.archive.query import Query
from debrief.archive.shape import Archive
from debrief.archive.showing import PageSettings, page

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed: the page was not tried in a browser")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
pytestmark = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine: the page was not tried in a browser")]


def tone(path):
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes((3000 * np.sin(np.arange(60 * 8000) / 4)).astype("<i2").tobytes())
    return path


def test_the_page_plays_from_disk_and_asks_for_nothing(tmp_path):
    folder, out = make(tmp_path / "run", sound=tone(tmp_path / "loop.wav")), tmp_path / "found.html"
    with Archive.create(tmp_path / "archive") as archive:
        list(add(archive, [folder]))
        answer = find(archive, Query("alert"))
        out.write_text(page(answer, places(archive, answer), PageSettings("<img src=x onerror=alert(1)>")))
    with sync_api.sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        tab, told = browser.new_page(), []
        tab.on("request", lambda request: told.append(request.url))
        tab.on("console", lambda message: told.append(message.text))
        tab.on("dialog", lambda dialog: told.append(dialog.message))
        tab.goto(out.as_uri())
        tab.get_by_role("button", name="Play").click()
        for _ in range(100):  # the page's own policy forbids waiting by a string of script
            if tab.evaluate("player.currentTime") > 0.2:
                break
            tab.wait_for_timeout(200)
        assert tab.evaluate("player.currentTime") > 0.2
        assert tab.locator("mark").all_inner_texts() == ["<script>alert(1)</script>"]
        browser.close()
    assert told == [out.as_uri()]
