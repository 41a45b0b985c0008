"""The review page in several windows and from two programs on one store: nobody's edit is lost, and what changed is told."""
from decimal import Decimal

from review_browser import IN_BROWSER, at_hand, expect, listed, press, said, standing
from review_client import served

from debrief.store import edits
from debrief.store.sessions import SessionStore

pytestmark = IN_BROWSER


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
    listed(page)
    expect(page.locator("#row-text")).to_contain_text("<img src=x")
    press(page, "g")
    expect(page.locator("#plots figcaption").first).to_contain_text("<img src=x")
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0
