"""Every action of the review page and the browser test that does it: an action without a test fails here, and so does a test that is gone."""
import re
from importlib.resources import files
from pathlib import Path

import pytest
from review_browser import HEARD, IN_BROWSER, at_hand, expect, heard, listed, press, said, standing, until
from review_client import served
from review_session import make_session

from debrief.store import edits
from debrief.store.sessions import SessionStore

pytestmark = IN_BROWSER
KEYS = {
    "j": "next_and_previous", "ArrowDown": "next_and_previous", "k": "next_and_previous", "ArrowUp": "buttons_go_on", "/": "filters_search",
    "g": "a_mark_of_a_drawing", "Escape": "what_was_typed_waits", " ": "half_speed_loop", "Enter": "buttons_go_on", "h": "half_speed_loop",
    "l": "half_speed_loop", ",": "half_a_second", "ArrowLeft": "half_a_second", ".": "half_a_second", "ArrowRight": "half_a_second",
    "b": "half_speed_loop", "f": "one_playing_settles", "i": "added_by_marking", "o": "added_by_marking", "a": "right_is_taken",
    "A": "one_playing_settles", "Shift+A": "one_playing_settles", "e": "changed_by_keyboard", "Ctrl+Enter": "two_windows_a_stale", "r": "reject_and_take_back",
    "s": "split_and_take_back", "t": "tick_and_merge", "m": "tick_and_merge", "n": "added_by_marking", "u": "reject_and_take_back",
    **dict.fromkeys("123456789", "run_together_are_heard"), "x": "other_reading_is_taken_by_a_key", "R": "name_put_right", "Shift+R": "name_put_right",
    "q": "each_row_alone_and_quicker", "p": "each_row_alone_and_quicker",
    "w": "axe_finds_no", "?": "single_keys_can", "slide": "half_speed_loop"}
CLICKED = {
    "accept": "buttons_decide", "accept-together": "the_button_of_one_sound", "reject": "buttons_decide", "split": "buttons_open", "tick": "buttons_decide",
    "merge": "buttons_decide", "add": "buttons_open", "save": "buttons_decide", "revert": "another_reading", "undo": "buttons_decide", "sign": "sign_off",
    "rename": "button_of_the_same_name",
    "write": "sheet_and_tables_are_written", "show-plots": "buttons_open", "show-help": "buttons_open", "who": "buttons_open", "previous": "buttons_go_on",
    "following": "buttons_go_on", "more-before": "buttons_mark", "more-after": "buttons_mark", "mark-from": "buttons_mark", "mark-to": "buttons_mark",
    "load-again": "every_filter", "clear-filter": "every_filter", "play": "buttons_go_on", "back": "every_filter", "forth": "filters_search"}
POINTED = {
    "a row of the list": "filters_search", "a word of the row": "words_turns_and_marks", "a turn of the transcript": "words_turns_and_marks",
    "a row of the transcript": "a_mark_of_a_drawing", "a stretch of the waveform": "words_turns_and_marks", "another reading": "another_reading",
    "a deed in the history": "deeds_of_the_past", "one of the last edits": "deeds_of_the_past", "go on by itself": "deeds_of_the_past",
    "a row in the same sound": "the_button_of_one_sound", "half speed, loop": "half_speed_loop", "filter by loop": "filters_search",
    "filter by station": "every_filter", "filter by kind": "every_filter", "filter by certainty": "every_filter", "filter by time": "filters_search",
    "filter by reason": "every_filter", "what is shown": "every_filter", "order": "filters_search", "search": "filters_search"}


def names_of_tests() -> list[str]:
    return [name for path in Path(__file__).parent.glob("test_review_*.py") for name in re.findall(r"^def (test_\w+)\(", path.read_text("utf-8"), re.M)]


def test_every_action_has_a_test():
    script = files("debrief.desk").joinpath("static", "review", "review.js").read_text(encoding="utf-8")
    template = files("debrief.desk").joinpath("templates", "review.html").read_text(encoding="utf-8")
    acting = set(re.findall(r'"([^"]+)"', " ".join(re.findall(r"^  \[\[(.*?)\],", script, re.M))))
    buttons = set(re.findall(r'<button type="button" id="([\w-]+)"', template)) | {"save"}
    assert acting == KEYS.keys()
    assert buttons == CLICKED.keys()
    known = names_of_tests()
    for named in {*KEYS.values(), *CLICKED.values(), *POINTED.values()}:
        assert len([name for name in known if named in name]) >= 1, named


