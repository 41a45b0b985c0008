"""The review page in a real browser (Debian's chromium): what its tests share. A fault of a script, or a request elsewhere, fails a test."""
import re
import shutil
import time

import pytest
from playwright import sync_api
from review_client import served
from review_session import make_session

from debrief.store import edits
from debrief.store.sessions import SessionStore

expect = sync_api.expect
expect.set_options(timeout=15_000)  # a busy machine is no fault of the page
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
IN_BROWSER = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine: the page was not tried in a browser")]
TOLD = re.compile("status of (404|409|422)|ERR_FAILED")
"""Refusals that a test brings about, which the browser writes down too."""
HEARD = "heard by a person"
WATCH_SOUND = "window.Audio = class extends Audio { constructor() { super(); window.heard = this; } }"


@pytest.fixture(scope="module")
def browser():
    with sync_api.sync_playwright() as tool:
        made = tool.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"])
        yield made
        made.close()


@pytest.fixture
def session(tmp_path):
    return make_session(tmp_path / "run")


@pytest.fixture
def address(session):
    with served(session) as (base, rooms):
        yield f"{base}/open?key={rooms.keys.secret}"


@pytest.fixture
def window(browser):
    """Opens a window of its own on an address; faults of the scripts and requests elsewhere fail the test."""
    opened = []

    def go(address, *, who="Ann", width=1280, height=800, scheme="light"):
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, reduced_motion="reduce")
        context.set_default_timeout(15_000)
        page = context.new_page()
        page.add_init_script(WATCH_SOUND + (f"; sessionStorage.setItem('debrief-who', {who!r})" if who else ""))
        faults: list[str] = []
        own = re.match(r"http://[^/]+/", address)[0]
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda message: faults.append(message.text) if message.type == "error" and not TOLD.search(message.text) else None)
        page.on("request", lambda request: faults.append(request.url) if not request.url.startswith((own, "blob:" + own)) else None)
        opened.append((context, faults))
        page.goto(address)
        page.wait_for_selector("body[data-ready]")
        return page

    yield go
    told = [fault for _, faults in opened for fault in faults]
    for context, _ in opened:
        context.close()
    assert told == []


def at_hand(page) -> int:
    return int(re.search(r"Row (\d+)", page.locator("#row-title").inner_text())[1])


def standing(session, number):
    with SessionStore.open(session, read_only=True) as store:
        return edits.standing(store.db, number)


def until(page, expression):
    """Waits for an expression to hold. The page's own policy forbids the tool's way of waiting, which makes code from text."""
    ends = time.monotonic() + 15
    while not (found := page.evaluate(expression)):
        assert time.monotonic() < ends, expression
        page.wait_for_timeout(40)
    return found


def in_time_order(page):
    """Puts the list in time order and takes its first row, once both stand in the page; the number of that row."""
    page.locator("#f-order").select_option("time")
    listed(page)
    link = page.locator("#list li").first
    number = int(link.get_attribute("id").removeprefix("entry-r"))
    link.locator("a").click()
    expect(page.locator("#row-title")).to_contain_text(f"Row {number} ")
    return number


def listed(page):
    """Waits for the list that was asked for last."""
    expect(page.locator("#list")).to_have_attribute("aria-busy", "false")


def heard(page):
    """Waits until the row at hand has played in this window."""
    until(page, "Boolean(window.heard && window.heard.currentTime > 0.05)")


def next_is_shown(page, number):
    until(page, f"!document.querySelector('#row-title').textContent.startsWith('Row {number} ')")


def said(page, text):
    expect(page.locator("#said")).to_contain_text(text)


def press(page, *keys):
    for key in keys:
        page.keyboard.press(key)
