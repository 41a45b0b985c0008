"""The sheet: every row once with its sound, certainty in words, nothing that runs or fetches, a seal that breaks visibly."""
import base64
import hashlib
import json
import re
import shutil
import subprocess
import tracemalloc
from dataclasses import replace
from decimal import Decimal

import html5lib
import numpy as np
import pytest

from debrief.desk.handout import write_sheet
from debrief.desk.plots import Point, readout_plot, time_ticks
from debrief.desk.row_text import text_of
from debrief.desk.sheet import SheetSettings, clip_place, page_heads, sheet
from debrief.desk.sheet_parts import Material, crew_questions, expected_wrong, plots, ratings_grid, to_decide, warnings, what_happened
from debrief.errors import RecordingError
from debrief.hearing.clips import encode
from debrief.records.findings import CheckResult, ListeningItem
from debrief.records.kinds import KINDS
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
from debrief.session import Session
from debrief.store.sessions import Seal
from debrief.timebase import Span

SOURCE = Source("r1", 0)
RECORDING = Recording("r1", "/far/wire.flac", "0" * 64, 16_000 * 900, 8000, 1, ("Wire",))


def row(number: int, table: str, start_s: float = 10.0, certainty="clear", /, **values) -> Row:
    place = Part("value", "as heard", source=SOURCE, span=Span.of_seconds(start_s, start_s + 0.5), start_s=start_s)
    return Row(table, {name: Field(value, "spoken", certainty) for name, value in values.items()}, (place,), "Wire", "Rigger", number=number)


ROWS = [
    row(1, "readouts", 10, parameter="tow load", value=Decimal("4.30"), unit="t"),
    row(2, "readouts", 20, parameter="tow load", value=Decimal("4.5"), unit="t"),
    row(3, "readouts", 30, "doubtful", parameter="tow load", value=Decimal("45"), unit="t"),
    row(4, "ratings", 40, axis="ride", value=Decimal(3), value_alt=Decimal(4), subject="Ida", hedge=True, condition={"car": "empty"}),
    row(5, "ratings", 50, axis="ride", value=Decimal(2), subject="Ida", superseded=True, condition={"car": "empty"}),
    row(6, "anomalies", 60, what="a bang at tower two"),
    row(7, "open_items", 70, what="grease the sheave", owner="Olaf"),
    row(8, "polls", 80, station="Winch", answer="none", question="go for the ride"),
    row(9, "stop_calls", 90, what="the winch", released_s=95.0),
    row(10, "readbacks", 100, said="one two", readback="two one", match=False),
]
SESSION = Session.model_validate({"title": "Cable car trial", "limits": [{"what": "tow load", "unit": "t", "max": 5.0}]})


def made(rows=ROWS, session=SESSION, seal=None, clip=lambda *_: b"sound", **more) -> str:
    return sheet(Material(rows, session, **more), [RECORDING], seal, SheetSettings(clip))


def test_every_row_stands_there_once_with_its_sound():
    html = made()
    assert sorted(int(n) for n in re.findall(r'id="r(\d+)"', html)) == [item.number for item in ROWS]
    assert f'"10": "{base64.b64encode(b"sound").decode()}"' in html
    assert '<span aria-hidden="true">?</span>&nbsp;doubtful' in html


def test_an_empty_session_says_that_absence_is_no_proof():
    html = made([])
    assert "Nothing open was heard. That is not proof that nothing is open." in html
    assert "0 rows" in html


def test_the_first_page():
    material = Material(ROWS, SESSION)
    assert [item.number for item in what_happened(material)] == [6, 9]
    assert [item.number for item in to_decide(material)] == [10, 6, 7, 8]


def test_changed_rows_come_first_among_decisions():
    rows = [*ROWS, replace(row(11, "steps", step="2a", event="complete"), look=("changed since you looked",))]
    assert to_decide(Material(rows))[0].number == 11


def test_ratings_keep_hedges_and_corrections_and_have_no_mean():
    grid = ratings_grid(Material(ROWS))
    assert grid.subjects == ("Ida",)
    assert [[item.number for item in cell] for cell in grid.rows[0].cells] == [[4, 5]]
    html = made()
    assert "<del>2</del>" in html
    assert "3 or 4" in html
    assert "hedged" in html


HOSTILE = '<script>alert(1)</script><img src=x onerror=1>"\'</script>{{ 7*7 }}'


