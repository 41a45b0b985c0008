"""The review page in a real browser: going through, hearing, deciding and finding by keyboard."""
import re

import pytest
from review_browser import HEARD, IN_BROWSER, at_hand, expect, heard, in_time_order, listed, next_is_shown, press, said, standing, until
from review_client import served
from review_session import RECORDING, Size, make_session

from debrief.checks.listening_list import PAD_S
from debrief.store import edits
from debrief.store.sessions import SessionStore

pytestmark = IN_BROWSER


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


def test_sound_that_is_asked_for_before_it_came_plays_as_soon_as_it_is_here(window, address):
    page = window(address)
    held, free = [], []

    def hold(route):
        route.continue_() if free else held.append(route)

    page.route("**/api/passage*", hold)
    page.reload()
    page.wait_for_selector("body[data-ready]")
    page.locator("#list [aria-current]").focus()
    press(page, " ")
    page.wait_for_timeout(200)
    assert held
    assert page.evaluate("!window.heard || heard.paused")
    free.append(True)
    for route in held:
        route.continue_()
    heard(page)


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
    assert page.locator("#wave-box").get_attribute("aria-valuetext").startswith(f"1.2 of {2 + 2 * PAD_S:.1f} seconds")
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
    first = in_time_order(page)
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
    page.locator("#filter summary").click()
    page.locator("#f-loop").select_option("Winch")
    first = in_time_order(page)
    expect(page.locator("#where")).to_contain_text("of 30")
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
        listed(page)
        expect(page.locator("#list .time").first).to_have_text("0:01:03")
        assert all("on Cabin" in text or "Talk without a row" in text for text in page.locator("#list li").all_inner_texts())


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