def test_buttons_go_on_and_back_and_play(window, address):
    page = window(address)
    first = at_hand(page)
    page.locator("#following").click()
    second = at_hand(page)
    heard(page)
    page.locator("#previous").click()
    assert at_hand(page) == first != second
    until(page, "!heard.paused")
    page.locator("#play").click()
    assert page.evaluate("heard.paused")
    page.locator("#play").click()
    until(page, "!heard.paused")
    expect(page.locator("#play")).to_have_attribute("aria-pressed", "true")
    page.locator("#list [aria-current]").focus()
    press(page, "ArrowDown", "ArrowUp")
    assert at_hand(page) == first
    heard(page)
    press(page, "Escape")
    assert page.evaluate("heard.paused")
    press(page, "Enter")
    until(page, "!heard.paused")


def test_half_a_second_back_and_on(window, address):
    page = window(address)
    page.locator("#list [aria-current]").focus()
    until(page, "Boolean(window.heard && heard.duration)")
    press(page, ".", "ArrowRight", ".")
    assert page.evaluate("heard.currentTime") == pytest.approx(1.5, abs=0.02)
    press(page, ",", "ArrowLeft")
    assert page.evaluate("heard.currentTime") == pytest.approx(0.5, abs=0.02)


def test_buttons_decide_as_keys_do(window, address, session):
    page = window(address)
    page.locator("#go-on").uncheck()
    one = at_hand(page)
    page.locator("#play").click()
    heard(page)
    page.locator("#accept").click()
    said(page, f"Row {one} is right")
    page.locator("#field-value").fill("31")
    page.locator("#save").click()
    said(page, f"Row {one} is changed")
    page.locator("#undo").click()
    said(page, f"Taken back: row {one}")
    assert (str(standing(session, one).row.get("value")), standing(session, one).row.certainty) == ("48.5", HEARD)
    page.locator("#tick").click()
    page.locator("#following").click()
    two = at_hand(page)
    page.locator("#tick").click()
    page.locator("#merge").click()
    said(page, f"2 rows are now row {one}")
    page.locator("#reject").click()
    said(page, f"Row {one} is rejected")
    assert (standing(session, one).state, standing(session, two).state) == ("rejected", "rejected")


def test_the_button_of_one_sound_and_a_row_in_it(window, address, session):
    page = window(address)
    page.locator("#f-order").select_option("time")
    listed(page)
    expect(page.locator("#row-text")).to_have_text("rope tension 20.5 [kN]")
    first = at_hand(page)
    page.locator("#more-after").click()
    page.locator("#more-after").click()
    expect(page.locator("#together button")).to_have_count(1)
    page.evaluate("heard.playbackRate = 6")
    until(page, "heard.ended")
    other = int(page.locator("#together button").inner_text().removeprefix("row "))
    page.locator("#accept-together").click()
    said(page, f"2 rows of this sound are right: {first}, {other}.")
    page.locator("#undo").click()
    said(page, "Taken back")
    page.locator(f"#entry-r{first} a").click()
    page.locator("#more-after").click()
    page.locator("#more-after").click()
    page.locator("#together button").click()
    expect(page.locator("#row-title")).to_contain_text(f"Row {other} ")


def test_buttons_open_their_dialogs_and_leave_them(window, address, session):
    page = window(address)
    for button, dialog in (("split", "split-dialog"), ("add", "add-dialog"), ("show-plots", "plots-dialog"), ("show-help", "help"), ("who", "who-dialog"),
                           ("sign", "sign-dialog")):
        page.locator(f"#{button}").click()
        expect(page.locator(f"#{dialog}")).to_be_visible()
        page.locator(f"#{dialog} .leave").click()
        expect(page.locator(f"#{dialog}")).to_be_hidden()
    with SessionStore.open(session) as store:
        assert edits.deeds(store.db) == []


