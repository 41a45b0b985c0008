"""The review page in a real browser (Debian's chromium): every action by keyboard, two windows, two programs, and barriers to people."""
import re
import shutil
import time
from decimal import Decimal

import pytest
from review_client import served
from review_session import RECORDING, Size, make_session, multiply

from debrief.store import edits
from debrief.store.sessions import SessionStore

sync_api = pytest.importorskip("playwright.sync_api")
expect = sync_api.expect
expect.set_options(timeout=15_000)  # a busy machine is no fault of the page
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
pytestmark = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine: the page was not tried in a browser")]
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


# going through, and hearing


def test_the_page_opens_at_the_first_of_the_listening_list_and_leaves_the_secret_behind(window, address):
    page = window(address)
    assert "key=" not in page.url
    assert "48.5 kN is above the limit of 44 kN" in page.locator("#list li").first.inner_text()
    assert page.locator("#list [aria-current]").count() == 1
    expect(page.locator("#row-text")).to_have_text("rope tension 48.5 kN")
    assert page.evaluate("document.cookie") == ""


def test_next_and_previous_play_each_row_and_the_word_follows_in_sound_and_transcript(window, address):
    page = window(address)
    page.locator("#list [aria-current]").focus()
    first = at_hand(page)
    press(page, "j")
    second = at_hand(page)
    assert second != first
    page.wait_for_selector("#words .now")
    word = until(page, """() => { const a = document.querySelector('#words .now'), b = document.querySelector('#talk .now');
        return a && b && a.textContent === b.textContent && a.textContent }""")
    assert word in page.locator("#words").inner_text()
    assert page.locator(f"#entry-r{second} a").evaluate("node => node === document.activeElement")
    press(page, "k")
    assert at_hand(page) == first
    press(page, "ArrowDown", "ArrowDown")
    assert at_hand(page) not in (first, second)


def test_half_speed_loop_stop_and_the_place_in_the_sound(window, address):
    page = window(address)
    page.locator("#list [aria-current]").focus()
    press(page, " ")
    heard(page)
    press(page, "h", "l")
    assert page.evaluate("[heard.playbackRate, heard.loop, heard.preservesPitch]") == [0.5, True, True]
    press(page, " ")
    assert page.evaluate("heard.paused")
    press(page, "h", "l")
    page.locator("#wave-box").focus()
    press(page, "Home", "ArrowRight", "ArrowRight", "PageDown")
    assert page.evaluate("heard.currentTime") == pytest.approx(1.2, abs=0.02)
    assert page.locator("#wave-box").get_attribute("aria-valuetext").startswith("1.2 of 3.0 seconds")
    length = page.evaluate("heard.duration")
    press(page, "b")
    until(page, f"heard.duration > {length + 1}")


def test_the_words_of_the_value_are_marked_and_a_mended_word_says_how_it_was_heard(window, address):
    page = window(address)
    expect(page.locator("#words .value").first).to_be_visible()
    assert page.locator("#words .value").all_inner_texts() == ["48.5", "kN."]
    assert "heard as" in page.locator(".mended").first.get_attribute("title")


def test_a_recording_that_is_gone_is_told_and_a_row_is_taken_as_right_only_at_the_second_press(window, session, tmp_path):
    (session / RECORDING).rename(tmp_path / "moved.wav")
    with served(session) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        expect(page.locator("#missing")).to_contain_text(f"looked for as {session.resolve() / RECORDING}")
        expect(page.locator("#no-sound")).to_contain_text("not found")
        number = at_hand(page)
        page.locator("#list [aria-current]").focus()
        press(page, "a")
        said(page, "Press again to take it as right without")
        assert standing(session, number).row.certainty != HEARD
        press(page, "a")
        said(page, "is right")
        with SessionStore.open(session) as store:
            assert edits.deeds(store.db, number)[0].note == "accepted without sound"


# deciding


