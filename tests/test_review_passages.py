"""What spares a lead keys and seconds: rows that run together in one playing, another reading by a key, a name put right in all rows of it."""
from dataclasses import replace
from decimal import Decimal

import pytest
from review_browser import HEARD, IN_BROWSER, at_hand, expect, listed, press, said, standing, until
from review_client import served
from review_session import Size, make_session

from debrief.checks.listening_list import PAD_S
from debrief.desk.page import asked
from debrief.desk.page.passages import LONGEST_S, passage
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Source
from debrief.store import edits
from debrief.store.sessions import SessionStore
from debrief.timebase import HEARING_RATE_HZ, Span


def row(number, start_s, end_s, channel=0):
    place = Part("value", "as heard", source=Source("r1", channel), span=Span.of_seconds(start_s, end_s), start_s=start_s)
    return Row("readouts", {"value": Field(Decimal(number))}, (place,), number=number)


def numbers(found):
    return [item.number for item in found.rows]


def test_a_passage_grows_over_rows_that_touch_and_no_further():
    beside = [row(2, 13.5, 16), row(3, 17.5, 20), row(4, 20.9, 23), row(5, 7, 9.5), row(6, 11, 12, channel=1)]
    found = passage(row(1, 10, 13), beside)
    assert numbers(found) == [5, 1, 2]
    assert (found.span.start_s, found.span.end_s) == (7, 16)
    assert 2 * PAD_S < 17.5 - 16


def test_a_passage_is_never_longer_than_one_can_follow():
    beside = [row(2 + place, 10 + 2 * place, 12 + 2 * place) for place in range(1, 30)]
    found = passage(row(1, 10, 12), beside)
    assert LONGEST_S - 2 <= found.span.duration_s + 2 * PAD_S <= LONGEST_S
    assert numbers(passage(row(1, 10, 40), beside[:3])) == [1], "what is longer by itself stays by itself"


def test_a_row_that_lies_in_another_is_played_with_it_and_one_without_sound_has_no_passage():
    assert numbers(passage(row(1, 10, 16), [row(2, 12, 14), row(3, 10, 16)])) == [1, 3, 2]
    silent = replace(row(1, 0, 1), evidence=(Part("value", "as typed", line_index=4),))
    assert passage(silent, [row(2, 0, 1)]) is None


@pytest.fixture
def close(tmp_path):
    """A session whose rows run together on each loop."""
    return make_session(tmp_path / "close", Size(30, 1.0, 30))


def test_the_server_tells_a_passage_of_what_is_left(close):
    with served(close) as (_, rooms):
        def ask(number):
            return rooms.store_thread.submit(rooms.top.passage, asked.PassageQuery(number=number)).result()
        found = ask(1)
        told = [item["number"] for item in found["rows"]]
        assert told == sorted(told)
        assert 1 in told
        assert len(told) > 4
        assert {item["loop"] for item in found["rows"]} == {"Winch"}
        length = (found["clip"]["end"] - found["clip"]["start"]) / HEARING_RATE_HZ
        assert 10 < length <= LONGEST_S
        heard = told[1]
        with SessionStore.open(close) as store:
            edits.accept(store.db, heard, edits.standing(store.db, heard).revision, "Bo")
        assert heard not in [item["number"] for item in ask(1)["rows"]]


# in the browser


@pytest.mark.browser
@IN_BROWSER[1]
def test_rows_that_run_together_are_heard_in_one_playing_and_decided_in_one(window, close):
    with served(close) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        page.locator("#f-order").select_option("time")
        listed(page)
        expect(page.locator("#row-title")).to_contain_text("Row 1 ")
        others = page.locator("#together button")
        expect(others.nth(3)).to_be_visible()
        known = [int(text.removeprefix("row ")) for text in others.all_inner_texts()]
        page.locator("#list [aria-current]").focus()
        press(page, " ")
        expect(page.locator("#together .plays").first).to_be_visible()
        press(page, "A")
        said(page, "Hear it to its end first.")
        assert standing(close, known[-1]).row.certainty != HEARD
        page.evaluate("heard.playbackRate = 8")
        until(page, "heard.ended")
        length = page.evaluate("heard.duration")
        press(page, "2")
        expect(page.locator("#row-title")).to_contain_text(f"Row {known[1]} ")
        assert page.evaluate("heard.duration") == length, "the same sound stays"
        press(page, "Escape", "r")
        said(page, f"Row {known[1]} is rejected")
        assert page.evaluate("heard.paused"), "what was heard is not played again"
        press(page, "A")
        said(page, "of this sound are right")
        left = {1, *known} - {known[1]}
        assert {standing(close, number).row.certainty for number in left} == {HEARD}
        assert standing(close, known[1]).state == "rejected"
        assert at_hand(page) not in left