@pytest.mark.parametrize("kind", KINDS)
def test_hostile_text_stays_text(kind):
    hostile = {column.name: HOSTILE for column in KINDS[kind].columns if column.type == "text"}
    bad = replace(row(1, kind, **hostile), station=HOSTILE, loop=HOSTILE, look=(HOSTILE,), doubt=(HOSTILE,))
    checks = [CheckResult("ask the crew", HOSTILE, (1,)), CheckResult(HOSTILE, HOSTILE, (1,), serious=True)]
    html = made([bad], Session.model_validate({"title": HOSTILE, "place": HOSTILE}), Seal(HOSTILE, HOSTILE, 0, 1, broken=True),
                checks=checks)
    assert "<script>alert" not in html
    assert "<img" not in html
    assert html.count("<script") == 2
    assert "{{ 7*7 }}" in html


def test_the_policy_allows_this_script_and_style_and_nothing_else():
    html = made()
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html).group(1).replace("&#39;", "'")
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    for tag in ("style", "script"):
        text = re.search(rf"<{tag}>(.*?)</{tag}>", html, re.S).group(1)
        assert f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}" in policy
    assert not re.search(r'(src|href)="(?!#)', html)
    assert " style=" not in html


@pytest.mark.parametrize(("seal", "says"), [
    (None, "Not signed."), (Seal("Ida", "2031-05-14T12:00:00+00:00", 3, 7, broken=False), "<strong>Signed</strong> by Ida"),
    (Seal("Ida", "2031-05-14T12:00:00+00:00", 3, 7, broken=True), "<strong>Seal broken.</strong>")])
def test_the_seal_shows(seal, says):
    assert says in made(seal=seal)


def test_sound_that_is_not_at_hand_is_counted():
    def gone(*_):
        raise RecordingError("no such file")

    assert "10 rows carry no sound here" in made(clip=gone)


def test_room_for_sound_goes_to_what_must_be_heard_first():
    listening = [ListeningItem(ROWS[8].place, 2.0, 0.5, ("clear",), 9)]
    html = sheet(Material(ROWS, SESSION, listening=listening), [RECORDING], None, SheetSettings(lambda *_: b"123456", 8))
    assert '{"9": ' in html
    assert "9 rows carry no sound here" in html


def test_from_the_first_clip_without_room_no_more_are_made_and_the_rows_left_out_are_counted():
    asked = []

    def clip(_recording, _source, span):
        asked.append(span)
        return b"123456"

    html = sheet(Material(ROWS, SESSION), [RECORDING], None, SheetSettings(clip, 25))
    assert len(asked) == 4
    assert html.count('class="play" tabindex') >= 3
    assert "7 rows carry no sound here" in html
    assert "The file was full before 7 of them; those to be heard first were served first." in html
    assert "The file was full" not in made()


def test_rows_at_one_place_share_one_clip_and_each_can_be_played():
    asked = []
    html = made([row(1, "readouts", parameter="load"), row(2, "steps", step="2")], clip=lambda *place: asked.append(place) or b"sound")
    assert len(asked) == 1
    text = base64.b64encode(b"sound").decode()
    assert f'>{{"1": "{text}", "2": "{text}"}}<' in html