def test_right_is_taken_only_after_hearing_and_goes_on_to_the_next(window, address, session):
    page = window(address)
    number = at_hand(page)
    page.locator("#list [aria-current]").focus()
    press(page, "a")
    said(page, "Hear it first")
    heard(page)
    assert standing(session, number).row.certainty != HEARD
    press(page, "a")
    said(page, f"Row {number} is right")
    next_is_shown(page, number)
    now = standing(session, number)
    assert now.row.certainty == HEARD
    expect(page.locator(f"#entry-r{number} .state")).to_contain_text(f"✓ {HEARD}")
    expect(page.locator("#counts")).to_contain_text("1 of 54 rows heard by a person")


def test_one_playing_settles_all_rows_that_lie_in_its_sound(window, address, session):
    page = window(address)
    page.locator("#f-order").select_option("time")
    expect(page.locator("#where")).to_contain_text("of 60")
    page.locator("#list li a").first.click()
    first = at_hand(page)
    expect(page.locator("#together-part")).to_be_hidden()
    press(page, "f", "f")
    expect(page.locator("#together button")).to_have_count(1)
    other = int(page.locator("#together button").inner_text().removeprefix("row "))
    press(page, "A")
    said(page, "Hear it to its end first.")
    assert standing(session, first).row.certainty != HEARD
    page.evaluate("heard.playbackRate = 6")
    until(page, "heard.ended")
    press(page, "A")
    said(page, f"2 rows of this sound are right: {first}, {other}.")
    assert {standing(session, number).row.certainty for number in (first, other)} == {HEARD}
    expect(page.locator(f"#entry-r{other} .state")).to_contain_text(HEARD)
    press(page, "u")
    said(page, f"Taken back: row {first}, row {other}.")
    assert {standing(session, number).row.certainty for number in (first, other)} & {HEARD} == set()


def test_what_was_heard_in_a_row_before_is_not_played_again_by_itself(window, address, session):
    page = window(address)
    page.locator("#f-order").select_option("time")
    page.locator("#filter summary").click()
    page.locator("#f-loop").select_option("Winch")
    expect(page.locator("#where")).to_contain_text("of 30")
    page.locator("#list li a").first.click()
    first = at_hand(page)
    press(page, "f", "f")
    page.evaluate("heard.playbackRate = 6")
    until(page, "heard.ended")
    press(page, "a")
    next_is_shown(page, first)
    said(page, "were heard just now: space plays them again.")
    second = at_hand(page)
    assert page.evaluate("heard.paused")
    press(page, "a")
    said(page, f"Row {second} is right")
    assert standing(session, second).row.certainty == HEARD


def test_the_name_is_asked_once_in_a_window_and_stands_with_the_edit(window, address, session):
    page = window(address, who=None)
    one = at_hand(page)
    page.locator("#list [aria-current]").focus()
    press(page, "r")
    expect(page.locator("#who-dialog")).to_be_visible()
    page.keyboard.type("Olga")
    press(page, "Enter")
    said(page, f"Row {one} is rejected")
    next_is_shown(page, one)
    two = at_hand(page)
    press(page, "r")
    said(page, f"Row {two} is rejected")
    with SessionStore.open(session) as store:
        assert {deed.who for deed in edits.deeds(store.db)} == {"Olga"}
    other = window(address, who=None)
    expect(other.locator("#who")).to_have_text("Give your name")


def test_leaving_the_name_open_writes_nothing(window, address, session):
    page = window(address, who=None)
    press(page, "r")
    expect(page.locator("#who-dialog")).to_be_visible()
    press(page, "Escape")
    expect(page.locator("#alarm")).to_have_text("Nothing was written: the page needs a name for every edit.")
    with SessionStore.open(session) as store:
        assert edits.deeds(store.db) == []