@pytest.mark.browser
@IN_BROWSER[1]
def test_each_row_alone_and_quicker(window, close):
    with served(close) as (base, rooms):
        page = window(f"{base}/open?key={rooms.keys.secret}")
        page.locator("#list [aria-current]").focus()
        until(page, "Boolean(window.heard && heard.duration > 5)")
        press(page, "p")
        until(page, f"heard.duration < {2 + 2 * PAD_S + 0.1}")
        press(page, "q", " ")
        assert page.evaluate("heard.playbackRate") == 1.5
        press(page, "h")
        assert page.evaluate("heard.playbackRate") == 0.5
        expect(page.locator("#quick")).not_to_be_checked()


@pytest.mark.browser
@IN_BROWSER[1]
def test_the_other_reading_is_taken_by_a_key(window, address, session):
    page = window(address)
    page.locator("#list .doubtful a").first.click()
    number, before = at_hand(page), page.locator("#field-value").input_value()
    press(page, "x")
    said(page, "value 15.50, not saved")
    assert page.locator("#field-value").input_value() == "15.50"
    press(page, "x")
    said(page, "As it was.")
    assert page.locator("#field-value").input_value() == before
    press(page, "x", "a")
    said(page, f"Row {number} is changed")
    assert str(standing(session, number).row.get("value")) == "15.50"
    page.locator("#list li:not(.doubtful):not(.done) a").first.click()
    press(page, "x")
    said(page, "has no other reading")


@pytest.mark.browser
@IN_BROWSER[1]
def test_a_name_put_right_is_given_to_the_others_of_it_and_nobody_has_heard_them_by_that(window, address, session):
    with SessionStore.open(session, read_only=True) as store:
        alike = [item.row for item in edits.all_standing(store.db) if item.row.get("parameter") == "rope tension"]
    page = window(address)
    page.locator("#f-order").select_option("time")
    listed(page)
    expect(page.locator("#row-title")).to_contain_text("Row 1 ")
    page.locator("#field-parameter").fill("hoist tension")
    page.keyboard.press("Enter")
    said(page, f"{len(alike) - 1} rows more are named rope tension: R names them hoist tension too.")
    spared = alike[3].number
    page.locator(f"#same-r{spared}").uncheck()
    page.locator("#list [aria-current]").focus()
    press(page, "R")
    said(page, f"{len(alike) - 2} rows named hoist tension")
    expect(page.locator("#same-part")).to_be_hidden()
    for item in alike[1:]:
        now = standing(session, item.number).row
        assert now.get("parameter") == ("rope tension" if item.number == spared else "hoist tension")
        assert now.certainty == item.certainty
    press(page, "u")
    said(page, "Taken back")
    assert {standing(session, item.number).row.get("parameter") for item in alike[1:]} == {"rope tension"}
    press(page, "R")
    said(page, "Change a name first")


@pytest.mark.browser
@IN_BROWSER[1]
def test_the_button_of_the_same_name_names_the_others_and_a_stale_view_of_them_is_refused(window, address, session):
    page = window(address)
    page.locator("#f-order").select_option("time")
    listed(page)
    expect(page.locator("#row-title")).to_contain_text("Row 1 ")
    page.locator("#field-parameter").fill("hoist tension")
    page.keyboard.press("Enter")
    said(page, "R names them hoist tension too.")
    with SessionStore.open(session) as store:
        edits.change(store.db, 5, edits.standing(store.db, 5).revision, {"value": Decimal("33")}, "Bo")
    page.locator("#rename").click()
    expect(page.locator("#alarm")).to_contain_text("row 5 was changed since you looked")
    assert {standing(session, number).row.get("parameter") for number in (5, 9)} == {"rope tension"}
