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
SHADES = 16
"""Of each colour: enough for text and lines, and a third of the bytes."""


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
    """The picture as a PNG with a palette (W3C PNG, colour type 3)."""
    with av.open(str(picture)) as held:
        seen = next(held.decode(video=0)).to_ndarray(format="rgb24").astype(np.uint32)
    few = np.rint(seen / 255 * (SHADES - 1)).astype(np.uint32)
    packed, index = np.unique(few[..., 0] << 16 | few[..., 1] << 8 | few[..., 2], return_inverse=True)
    if len(packed) > 256:
        return picture.read_bytes()
    palette = np.stack([packed >> 16, packed >> 8 & 255, packed & 255], 1) * (255 // (SHADES - 1))
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