def test_a_value_is_changed_by_keyboard_with_its_places_and_what_cannot_be_read_stays_in_the_field(window, address, session):
    page = window(address)
    number = at_hand(page)
    page.locator("#list [aria-current]").focus()
    press(page, "e")
    assert page.evaluate("document.activeElement.name") == "value"
    page.keyboard.type("thirty")
    press(page, "Enter")
    expect(page.locator("#alarm")).to_contain_text("value is a number, not 'thirty'")
    assert page.evaluate("[document.activeElement.value, document.activeElement.getAttribute('aria-invalid')]") == ["thirty", "true"]
    press(page, "Control+a")
    page.keyboard.type("34.30")
    press(page, "Enter")
    said(page, f"Row {number} is changed")
    assert str(standing(session, number).row.get("value")) == "34.30"
    expect(page.locator("#row-text")).to_contain_text("34.30")
    expect(page.locator("#machine")).to_contain_text("value 48.5")


def test_another_reading_is_taken_with_one_click(window, address):
    page = window(address)
    page.locator("#list .doubtful a").first.click()
    expect(page.locator("#row-state")).to_have_text("? doubtful")
    before = page.locator("#field-value").input_value()
    page.locator("#fields .other").first.click()
    assert page.locator("#field-value").input_value() == "15.50"
    expect(page.locator("#save")).to_be_enabled()
    page.locator("#revert").click()
    assert page.locator("#field-value").input_value() == before


def test_reject_and_take_back(window, address, session):
    page = window(address)
    number = at_hand(page)
    press(page, "r")
    said(page, "is rejected")
    assert standing(session, number).state == "rejected"
    press(page, "u")
    said(page, f"Taken back: row {number}")
    assert standing(session, number).state == "standing"


def test_split_and_take_back(window, address, session):
    page = window(address)
    number = at_hand(page)
    press(page, "s")
    page.locator("[id='split1-value']").fill("40")
    page.locator("[id='split2-value']").fill("8.0")
    page.get_by_role("button", name="Make two rows").click()
    said(page, f"Two rows: {number} and ")
    other = int(page.locator("#said").inner_text().rsplit(" ", 1)[1].rstrip("."))
    assert [str(standing(session, n).row.get("value")) for n in (number, other)] == ["40", "8.0"]
    expect(page.locator(f"#entry-r{other}")).to_be_visible()
    press(page, "u")
    said(page, f"row {other} is gone")


def test_tick_and_merge(window, address, session):
    page = window(address)
    first = at_hand(page)
    page.locator("#list [aria-current]").focus()
    press(page, "t", "j")
    second = at_hand(page)
    press(page, "t")
    said(page, "2 rows ticked")
    press(page, "m")
    said(page, f"2 rows are now row {first}")
    assert (standing(session, first).state, standing(session, second).state) == ("standing", "rejected")


def test_a_row_is_added_by_marking_sound(window, address, session):
    page = window(address)
    page.locator("#list [aria-current]").focus()
    page.locator("#wave-box").focus()
    press(page, "Home", "ArrowRight", "ArrowRight", "ArrowRight", "ArrowRight", "ArrowRight", "ArrowRight", "i", "PageDown", "o")
    said(page, "Marked 1.0 s")
    press(page, "n")
    expect(page.locator("#add-place")).to_have_text("The marked 1.0 s of sound")
    page.locator("#add-kind").select_option("remarks")
    page.locator("[id='add-about']").fill("rope")
    page.locator("[id='add-text']").fill("it sings")
    page.get_by_role("button", name="Add the row").click()
    said(page, "is added")
    made = standing(session, at_hand(page)).row
    assert (made.kind, made.get("text"), made.certainty) == ("remarks", "it sings", HEARD)
    assert made.place.span.duration_s == pytest.approx(1.0, abs=0.01)
    assert made.place.text


def test_a_place_without_a_row_is_heard_and_done_with(window, address):
    page = window(address)
    page.locator("#filter summary").click()
    page.locator("#f-kind").select_option("no row")
    expect(page.locator("#row-title")).to_contain_text("Talk without a row")
    page.locator("#list [aria-current]").focus()
    press(page, " ")
    heard(page)
    press(page, "a")
    said(page, "Heard; nothing there that is missing")
    expect(page.locator("#counts")).to_contain_text("1 of 6 places without a row heard")


