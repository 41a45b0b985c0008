"""How quick the review page is on 50 000 rows in a real browser: page ready against an empty page, a key to the next row's sound against
an empty handler, and what the server takes for each kind of question.

    python tests/bench/review_page.py [--turns 55600] [--tries 9] [--keep FOLDER]

Prints medians in milliseconds. Nothing is asserted: machines differ; the ratios are what to look at.
"""
import argparse
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from review_client import served
from review_session import Size, make_session

from debrief.desk.page import asked

EMPTY = ("<!doctype html><html lang=en><title>empty</title><script type=module>document.body.dataset.ready = 'yes';"
         "addEventListener('keydown', () => { window.pressed = performance.now(); document.body.textContent = 'x'; })</script><body></body>")
# From the key's own time stamp to the moment at which the browser says that the next row's sound plays.
WATCH = """window.Audio = class extends Audio { constructor() { super(); window.heard = this;
  this.addEventListener('playing', () => { window.plays = performance.now(); }); } };
  addEventListener('keydown', event => { window.key = event.timeStamp; window.plays = null; }, true);"""


def median(tries: int, what: Callable[[], float]) -> float:
    what()
    return statistics.median(what() for _ in range(tries))


def ready(page: Page, address: str) -> float:
    start = time.perf_counter()
    page.goto(address)
    page.wait_for_selector("body[data-ready]", state="attached")
    return (time.perf_counter() - start) * 1000


def next_row(page: Page) -> float:
    """In a sound that plays already the next row does not begin anew, so that it is stopped before."""
    page.wait_for_timeout(350)
    page.keyboard.press("Escape")
    page.keyboard.press("j")
    while not page.evaluate("window.plays"):
        page.wait_for_timeout(5)
    return page.evaluate("plays - key")


def empty_key(page: Page) -> float:
    page.keyboard.press("j")
    return page.evaluate("pressed - key")


def in_browser(folder: Path, tries: int) -> None:
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    with served(folder) as (base, rooms), sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"])
        page = browser.new_page()
        page.add_init_script(WATCH)
        page.route("**/empty", lambda route: route.fulfill(body=EMPTY, content_type="text/html"))
        page.goto(f"{base}/open?key={rooms.keys.secret}")
        page.wait_for_selector("body[data-ready]")
        empty, whole = median(tries, lambda: ready(page, f"{base}/empty")), median(tries, lambda: ready(page, f"{base}/"))
        print(f"page ready: {whole:.0f} ms; empty page {empty:.0f} ms; allowed {1.5 * empty + 300:.0f} ms")
        page.locator("#list [aria-current]").focus()
        key = median(tries, lambda: next_row(page))
        page.goto(f"{base}/empty")
        nothing = median(tries, lambda: empty_key(page))
        print(f"key to the next row playing: {key:.1f} ms; empty handler {nothing:.1f} ms; aim 100 ms")
        browser.close()


def on_server(folder: Path, tries: int) -> None:
    with served(folder) as (_, rooms):
        top = rooms.top
        assert top is not None

        def took(what: Callable[[], Any]) -> float:
            start = time.perf_counter()
            rooms.store_thread.submit(what).result()
            return (time.perf_counter() - start) * 1000

        def fresh(query: asked.RowsQuery) -> Callable[[], Any]:
            return lambda: (top.index._asked.clear(), top.rows(query))

        for name, what in (("first page", fresh(asked.RowsQuery())), ("page deep in time", fresh(asked.RowsQuery(order="time", after="r40000"))),
                           ("the page after, same question", lambda: top.rows(asked.RowsQuery(order="time", after="r40060"))),
                           ("words", fresh(asked.RowsQuery(words="rope 22.5"))), ("loop, reason, certainty", fresh(
                               asked.RowsQuery(loop=["Winch"], why=["limits"], certainty=["doubtful"]))),
                           ("talk around a turn", lambda: top.talk(asked.TalkQuery(turn=30_000))), ("what changed", lambda: top.changes(top.index.token)),
                           ("one row", lambda: top.row(30_000)), ("its passage", lambda: top.passage(asked.PassageQuery(number=30_000)))):
            print(f"{name}: {median(tries, lambda what=what: took(what)):.1f} ms")  # type: ignore[misc]
        row = rooms.store_thread.submit(top.row, 30_000).result()
        print(f"accept: {took(lambda: top.accept(30_000, asked.Decide(who='Ann', revision=row['revision']))):.1f} ms; "
              f"take back: {took(lambda: top.undo(asked.Undo(who='Ann'))):.1f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n", maxsplit=1)[0])
    parser.add_argument("--turns", type=int, default=55_600)
    parser.add_argument("--tries", type=int, default=9)
    parser.add_argument("--keep", type=Path, help="a folder with the session, made when it is not there")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = given.keep or Path(scratch) / "run"
        if not (folder / "debrief.sqlite").exists():
            make_session(folder, Size(given.turns, 0.65, 2_000))
        start = time.perf_counter()
        with served(folder):
            print(f"rows: {given.turns * 9 // 10}; opening the store and its list: {(time.perf_counter() - start) * 1000:.0f} ms")
        on_server(folder, given.tries)
        in_browser(folder, given.tries)


if __name__ == "__main__":
    main()