def test_memory_does_not_grow_with_the_sound(tmp_path):
    """Each clip is as large as all that may be added: a sheet that kept them would need fifty times as much."""
    size = 400_000

    def peak_and_sounds(count: int) -> tuple[int, dict[str, str]]:
        rows = [row(n, "readouts", 5 * n, parameter=f"load {n}", value=Decimal(n), unit="t") for n in range(1, 61)]
        settings = SheetSettings(lambda _recording, _source, span: span.start.to_bytes(8, "big") * (size // 8) if span.start < end else b"")
        end = 5 * 16_000 * (count + 1) - 16_000
        tracemalloc.start()
        try:
            write_sheet(Material(rows, SESSION, recordings=[RECORDING]), tmp_path / "sheet.html", settings)
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        html = (tmp_path / "sheet.html").read_text(encoding="utf-8")
        return peak, json.loads(re.search(r'id="sounds">(.*?)</script>', html).group(1))

    peak_and_sounds(5)  # templates are read once
    (few, _), (many, sounds) = peak_and_sounds(5), peak_and_sounds(55)
    assert list(sounds) == [str(n) for n in range(1, 56)]
    assert all(len(base64.b64decode(text)) == size for text in sounds.values())
    assert many - few < size
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.html"]


def test_a_clip_holds_the_evidence_near_and_not_the_far():
    near = Part("parameter", "load", source=SOURCE, span=Span.of_seconds(6, 7), start_s=6)
    far = Part("condition", "empty", source=SOURCE, span=Span.of_seconds(400, 401), start_s=400)
    item = replace(ROWS[0], evidence=(ROWS[0].place, near, far))
    assert clip_place(item) == (SOURCE, Span.of_seconds(6, 10.5))
    assert clip_place(replace(item, evidence=(Part("searched and absent", ""),))) is None


def test_plots_draw_limits_and_no_line_through_doubt():
    points = [Point(0, 4, "clear", 1, "row 1"), Point(60, 45, "doubtful", 2, "row 2"), Point(120, 5, "repeated", 3, "row 3")]
    drawn = readout_plot("tow load, t", points, [("max", 5.0)], (0, 120))
    assert drawn.count('class="run"') == 1
    assert drawn.count('class="doubt"') == 1
    assert "max 5" in drawn
    assert 'href="#r2"' in drawn
    assert "max 5" in made()


@pytest.mark.parametrize(("span", "ticks"), [((0, 60), [0, 10, 20, 30, 40, 50, 60]), ((5, 95), [15, 30, 45, 60, 75, 90]), ((10, 11), [10])])
def test_time_ticks_are_round(span, ticks):
    assert time_ticks(*span, most=6) == pytest.approx(ticks)


@pytest.mark.parametrize(("item", "text"), [
    (ROWS[0], "tow load 4.30 t"), (ROWS[3], "ride 3 or 4 by Ida - hedged (car empty)"), (ROWS[7], "Winch: no answer to: go for the ride"),
    (ROWS[6], "Olaf: grease the sheave - open"), (ROWS[8], "stop: the winch - released"), (ROWS[9], "said one two, read back two one - wrong"),
    (row(1, "readouts", parameter="depth", value=Decimal(-3), approximate=True), "depth about -3"),
    (replace(ROWS[0], fields={**ROWS[0].fields, "unit": Field("t", "assumed")}), "tow load 4.30 [t]")])
def test_rows_in_words(item, text):
    assert text_of(item) == text


def drawn(rows, *limits) -> list[tuple[str, str]]:
    return plots(Material(rows, Session.model_validate({"limits": list(limits)})))


def test_limits_are_drawn_in_the_unit_that_was_read_out_and_limited_readouts_first():
    """29.647 kPa are 4.3 psi (NIST SP 811 factors)."""
    rows = [row(1, "readouts", 10, parameter="suit pressure", value=Decimal("4.1"), unit="psi"),
            *(row(n, "readouts", 10 * n, parameter="load", value=Decimal(n), unit="kN") for n in (2, 3, 4, 5)),
            row(6, "exceedances", 10, parameter="suit pressure", value=Decimal("4.1"), unit="psi", limit=Decimal("4.29994"), bound="min")]
    first, second = drawn(rows, {"what": "pressure in the suit", "unit": "kPa", "min": 29.647})
    assert first[0] == "suit pressure, psi"
    assert re.search(r"min 4\.3\b", first[1])
    assert "min" not in second[1]


def test_a_readout_given_once_is_drawn_only_against_a_limit():
    one = [row(1, "readouts", parameter="load", value=Decimal(5), unit="kN")]
    assert drawn(one) == []
    assert "max 6" in drawn(one, {"what": "Load", "unit": "kN", "max": 6})[0][1]
    assert drawn(one, {"what": "Load", "unit": "C", "max": 6}) == []


def test_expected_errors_are_told_for_rows_with_a_calibrated_chance_and_the_others_counted():
    rows = [replace(ROWS[0], witnesses={"chance wrong": 0.1}), replace(ROWS[2], witnesses={"chance wrong": 0.75}), ROWS[3],
            row(20, "readouts", 1, "heard by a person", parameter="load")]
    found = expected_wrong(rows)
    assert (found.wrong, found.sure, found.counted, found.uncounted) == (0.1, 1, 2, 1)
    html = made(rows)
    assert "1 of 2 rows with a calibrated chance stand as sure; about 0.1 of these are expected to be wrong." in html
    assert "1 rows have no calibrated chance." in html
    assert "take <em>clear</em> as a sorting" in made()


def test_the_heads_of_printed_pages_take_hostile_titles():
    style = page_heads('"}</style><script>\\', Seal("Ida", "2031-05-14T12:00:00+00:00", 3, 7, broken=False))
    assert "<" not in style
    assert "signed by Ida\\2c  2031" in style
    assert style.count('"') == 4


@pytest.mark.parametrize("rows", [[], ROWS], ids=["empty", "rows"])
def test_the_html_is_valid(rows):
    checks = [CheckResult("ask the crew", "Ida: done?", (1,)), CheckResult("limits", "over", (1,), serious=True)]
    html5lib.HTMLParser(strict=True).parse(made(rows, checks=checks))


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_on_paper_every_page_has_its_head_and_no_row_is_lost(tmp_path, paper):
    sync_api = pytest.importorskip("playwright.sync_api")
    chromium = shutil.which("chromium") or pytest.skip("no chromium on this machine")
    reader = shutil.which("pdftotext") or pytest.skip("no pdftotext (poppler-utils) on this machine")
    many = [row(n, "readouts", 5 * n, parameter="load", value=Decimal(n), unit="t") for n in range(1, 200)]
    (tmp_path / "sheet.html").write_text(made(many, clip=None), encoding="utf-8")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page()
        page.goto((tmp_path / "sheet.html").as_uri())
        page.pdf(path=tmp_path / "sheet.pdf", format=paper)
        browser.close()
    text = subprocess.run([reader, "-layout", tmp_path / "sheet.pdf", "-"], capture_output=True, text=True, check=True).stdout
    pages = text.split("\f")[:-1]
    assert len(pages) > 2
    for number, content in enumerate(pages, 1):
        assert re.match(r"\s*Cable car trial\s+not signed", content)
        assert re.search(rf"\b{number} ?/ ?{len(pages)}\b", content)
    assert {n for n in range(1, 200) if re.search(rf"\b{n}\b t\b", text)} == set(range(1, 200))


@pytest.mark.browser
def test_keys_play_rows_in_a_browser_without_network(tmp_path):
    sync_api = pytest.importorskip("playwright.sync_api")
    chromium = shutil.which("chromium") or pytest.skip("no chromium on this machine")
    (tmp_path / "sheet.html").write_text(made(clip=lambda *_: encode(np.zeros(32_000, np.float32))), encoding="utf-8")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page()
        asked, faults = [], []
        page.on("request", lambda request: asked.append(request.url.split(":")[0]))
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
        page.goto((tmp_path / "sheet.html").as_uri())
        page.keyboard.press("j")
        assert page.evaluate("document.activeElement.dataset.row") == "6"
        page.keyboard.press("j")
        page.keyboard.press("Space")
        page.wait_for_selector(".row.playing[data-row='9']", timeout=5000)
        page.keyboard.press("k")
        page.keyboard.press("Enter")
        page.wait_for_selector(".row.playing[data-row='6']", timeout=5000)
        page.keyboard.press("Escape")
        assert page.query_selector(".row.playing") is None
        browser.close()
    assert faults == []
    assert set(asked) <= {"file", "data"}


def test_what_a_check_said_goes_with_a_row_that_was_rejected_and_is_told_as_first_read_of_one_that_was_changed():
    """Nothing on the sheet speaks of a value that a person has put right as if it stood."""
    checks = [CheckResult("limits", "tow load: 45 t is above the limit of 5 t", (3,), serious=True),
              CheckResult("contradiction", "tow load: 4.3 from Rigger, 45 from Ida, 3 s apart", (1, 3)),
              CheckResult("ask the crew", "Ida: was it 45 t?", (3,)), CheckResult("recording clocks", "recording r1: fits", ())]
    assert [says for _, says, _, _ in warnings(Material(ROWS, SESSION, checks=checks))] == [
        "tow load: 45 t is above the limit of 5 t", "tow load: Rigger says 4.3, Ida says 45, 3 s apart", "recording r1: fits"]
    left = Material([item for item in ROWS if item.number != 3], SESSION, checks=checks)
    assert [says for _, says, _, _ in warnings(left)] == ["recording r1: fits"]
    assert crew_questions(left) == []
    changed = replace(ROWS[2], look=("as first read: 45 t is above the limit of 5 t",))
    assert [says for _, says, _, _ in warnings(Material([*ROWS[:2], changed], SESSION, checks=checks[:1]))] == [
        "as first read: tow load: 45 t is above the limit of 5 t"]