# finding


def test_filters_search_pages_and_time(window, browser, tmp_path):
    folder = make_session(tmp_path / "longer", Size(150))
    with served(folder) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        expect(page.locator("#where")).to_have_text("1–60 of 150")
        page.locator("#forth").click()
        expect(page.locator("#where")).to_have_text("61–120 of 150")
        page.locator("#list li").last.locator("a").click()
        press(page, "j")
        expect(page.locator("#where")).to_have_text("121–150 of 150")
        press(page, "/")
        page.keyboard.type("battery 45.5")
        expect(page.locator("#where")).to_have_text(re.compile(r"1–\d of \d$"))
        assert all("battery voltage" in text and "45.5" in text for text in page.locator("#list .says").all_inner_texts())
        page.locator("#words-wanted").fill("")
        page.locator("#filter summary").click()
        page.locator("#f-from").fill("0:01:00")
        page.locator("#f-to").fill("0:02:00")
        page.locator("#f-loop").select_option("Cabin")
        page.locator("#f-order").select_option("time")
        expect(page.locator("#list .time").first).to_have_text("0:01:03")
        assert all("on Cabin" in text or "Talk without a row" in text for text in page.locator("#list li").all_inner_texts())


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


def test_a_mark_of_a_drawing_and_a_row_of_the_transcript_jump_to_their_row(window, address):
    page = window(address)
    press(page, "g")
    expect(page.locator("#plots figure")).to_have_count(4)
    mark = page.locator("#plots a").nth(3)
    number = int(mark.get_attribute("href")[2:])
    mark.focus()
    press(page, "Enter")
    expect(page.locator("#row-title")).to_contain_text(f"Row {number} ")
    other = page.locator("#talk .rows-of button").last
    wanted = other.inner_text().removeprefix("row ")
    other.click()
    expect(page.locator("#row-title")).to_contain_text(f"Row {wanted} ")


# together


def test_two_windows_a_stale_edit_is_refused_with_what_changed_and_what_was_typed_is_kept(window, address, session):
    ann, bo = window(address, who="Ann"), window(address, who="Bo")
    number = at_hand(ann)
    ann.evaluate("window.fetch = (f => (a, o) => String(a).includes('changes') ? new Promise(() => {}) : f(a, o))(window.fetch)")  # sees nothing by itself
    ann.wait_for_timeout(1_100)
    ann.locator("#field-value").fill("42.0")
    bo.locator("#field-value").fill("41.0")
    press(bo, "Control+Enter")
    said(bo, "is changed")
    press(ann, "Control+Enter")
    expect(ann.locator("#conflict")).to_contain_text("Changed since you looked. Bo at ")
    expect(ann.locator("#conflict")).to_contain_text("value: 48.5 → 41.0")
    expect(ann.locator("#conflict")).to_contain_text("You had typed: value 42.0")
    assert str(standing(session, number).row.get("value")) == "41.0"
    ann.get_by_role("button", name="Put mine into the fields").click()
    press(ann, "Control+Enter")
    said(ann, "is changed")
    assert str(standing(session, number).row.get("value")) == "42.0"
    with SessionStore.open(session) as store:
        assert [(deed.who, deed.undone) for deed in edits.deeds(store.db, number)] == [("Ann", False), ("Bo", False)]


def test_two_programs_on_one_store_each_sees_what_the_other_did(window, session, address):
    with served(session) as (base, rooms):
        ann, bo = window(address, who="Ann"), window(f"{base}/open?key={rooms.keys.secret}", who="Bo")
        number = at_hand(ann)
        bo.locator("#field-value").fill("41.0")
        press(bo, "Control+Enter")
        expect(ann.locator("#alarm")).to_contain_text(f"Bo changed row {number} while you looked at it.")
        expect(ann.locator("#field-value")).to_have_value("41.0")
        press(ann, "r")
        expect(bo.locator(f"#entry-r{number} .state")).to_contain_text("rejected")


