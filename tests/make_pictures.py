"""The pictures that README.md shows, taken from a run of the demo by a browser: python tests/make_pictures.py DEMO_OUT

DEMO_OUT is the folder that `debrief demo` wrote. Needs chromium on the machine. The pictures lie in tests/pictures/.
"""
import argparse
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright
from review_client import served

PICTURES = Path(__file__).resolve().parent / "pictures"
WIDTH, HEIGHT = 1280, 860
SETTLED_MS = 1500


def take_pictures(demo: Path, folder: Path = PICTURES) -> list[Path]:
    """sheet.png and review.png; returns their paths."""
    folder.mkdir(exist_ok=True)
    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        made = [_sheet(browser, demo, folder / "sheet.png"), _review(browser, demo, folder / "review.png")]
        browser.close()
    return made


def _sheet(browser: Browser, demo: Path, picture: Path) -> Path:
    page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
    page.goto((demo / "sheet.html").absolute().as_uri())
    page.screenshot(path=str(picture))
    return picture


def _review(browser: Browser, demo: Path, picture: Path) -> Path:
    with served(demo) as (base, rooms):
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        page.add_init_script("sessionStorage.setItem('debrief-who', 'Lead')")
        page.goto(f"{base}/open?key={rooms.keys.secret}")
        page.wait_for_selector("body[data-ready]")
        page.keyboard.press("j")
        page.wait_for_timeout(SETTLED_MS)
        page.screenshot(path=str(picture))
    return picture


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("demo", type=Path)
    for path in take_pictures(parser.parse_args().demo):
        print(path)
