"""The review page for everybody: no barrier that axe finds, every stop named and visible, narrow screens, and fifty thousand rows."""
import re

import pytest
from review_browser import IN_BROWSER, at_hand, expect, heard, press, said, standing
from review_client import served
from review_session import make_session, multiply

pytestmark = IN_BROWSER


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_no_barrier_on_the_page_or_in_its_dialogs(window, address, scheme):
    tool = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed: no search for barriers was made")
    page = window(address, scheme=scheme)
    page.locator("#filter summary").click()
    page.locator("#empties summary").click()
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    for opened, key in (("page", None), ("help", "?"), ("who", "w"), ("split", "s"), ("add", "n"), ("plots", "g")):
        if key:
            press(page, key)
            page.wait_for_selector("dialog[open]")
        if opened == "plots":
            page.wait_for_selector("#plots figure")
        found = tool.Axe().run(page, options=options).response["violations"]
        assert [(opened, item["id"], item["impact"], [node["html"][:120] for node in item["nodes"]][:3]) for item in found] == []
        if key:
            press(page, "Escape")


def test_every_stop_of_the_tab_key_has_a_name_and_a_visible_focus_and_is_large_enough(window, address):
    page = window(address)
    seen = set()
    for _ in range(70):
        press(page, "Tab")
        node = page.evaluate("""() => { const n = document.activeElement, s = getComputedStyle(n), r = n.getBoundingClientRect();
            return { key: n.id || n.tagName + n.textContent, body: n === document.body, outline: s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,
                     wide: r.width, high: r.height, box: n.type === 'checkbox', name: (n.getAttribute('aria-label') || n.getAttribute('aria-labelledby')
                         || n.textContent || (n.labels && n.labels[0] && n.labels[0].textContent) || '').trim() } }""")
        if node["body"]:
            break
        seen.add(node["key"])
        assert node["outline"], node
        assert node["name"], node
        assert node["box"] or (node["wide"] >= 24 and node["high"] >= 24), node  # WCAG 2.2, 2.5.8
    assert len(seen) > 30


def test_single_keys_can_be_switched_off(window, address, session):
    """WCAG 2.1.4."""
    page = window(address)
    number = at_hand(page)
    press(page, "?")
    page.locator("#single-keys").uncheck()
    press(page, "Escape")
    page.locator("#list [aria-current]").focus()
    press(page, "r", "j")
    assert at_hand(page) == number
    assert standing(session, number).state == "standing"
    press(page, "ArrowDown")
    assert at_hand(page) != number


@pytest.mark.parametrize("width", [320, 800, 1280])
def test_nothing_is_cut_off_or_scrolls_sideways(window, address, width):
    """WCAG 1.4.10, reflow: 320 CSS pixels."""
    page = window(address, width=width, height=900)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


# many rows


def test_fifty_thousand_rows_are_gone_through_like_sixty(window, tmp_path):
    folder = make_session(tmp_path / "many")
    count = multiply(folder, 926)
    assert count > 50_000
    with served(folder) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        expect(page.locator("#where")).to_have_text(f"1–60 of {count + 6:,}")
        page.locator("#list [aria-current]").focus()
        press(page, "j")
        heard(page)
        number = at_hand(page)
        press(page, "a")
        said(page, f"Row {number} is right")
        page.locator("#f-order").select_option("time")
        page.locator("#forth").click()
        expect(page.locator("#where")).to_have_text(f"61–120 of {count + 6:,}")
        page.locator("#words-wanted").fill("battery 45.5")
        expect(page.locator("#where")).to_have_text("1–60 of 926")
        page.locator("#filter summary").click()
        page.locator("#f-from").fill("500:00:00")
        page.locator("#f-to").fill("500:59:59")
        page.locator("#f-from").press("Enter")
        expect(page.locator("#list .time").first).to_have_text(re.compile("^500:"))
