"""Text from strangers through every way in to every way out: nothing of it runs, hides, steers a terminal, leaves its cell or its cue."""
import csv
import io
import json
import os
import re
import zipfile
from contextlib import suppress
from html.parser import HTMLParser
from pathlib import Path

import openpyxl
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from killing import small_session
from steady_recogniser import SteadyRecogniser
from text_targets import TARGETS
from trust_cli import call, voices_by_spectrum_alone  # noqa: F401

from debrief.desk.contents import read_contents
from debrief.desk.handout import write_all
from debrief.desk.tables import guarded
from debrief.errors import InputError
from debrief.pipeline import RunSettings, run
from debrief.session import load_session
from debrief.session_merge import gather
from debrief.store import edits
from debrief.store.search import RowFilter, find_rows
from debrief.store.sessions import SessionStore
from debrief.wording.spoken_numbers import read_numbers

HOSTILE = (
    "<script>alert(1)</script>", '"><img/src=x/onerror=alert(1)>', "</style><style>*{display:none}</style>", "</script><script>alert(2)</script>",
    "=cmd|'/C calc'!A0", "@SUM(1+1)*cmd", "+1+cmd", "-2+3+cmd", "=HYPERLINK(\"http://x.invalid\")", "\u202egnp.exe\u202c", "\x1b[2J\x1b]0;x\x07",
    "a\x00b", "';DROP/**/TABLE/**/current;--", "../../../../etc/passwd", "{{7*7}}", "{%raw%}", "javascript:alert(1)", "-->", "00:00:01.000-->00:00:02.000",
    "<v\u00a0Ida>", "&lt;b&gt;&amp;", "\u2028\u2029", "\ufeff\u200b\u2066", "%s%n%x", "${jndi:ldap://x.invalid}", "\u0430\u0300\u0301" * 40, "W" * 3000,
)
FRAMES = ("Serial is {}.", "{} is broken and leaking.", "Tank pressure is five {} bar.", "Cabin, {}, say again.", "{}: go.", "Open item {}, who has it?",
          "I give {} a three because {}.")


class Stranger(SteadyRecogniser):
    """Says every hostile text in every frame, as many as fit into a window."""

    def __init__(self) -> None:
        super().__init__()
        self._texts = [frame.replace("{}", text) for text in HOSTILE for frame in FRAMES]

    def hear(self, sound, hints):
        taken, self._texts = self._texts[:40], self._texts[40:]
        length_s = len(sound) / 16_000 / max(1, len(taken))
        return tuple(self._segment(text, place * length_s, length_s) for place, text in enumerate(taken))


NAMES = [text for text in HOSTILE if text.isprintable() and len(text) < 100][::2]


def toml(text: str) -> str:
    return json.dumps(text)  # a JSON string of these texts is a TOML string


@pytest.fixture(scope="module")
def stranger(tmp_path_factory) -> Path:
    """A run over a hostile session file with a hostile recogniser, and hostile edits."""
    folder = tmp_path_factory.mktemp("stranger")
    small_session(folder, seconds=60, first_sheet=False)
    name = "-=<b>1 & 'x'.wav"
    (folder / "piece.wav").rename(folder / name)
    parts = [f"title = {toml(HOSTILE[0] + HOSTILE[3])}", f"[[recordings]]\nfile = {toml(name)}\nchannels = [{toml(NAMES[0])}, {toml(NAMES[4])}]"]
    parts += [f"[[stations]]\nname = {toml(text)}\naliases = [{toml(text + ' too')}]" for text in NAMES]
    parts += [f"[[cards]]\nid = {toml(text)}\ntitle = {toml(text)}\nsteps = [{{id = {toml(text)}, text = {toml(text)}}}]\n"
              f"readouts = [{{what = {toml('pressure ' + text)}, unit = {toml(text)}}}]" for text in NAMES]
    (folder / "session.toml").write_text("\n".join(parts) + "\n", encoding="utf-8")
    session, _ = load_session(folder / "session.toml", to_hear=True)
    with run(session, folder, folder / "out", Stranger(), RunSettings(questions_per_minute=2)) as store:
        rows = store.rows()
        for row, text in zip(rows, HOSTILE, strict=False):
            value = {"what": text} if "what" in row.fields else {next(iter(row.fields)): text}
            edits.change(store.db, row.number, edits.standing(store.db, row.number).revision, value, text if text.strip() else "x", note=text)
        store.sign(HOSTILE[0])
        assert len(store.rows()) > 30
        write_all(read_contents(store), folder / "out")
    return folder / "out"