def test_what_somebody_types_stays_when_the_row_changes_under_it(window, address):
    ann, bo = window(address, who="Ann"), window(address, who="Bo")
    ann.locator("#field-value").fill("43.0")
    bo.locator("#field-unit").fill("N")
    press(bo, "Control+Enter")
    expect(ann.locator("#conflict")).to_contain_text("unit: kN → N")
    expect(ann.locator("#field-value")).to_have_value("43.0")
    expect(ann.locator("#field-unit")).to_have_value("N")


def test_what_was_typed_waits_when_the_row_is_left(window, address, session):
    page = window(address)
    number = at_hand(page)
    page.locator("#field-value").fill("43.0")
    press(page, "Escape", "j")
    expect(page.locator(f"#entry-r{number} .tick")).to_have_text("typed, not saved")
    expect(page.locator("#save")).to_be_disabled()
    press(page, "k")
    expect(page.locator("#field-value")).to_have_value("43.0")
    said(page, "still in the fields, not saved")
    press(page, "Control+Enter")
    said(page, "is changed")
    assert str(standing(session, number).row.get("value")) == "43.0"
    expect(page.locator("#list .tick")).to_have_count(0)


def test_the_cursor_stays_on_its_line_when_others_change_the_list(window, address):
    ann, bo = window(address, who="Ann"), window(address, who="Bo")
    number = at_hand(ann)
    ann.locator("#list [aria-current]").focus()
    press(bo, "r")
    expect(ann.locator(f"#entry-r{number} .state")).to_contain_text("rejected")
    assert ann.evaluate("document.activeElement.closest('li').id") == f"entry-r{number}"


def test_a_filter_that_nothing_fits_shows_nothing_and_says_so(window, address):
    page = window(address)
    page.locator("#words-wanted").fill("nowhere")
    expect(page.locator("#empty")).to_be_visible()
    expect(page.locator("#row-title")).to_have_text("Nothing to show")
    expect(page.locator("#accept")).to_be_hidden()
    press(page, "Escape", "a", "j", "s", "n", "t", "m", "b")


def test_sign_off_and_a_later_edit_breaks_the_seal_on_every_window(window, address):
    ann, bo = window(address, who="Ann"), window(address, who="Bo")
    ann.locator("#sign").click()
    expect(ann.locator("#sign-says")).to_contain_text("Ann, you sign 54 rows: 0 heard by a person, 54 not.")
    ann.get_by_role("button", name="Sign", exact=True).click()
    expect(ann.locator("#seal")).to_contain_text("✓ Signed by Ann")
    expect(bo.locator("#seal")).to_contain_text("heard by a person 0, not 54")
    press(bo, "r")
    for page in (ann, bo):
        expect(page.locator("#seal")).to_contain_text("Seal broken: changed since it was signed by Ann")


def test_when_the_program_ends_the_page_says_so_and_keeps_what_was_typed(window, session):
    with served(session) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        page.locator("#field-value").fill("43.0")
        page.route("**/api/**", lambda route: route.abort())
        expect(page.locator("#offline")).to_contain_text("does not answer")
        expect(page.locator("#field-value")).to_have_value("43.0")
        page.unroute("**/api/**")
        expect(page.locator("#offline")).to_be_hidden()


def test_text_of_strangers_is_shown_and_never_runs(window, session, address):
    hostile = "<img src=x onerror=window.hit=1><script>window.hit=1</script>"
    with SessionStore.open(session) as store:
        for item in edits.all_standing(store.db)[:30]:
            edits.change(store.db, item.row.number, item.revision, {"subject": hostile, "value": Decimal("3")}, hostile)
    page = window(address)
    page.locator("#f-order").select_option("time")
    expect(page.locator("#row-text")).to_contain_text("<img src=x")
    press(page, "g")
    expect(page.locator("#plots figcaption").first).to_contain_text("<img src=x")
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0


# barriers


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
