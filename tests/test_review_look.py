"""What the review page looks like, without a browser: contrast of its colours, and HTML without a parse error or a reference to nothing."""
import re
from collections import Counter
from importlib.resources import files

import pytest
from html5lib import HTMLParser
from html5lib.html5parser import ParseError
from review_client import review_page
from review_session import Size, make_session

STYLE = files("debrief.desk").joinpath("static", "review", "review.css").read_text(encoding="utf-8")
LIGHT, DARK = (dict(re.findall(r"--([\w-]+):(#[0-9a-f]{6})", block)) for block in re.findall(r":root\{([^}]*)\}", STYLE)[:2])


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, two: str) -> float:
    """Contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    high, low = sorted((luminance(one), luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_measure_gives_the_ratios_that_the_standard_names():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # the well-known grey that just fails, from memory


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("ink", "back"), [(ink, back) for ink in ("ink", "soft", "sign", "warn") for back in ("back", "tint")]
                         + [("ink", "tint-strong"), ("warn", "tint-strong"), ("sign", "tint-strong"), ("on-sign", "sign"), ("back", "ink")])
def test_text_has_the_contrast_of_level_aa(scheme, ink, back):
    """WCAG 2.2, 1.4.3: 4.5 to 1."""
    assert contrast(scheme[ink], scheme[back]) >= 4.5


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("mark", "back"), [("edge", "back"), ("edge", "tint"), ("sign", "back"), ("sign", "tint"), ("soft", "tint"), ("soft", "tint-strong"),
                                            ("warn", "tint")])
def test_edges_of_controls_focus_and_drawings_have_the_contrast_of_level_aa(scheme, mark, back):
    """WCAG 2.2, 1.4.11: 3 to 1."""
    assert contrast(scheme[mark], scheme[back]) >= 3


def test_no_colour_stands_outside_the_two_schemes():
    rules = re.sub(r":root\{[^}]*\}", "", STYLE)
    assert not re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[;}])", rules)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with review_page(make_session(tmp_path_factory.mktemp("look") / "run", Size(30))) as made:
        yield made


@pytest.mark.parametrize("path", ["", "plots", "open"])
def test_pages_have_no_parse_error(page, path):
    answer = page.ask("GET", path, params={"key": page.rooms.keys.secret} if path == "open" else {})
    assert answer.status_code == 200
    HTMLParser(strict=True).parse(answer.text)


def test_the_parser_finds_errors():
    with pytest.raises(ParseError, match=r"Unexpected end tag \(p\)"):
        HTMLParser(strict=True).parse("<!doctype html><p><b>x</p>")


def test_names_are_given_once_and_every_reference_finds_its_own(page):
    text = page.ask("GET", "").text
    ids = Counter(re.findall(r'\bid="([^"]+)"', text))
    assert [name for name, count in ids.items() if count > 1] == []
    pointed = [name for found in re.findall(r'\b(?:for|aria-labelledby|aria-describedby|list)="([^"]+)"', text) for name in found.split()]
    assert len(pointed) > 15
    assert set(pointed) <= set(ids)
    assert set(re.findall(r'href="#([\w-]+)"', text)) <= set(ids)


def test_scripts_ask_for_no_part_that_the_page_does_not_have(page):
    text = page.ask("GET", "").text
    ids = set(re.findall(r'\bid="([^"]+)"', text))
    scripts = "".join(files("debrief.desk").joinpath("static", "review", name).read_text(encoding="utf-8") for name in
                      ("review.js", "list.js", "row.js", "talk.js", "deeds.js", "keys.js", "sound.js", "parts.js"))
    asked = set(re.findall(r'\$\("([\w-]+)"\)', scripts))
    assert len(asked) > 40
    assert asked <= ids


def test_the_page_has_the_landmarks_and_one_heading_of_the_first_level(page):
    text = page.ask("GET", "").text
    for mark in ("<header>", "<main>", "<footer>", "<nav ", 'role="search"', 'aria-live="polite"', 'role="alert"', 'lang="en"', 'class="skip"'):
        assert mark in text
    assert text.count("<h1>") == 1


def test_every_shortcut_on_a_button_is_a_key_that_acts(page):
    text = page.ask("GET", "").text
    keys = page.ask("GET", "static/review.js").text
    acting = set(re.findall(r'"([^"]+)"', " ".join(re.findall(r"^  \[\[(.*?)\],", keys, re.M))))
    told = set(re.findall(r'aria-keyshortcuts="([^"]+)"', text))
    assert told <= {"Space" if key == " " else key for key in acting}
    assert len(told) > 15


def test_the_session_title_is_escaped(tmp_path):
    folder = make_session(tmp_path / "run", Size(3))
    with review_page(folder) as page:
        page.rooms.top.title = "<script>alert(1)</script>"
        assert "<script>alert" not in page.ask("GET", "").text