class Tags(HTMLParser):
    """Every tag with its attributes, and what stands in scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, tuple[str, ...]]] = []
        self.links: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, tuple(sorted(name for name, _ in attrs))))
        self.links += [value or "" for name, value in attrs if name in ("href", "src", "action", "srcdoc", "formaction")]


def test_the_sheet_holds_no_tag_and_no_attribute_that_a_stranger_brought(stranger, tmp_path):
    small_session(tmp_path / "tame", first_sheet=False).run(tmp_path / "out")
    tame = Tags((tmp_path / "out" / "sheet.html").read_text(encoding="utf-8"))
    text = (stranger / "sheet.html").read_text(encoding="utf-8")
    wild = Tags(text)
    assert sum(tag in ("script", "style") for tag, _ in wild.tags) == sum(tag in ("script", "style") for tag, _ in tame.tags)
    assert {tag for tag, _ in wild.tags} - {tag for tag, _ in tame.tags} <= {"svg", "g", "path", "rect", "circle", "line", "polyline", "text", "title",
                                                                              "figure", "figcaption", "dl", "dt", "dd", "ul", "ol", "li", "th", "td", "tr",
                                                                              "table", "thead", "tbody", "caption", "mark", "em", "strong", "small"}
    assert not [names for _, names in wild.tags if any(name.startswith("on") for name in names)]
    assert not [link for link in wild.links if not link.startswith(("#", "data:audio/"))]
    assert "default-src &#39;none&#39;" in text or "default-src 'none'" in text
    for character in ("\x00", "\x1b", "\u202e", "\u2066"):
        assert character not in text


def test_no_cell_of_any_table_runs(stranger):
    seen = 0
    for path in stranger.glob("*.csv"):
        for row in csv.reader(io.StringIO(path.read_bytes().decode("utf-8"), newline="")):
            for cell in row:
                seen += 1
                assert not re.match(r"^\s*[=@]", cell), (path.name, cell)
                assert not re.match(r"^\s*[+-]", cell) or re.fullmatch(r"[+-]\d[\d.:]*", cell), (path.name, cell)
                assert "\x00" not in cell
    assert seen > 1000
    with zipfile.ZipFile(stranger / "tables" / "debrief.xlsx") as book:
        sheets = [book.read(name) for name in book.namelist() if name.startswith("xl/worksheets/")]
        assert sheets
        assert not any(b"<f>" in sheet or b"<f " in sheet for sheet in sheets)
        assert not [name for name in book.namelist() if "external" in name.lower() or name.endswith(".bin")]
    book = openpyxl.load_workbook(stranger / "tables" / "debrief.xlsx")
    assert not [cell for sheet in book for row in sheet for cell in row if cell.data_type == "f" or cell.hyperlink]


def test_every_form_is_read_again_by_others(stranger):
    for path in (stranger / "tables").glob("*.parquet"):
        pq.read_table(path)
    for path in [*(stranger / "tables").glob("*.jsonl"), stranger / "transcript.jsonl"]:
        for line in path.read_text(encoding="utf-8").split("\n")[:-1]:
            json.loads(line)
    json.loads((stranger / "datapackage.json").read_text(encoding="utf-8"))


def test_no_text_leaves_its_cue(stranger):
    with SessionStore.open(stranger) as store:
        turns = [turn for turn in store.turns(store.accepted_pass()) if turn.start_s is not None and turn.text.strip() and not turn.set_aside]
    vtt = (stranger / "transcript.vtt").read_text(encoding="utf-8").split("\n\n")
    cues = [block.split("\n") for block in vtt[1:] if "-->" in block]
    assert len(cues) == len(turns)
    for cue in cues:
        assert len(cue) == 2
        assert re.fullmatch(r"\d\d+:\d\d:\d\d\.\d{3} --> \d\d+:\d\d:\d\d\.\d{3}", cue[0])
        assert re.fullmatch(r"<v [^<>]+>[^<>]*</v>", cue[1]), cue[1]
    srt = (stranger / "transcript.srt").read_text(encoding="utf-8").strip().split("\n\n")
    assert len(srt) == len(turns)
    assert all(len(cue.split("\n")) == 3 and "-->" not in cue.split("\n")[2] for cue in srt)
    assert all(len(line.split()) in (5, 6) for line in (stranger / "transcript.ctm").read_text(encoding="utf-8").splitlines())


def test_nothing_was_dropped_from_the_store_and_searching_for_it_is_harmless(stranger):
    with SessionStore.open(stranger) as store:
        before = len(store.rows())
        for text in HOSTILE:
            with suppress(InputError):
                find_rows(store.db, RowFilter(text))
        assert len(store.rows()) == before
        assert store.db.integrity_faults() == []


def test_no_file_appears_outside_the_folder(stranger):
    assert {path.name for path in stranger.parent.iterdir()} == {"session.toml", "out", "-=<b>1 & 'x'.wav"}


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
def test_a_guarded_cell_never_begins_as_a_formula(text):
    made = guarded(text)
    assert not re.match(r"^\s*[=@＝＠]", made)
    assert not re.match(r"^\s*[+\-＋－]", made) or re.fullmatch(r"[+-]\d[\d.:]*", made)


# the ways in


@pytest.mark.parametrize("name", sorted(TARGETS))
def test_readers_of_text_refuse_in_words_or_read(name):
    """Short form of bench/fuzz_text.py."""
    target, examples = TARGETS[name]

    @settings(max_examples=30 if name in ("talk", "lexicon") else 120, database=None, derandomize=True,
              suppress_health_check=list(HealthCheck))
    @given(st.sampled_from(examples), st.lists(st.tuples(st.floats(0, 1), st.integers(0, 8), st.sampled_from([text.encode() for text in HOSTILE])
                                                         | st.binary(max_size=6)), max_size=6))
    def readers(example, changes):
        data = bytearray(example)
        for where, drop, put in changes:
            at = int(where * len(data))
            data[at:at + drop] = put
        target(bytes(data))

    readers()


STUCK = ("7" * 5_000, "1/" + "7" * 5_000, "7" * 5_000 + " quarter", "7" * 50, "7 " * 80, "seven " * 200, "nine thousand " * 40, "million " * 12,
         "zero point " + "seven " * 90, "0." + "7" * 3_000, "ten to the power of 99999999", "7" * 45 + " and a half", "7" * 45 + " out of 10",
         "between " + "7" * 45 + " and " + "8" * 45, "12:" + "7" * 5_000, "\u0663" * 60)


@pytest.mark.parametrize("said", STUCK, ids=lambda said: f"{said[:12]} ({len(said)})")
def test_a_recogniser_that_is_stuck_on_a_digit_makes_no_value_and_breaks_nothing(said):
    target, _ = TARGETS["talk"]
    for text in (f"Cabin, Line, tank pressure is {said} bar.", f"Door force, I give it a {said}.", f"Mark, plus {said} minutes."):
        target(text.encode())
    assert all(number.value < 10 ** 18 for number in read_numbers(said.split()))


@pytest.mark.parametrize(("name", "content", "says"), [
    ("talk.jsonl", '{"text": "' + "a" * 10_000_000 + '"}', "a line of more than 1,000,000 characters"),
    ("talk.jsonl", '{"text": ' + "[" * 100_000, "JSON of absurd size or depth"),
    ("talk.jsonl", '{"t": ' + "9" * 5_000 + ', "text": "x"}', "JSON of absurd size or depth"),
    ("talk.jsonl", '{"t": 1e999, "text": "x"}', "t is inf: not a second of a recording"),
    ("talk.vtt", "00:01.000 --> 00:02.000\nx", "the file does not begin with WEBVTT"),
    ("talk.vtt", "WEBVTT\n\n00:02.000 --> 00:01.000\nx\n", "it ends (1 s) before it starts (2 s)"),
    ("talk.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nx\n00:03.000 --> 00:04.000\ny\n", "a time line inside a cue"),
    ("talk.srt", "1\n00:00:01 --> 00:00:02\nx\n", "not a time line: '00:00:01 --> 00:00:02'"),
    ("talk.ctm", "rec 1 0.5\n", "3 fields"),
    ("talk.ctm", "rec 1 0.5 0.2 go 7\n", "the confidence is 7"),
    ("talk.srt", "", "the transcript holds no words"),
])
def test_malformed_transcripts_are_refused_by_line(tmp_path, monkeypatch, capsys, name, content, says):
    (tmp_path / name).write_text(content, encoding="utf-8")
    told = call(monkeypatch, capsys, "harvest", str(tmp_path / name), "--out", str(tmp_path / "out"))
    assert told.code == 2
    assert told.err.split(": ", 1)[1].split("\n")[0] == says
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("content", "says"), [
    ("a = " + "[" * 50_000, "lists or tables lie too deep in each other"),
    ("a" + ".a" * 3_000 + " = 1", None),
    ("[[loops]]\nname = 'A'\n" * 20_000, None),
    ("x = '" + "a" * 9_000_000 + "'", "larger than 8 MB"),
    ("title = 1" + "0" * 5_000, "a number of absurd length"),
    ("recordings = ['a.wav']\n[[clocks]]\nname = 'c'\nfrom_s = '" + "9" * 400 + ":05:00'", "clocks[0].from_s"),
    ("[[stations]]\nname = '" + "w " * 400_000 + "'", "a text of 800,000 characters"),
    ("recordings = ['a.wav']\n" + "[[stations]]\nname = [7]\n" * 50_000, "the session file has 100 faults"),
    ("recordings = ['a.wav']\nloops = [{name = 'A'}]\n" + "[[excluded]]\nloop = 'B'\n" * 50_000, "the session file has 100 faults"),
    ("title = \"\\u0000\"\n[[loops]]\nname = \"\\u001b[2J\"", "holds characters that cannot be shown"),
])
def test_deep_and_huge_session_files_end_soon(tmp_path, monkeypatch, capsys, content, says):
    (tmp_path / "session.toml").write_text(content, encoding="utf-8")
    told = call(monkeypatch, capsys, "run", str(tmp_path), "--out", str(tmp_path / "out"))
    assert told.code == 2
    assert says is None or says in told.err
    assert "\x1b" not in told.err
    assert "Traceback" not in told.err


@pytest.mark.timeout(60)
def test_two_long_lists_are_laid_into_one_soon(tmp_path):
    """Each entry of a campaign is looked for among the session's own; one by one that takes minutes."""
    lists = ["".join(f"[[stations]]\nname = '{letter}{k}'\n" for k in range(20_000)) for letter in "ab"]
    (tmp_path / "campaign.toml").write_text(lists[0], encoding="utf-8")
    (tmp_path / "session.toml").write_text('campaign = "campaign.toml"\n' + lists[1], encoding="utf-8")
    assert len(gather(tmp_path / "session.toml").data["stations"]) == 40_000