def test_buttons_mark_and_widen(window, address):
    page = window(address)
    until(page, "Boolean(window.heard && heard.duration)")
    length = page.evaluate("heard.duration")
    page.locator("#more-before").click()
    until(page, f"heard.duration > {length + 1}")
    page.locator("#more-after").click()
    until(page, f"heard.duration > {length + 3}")
    page.evaluate("heard.pause(), heard.currentTime = 1")
    page.locator("#mark-from").click()
    page.evaluate("heard.pause(), heard.currentTime = 2.5")
    page.locator("#mark-to").click()
    said(page, "Marked 1.5 s")


def test_words_turns_and_marks_are_played_by_pointing(window, address):
    page = window(address)
    page.locator("#words span").nth(2).click()
    until(page, "heard.currentTime > 0.9 && !heard.paused")
    box = page.locator("#wave-box").bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.25, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + 20, steps=4)
    page.mouse.up()
    said(page, "n makes a row of it")
    row = page.locator("#row-title").inner_text()
    other = page.locator("#talk li:not(.here) .who button").first
    other.click()
    said(page, "This turn plays; the row at hand stays.")
    assert page.locator("#row-title").inner_text() == row


def test_deeds_of_the_past_are_shown_gone_to_and_taken_back(window, address, session):
    with SessionStore.open(session) as store:
        edits.reject(store.db, 7, edits.standing(store.db, 7).revision, "Bo")
        edits.change(store.db, 9, edits.standing(store.db, 9).revision, {"unit": "N"}, "Bo", "heard it so")
    page = window(address)
    page.locator("#last-part summary").click()
    expect(page.locator("#last li").first).to_contain_text("Bo: change")
    page.locator("#last li").last.locator("button").click()
    expect(page.locator("#row-title")).to_contain_text("Row 7 ")
    expect(page.locator("#row-state")).to_contain_text("rejected")
    page.locator("#last li").first.locator("button").click()
    expect(page.locator("#history li").first).to_contain_text("heard it so")
    page.locator("#history button").click()
    said(page, "Taken back: row 9")
    assert not standing(session, 9).edited
    page.locator("#go-on").uncheck()
    number = at_hand(page)
    press(page, "Escape", "r")
    said(page, f"Row {number} is rejected")
    assert at_hand(page) == number


def test_every_filter_narrows_the_list_and_is_cleared(window, tmp_path):
    folder = make_session(tmp_path / "run")
    with served(folder) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        page.locator("#filter summary").click()
        whole = page.locator("#where").inner_text()
        for select, choice, seen in (("station", "Medic", "Medic on"), ("certainty", "doubtful", "? doubtful"), ("kind", "readouts", "Readouts"),
                                     ("why", "limits", "limit"), ("loop", "Winch", "on Winch")):
            page.locator(f"#f-{select}").select_option(choice)
            expect(page.locator("#where")).not_to_have_text(whole)
            assert all(seen in text for text in page.locator("#list li").all_inner_texts())
            page.locator("#clear-filter").click()
            expect(page.locator("#where")).to_have_text(whole)
        number = at_hand(page)
        press(page, "r")
        said(page, f"Row {number} is rejected")
        page.locator("#f-shown").select_option("rejected")
        expect(page.locator("#where")).to_have_text("1–1 of 1")
        page.locator("#f-shown").select_option("left")
        expect(page.locator("#where")).to_contain_text("of 59")
        with SessionStore.open(folder) as store:
            edits.accept(store.db, 20, edits.standing(store.db, 20).revision, "Bo")
        expect(page.locator("#entry-r20 .state")).to_contain_text(HEARD)
        page.locator("#load-again").click()
        expect(page.locator("#where")).to_contain_text("of 58")
        page.locator("#list li a").last.click()
        press(page, "j")
        said(page, "That was the last of the list.")
        expect(page.locator("#back")).to_be_disabled()


def test_sheet_and_tables_are_written_from_the_page(window, address, session):
    page = window(address)
    press(page, "r")
    said(page, "is rejected")
    page.locator("#write").click()
    expect(page.locator("#said")).to_contain_text("Sheet and tables are written into", timeout=90_000)  # every table and every clip anew
    assert (session / "sheet.html").stat().st_size > 10_000
    assert (session / "readouts.csv").read_text("utf-8").count("\n") == 54
