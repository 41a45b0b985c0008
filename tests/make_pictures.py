"""The pictures that README.md shows, taken from a run of the demo by a browser: python tests/make_pictures.py DEMO_OUT

DEMO_OUT is the folder that `debrief demo` wrote. Needs chromium on the machine. The pictures lie in tests/pictures/.
"""
import argparse
import struct
import zlib
from pathlib import Path

import av
import numpy as np
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
    for path in made:
        path.write_bytes(with_few_colours(path))
    return made


def with_few_colours(picture: Path) -> bytes:
    """The picture in its 256 most frequent colours, each other colour as the nearest of these: a PNG with a palette (W3C PNG, colour type 3)."""
    with av.open(str(picture)) as held:
        seen = next(held.decode(video=0)).to_ndarray(format="rgb24").astype(np.int32)
    colours, place, count = np.unique(seen.reshape(-1, 3), axis=0, return_inverse=True, return_counts=True)
    palette = colours[np.argsort(-count)[:256]]
    nearest = np.array([((palette - colour) ** 2).sum(1).argmin() for colour in colours])
    index = nearest[place.ravel()]
    height, width = seen.shape[:2]
    lines = np.hstack([np.zeros((height, 1), np.uint8), index.reshape(height, width).astype(np.uint8)])
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)), (b"PLTE", palette.astype(np.uint8).tobytes()),
        (b"IDAT", zlib.compress(lines.tobytes(), 9)), (b"IEND", b"")))


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


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