DEEP = "a = " + "[" * 50_000
PACK = '[pack]\nname = "x"\nabout = "y"\n'


@pytest.mark.parametrize(("name", "content", "says"), [
    ("lexicon/x.toml", DEEP, "not valid TOML: lists or tables lie too deep in each other"),
    ("lexicon/x.toml", PACK + "a = 1" + "0" * 5_000, "not valid TOML: a number of absurd length"),
    ("lexicon/x.toml", None, "not a plain file"),
    ("lexicon/x.toml", "a" * 9_000_000, "larger than 8 MB"),
    ("campaign.toml", DEEP, "lists or tables lie too deep in each other"),
    ("campaign.toml", "a = 1" + "0" * 5_000, "a number of absurd length"),
    ("campaign.toml", None, "is not a plain file"),
    ("cards.csv", None, "not a readable sheet of cards: not a plain file"),
    ("cards.csv", "a" * 21_000_000, "not a readable sheet of cards: larger than 20 MB")])
def test_hostile_files_beside_a_session_are_refused_and_no_pipe_is_waited_for(tmp_path, monkeypatch, capsys, name, content, says):
    """None: a pipe into which nobody writes."""
    file = tmp_path / name
    file.parent.mkdir(exist_ok=True)
    if content is None:
        os.mkfifo(file)
    else:
        file.write_text(content, encoding="utf-8")
    asks = {"campaign.toml": 'campaign = "campaign.toml"\n', "cards.csv": 'cards_from = "cards.csv"\n'}.get(name, "")
    (tmp_path / "session.toml").write_text(asks, encoding="utf-8")
    (tmp_path / "talk.jsonl").write_text('{"t": 1, "speaker": "A", "text": "Tank pressure is five bar."}\n', encoding="utf-8")
    told = call(monkeypatch, capsys, "harvest", str(tmp_path / "talk.jsonl"), "--session", str(tmp_path), "--out", str(tmp_path / "out"))
    assert told.code == 2
    assert says in told.err
    assert not (tmp_path / "out").exists()


def test_a_sheet_of_cards_that_swells_is_refused(tmp_path):
    """A workbook of a few kilobytes that unpacks to hundreds of megabytes."""
    from debrief.session_cards import read_cards

    path = tmp_path / "bomb.xlsx"
    book = openpyxl.Workbook()
    book.active.append(["card", "title"])
    book.save(path)
    with zipfile.ZipFile(path) as source:
        content = {name: source.read(name) for name in source.namelist()}
    content["xl/worksheets/sheet1.xml"] = content["xl/worksheets/sheet1.xml"].replace(b"</sheetData>", b" " * 300_000_000 + b"</sheetData>")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in content.items():
            target.writestr(name, data)
    assert path.stat().st_size < 1_000_000
    assert [fault.what for fault in read_cards(path).faults] == ["not a readable sheet of cards: it unpacks to more than 200 MB"]
