"""The session file: what loads, what is refused and in which words, what a campaign and a sheet add."""
import tomllib
from datetime import UTC, datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from debrief.errors import SessionFileError
from debrief.session import RecordingEntry, Session, find_recording, find_session, load_session
from debrief.session_lines import lines_of

REFUSED = Path(__file__).parent / "refused"


def written(folder: Path, text: str, name: str = "session.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def warned(folder: Path, text: str) -> list[str]:
    return [str(fault) for fault in load_session(written(folder, text))[1]]


@pytest.mark.parametrize("case", sorted(REFUSED.glob("session_*.toml")), ids=lambda path: path.stem)
def test_every_fault_of_a_file_in_one_report(case):
    with pytest.raises(SessionFileError) as refusal:
        load_session(case)
    assert str(refusal.value) == f"{case}: {case.with_suffix('.txt').read_text(encoding='utf-8').rstrip()}"


def test_the_refused_cases_are_there():
    assert len(list(REFUSED.glob("session_*.toml"))) >= 3


def test_nothing_but_a_recording_is_required(tmp_path):
    session, warnings = load_session(written(tmp_path, 'recordings = "loop.wav"'), to_hear=True)
    assert [entry.file for entry in session.recordings] == ["loop.wav"]
    assert not warnings


def test_an_empty_file_serves_a_transcript_but_nothing_can_be_heard(tmp_path):
    path = written(tmp_path, "")
    assert load_session(path)[0] == Session()
    with pytest.raises(SessionFileError, match=r'recordings: names no recording \(write recordings = \["loop.wav"\]\)'):
        load_session(path, to_hear=True)


def test_unknown_keys_are_warnings_with_the_nearest_known_key(tmp_path):
    text = ('recordings = ["a.wav"]\nplcae = "quay"\n[[stations]]\nname = "Mill"\nzzz = 1\n'
            '[[cards]]\nid = 7\nsteps = [{ id = "a", tetx = "go" }]\n')
    assert warned(tmp_path, text) == [
        "line 2 plcae: unknown key, left out (did you mean 'place'?)",
        "line 5 stations[0].zzz: unknown key, left out",
        "line 8 cards[0].steps[0].tetx: unknown key, left out (did you mean 'text'?)"]


def test_names_that_point_nowhere_are_warnings_where_the_work_can_go_on(tmp_path):
    text = """recordings = ["a.wav"]
    stations = [{ name = "Mill", aliases = ["Four"] }, { name = "Chase", short = "FOUR" }]
    [[cards]]
    id = "1"
    ratings = [{ axes = ["ride"], by = ["Mil"] }]
    [[clocks]]
    name = "limit"
    from = "nothing"
    [[limits]]
    what = "load"
    """
    assert warned(tmp_path, text) == [
        "line 2 stations[1]: 'four' names both 'Mill' and 'Chase' (one name must mean one station)",
        "line 5 cards[0].ratings[0].by: no station is named 'Mil' (did you mean 'Mill'?)",
        "line 8 clocks[0].from: no clock is named 'nothing' (known: limit)",
        "line 9 limits[0]: the limit of 'load' has neither min nor max (give one of them)"]


def test_a_start_without_zone_is_told(tmp_path):
    assert warned(tmp_path, 'recordings = [{ file = "a.wav", start = 2031-05-14T13:58:20 }]') == [
        "line 1 recordings[0].start: the start has no time zone, so no UTC can be told (add one, such as +02:00 or Z)"]


def test_text_is_no_number_but_a_name_may_be_one(tmp_path):
    session, _ = load_session(written(tmp_path, 'recordings = ["a.wav"]\ncards = [{ id = 12, steps = [{ id = 3 }] }]'))
    assert (session.cards[0].id, session.cards[0].steps[0].id) == ("12", "3")
    with pytest.raises(SessionFileError, match="input should be a valid number"):
        load_session(written(tmp_path, 'recordings = ["a.wav"]\nscales = [{ name = "s", low = "1", high = 5 }]'))


@pytest.mark.parametrize(("text", "message"), [
    ("a.wav", "no such session file or folder"), ("", "no session file in this folder")])
def test_no_session_file(tmp_path, text, message):
    with pytest.raises(SessionFileError, match=message):
        find_session(tmp_path / text)


def test_the_folder_stands_for_its_file(tmp_path):
    only = written(tmp_path, "", "run.toml")
    assert find_session(tmp_path) == only
    written(tmp_path, "", "other.toml")
    with pytest.raises(SessionFileError, match=r"several TOML files and none named session.toml: other.toml, run.toml"):
        find_session(tmp_path)
    assert find_session(written(tmp_path, "").parent) == tmp_path / "session.toml"


def test_not_text_and_too_deep_are_refused(tmp_path):
    path = tmp_path / "session.toml"
    path.write_bytes(b"title = \"\xff\xfe\"")
    with pytest.raises(SessionFileError, match="not UTF-8 text"):
        load_session(path)
    with pytest.raises(SessionFileError, match="lists or tables lie too deep in each other"):
        load_session(written(tmp_path, f"a = {'[' * 5000}{']' * 5000}"))


def test_a_byte_order_mark_and_windows_lines_do_no_harm(tmp_path):
    path = tmp_path / "session.toml"
    path.write_bytes(b'\xef\xbb\xbfrecordings = ["a.wav"]\r\nplcae = "x"\r\n')
    assert [fault.line for fault in load_session(path)[1]] == [2]


# campaign and sheets


CAMPAIGN = """units = { load = "t", wind = "kt" }
[[stations]]
name = "Mill"
role = "from the campaign"
[[stations]]
name = "Weir"
[[scales]]
name = "five"
low = 1
high = 5
"""


def test_the_session_wins_over_its_campaign(tmp_path):
    written(tmp_path, CAMPAIGN, "campaign.toml")
    session, warnings = load_session(written(
        tmp_path, 'recordings = ["a.wav"]\ncampaign = "campaign.toml"\nunits = { load = "kN" }\n[[stations]]\nname = "Mill"\nrole = "own"'))
    assert [(station.name, station.role) for station in session.stations] == [("Mill", "own"), ("Weir", "")]
    assert session.units == {"load": "kN", "wind": "kt"}
    assert [scale.name for scale in session.scales] == ["five"]
    assert not warnings


def test_faults_of_a_campaign_are_told_by_its_own_lines(tmp_path):
    written(tmp_path, 'recordings = ["b.wav"]\n' + CAMPAIGN.replace("low = 1", "low = 9"), "campaign.toml")
    with pytest.raises(SessionFileError) as refusal:
        load_session(written(tmp_path, 'recordings = ["a.wav"]\ncampaign = "campaign.toml"'))
    assert [str(fault) for fault in refusal.value.faults] == [
        "line 10 campaign.toml: scales[0].low: the scale 'five' runs from 9 to 5 (low must be below high; are they swapped?)",
        "line 1 campaign.toml: recordings: belongs in the session file and is left out here"]


@pytest.mark.parametrize(("content", "message"), [
    (None, ("line 2 campaign: the campaign file campaign.toml cannot be read: No such file or directory "
            "(check the name and the permissions)")),
    ("x = \ny = 1", "line 1 campaign.toml: Invalid value (column 5)")])
def test_a_campaign_that_cannot_be_read(tmp_path, content, message):
    if content is not None:
        written(tmp_path, content, "campaign.toml")
    with pytest.raises(SessionFileError) as refusal:
        load_session(written(tmp_path, 'recordings = ["a.wav"]\ncampaign = "campaign.toml"'))
    assert str(refusal.value.faults[0]) == message


SHEET = [["card", "title", "step", "text", "rating", "by", "readout", "unit"],
         ["007", "Doors", "7a", "lock", "seat; ride", "Mill", "load", "kN"], ["", "", "7b", "open", "", "", "", ""],
         [8, "Run", "8a", "go", "", "", "", ""]]


def sheet_file(folder: Path, kind: str) -> str:
    name = f"cards.{kind}"
    if kind == "xlsx":
        book = openpyxl.Workbook()
        for row in SHEET:
            book.active.append([8.0 if cell == 8 else cell for cell in row])
        book.save(folder / name)
    else:
        delimiter = ";" if kind == "semicolon.csv" else ","
        rows = [[str(cell).replace(";", "|") if delimiter == ";" else str(cell) for cell in row] for row in SHEET]
        written(folder, "\n".join(delimiter.join(row) for row in rows), name)
    return name


@pytest.mark.parametrize("kind", ["csv", "semicolon.csv", "xlsx"])
def test_cards_from_a_sheet(tmp_path, kind):
    session, warnings = load_session(written(tmp_path, f'recordings = ["a.wav"]\ncards_from = "{sheet_file(tmp_path, kind)}"'))
    assert [card.id for card in session.cards] == ["007", "8"]
    assert [step.id for step in session.cards[0].steps] == ["7a", "7b"]
    assert session.cards[0].ratings[0].axes == ("seat", "ride")
    assert (session.cards[0].readouts[0].what, session.cards[0].readouts[0].unit) == ("load", "kN")
    assert not warnings


NAMED = "card, title, spoken, step, text, rating, scale, by, readout, unit, subject, also_called"


@pytest.mark.parametrize(("content", "message"), [
    (None, "cards.csv: no such sheet of cards (it is looked for beside the session file)"),
    ("cart,step\n1,a\n", f"line 1 cards.csv: has no column 'card' (the first line names the columns: {NAMED})"),
    ("card,step\n,a\n", "line 2 cards.csv: a row before the first card is named (fill its 'card' cell)"),
    ("card,step\n1,a\n1,a\n", "line 2 cards.csv: cards[0].steps: step 'a' stands 2 times on card '1' (give each step its own id)")])
def test_sheets_that_cannot_be_used(tmp_path, content, message):
    if content is not None:
        written(tmp_path, content, "cards.csv")
    with pytest.raises(SessionFileError) as refusal:
        load_session(written(tmp_path, 'recordings = ["a.wav"]\ncards_from = "cards.csv"'))
    assert message in [str(fault) for fault in refusal.value.faults]


def test_something_else_that_calls_itself_a_spreadsheet(tmp_path):
    written(tmp_path, "no zip", "cards.xlsx")
    with pytest.raises(SessionFileError, match=r"cards\.xlsx: not a readable sheet of cards: File is not a zip file"):
        load_session(written(tmp_path, 'recordings = ["a.wav"]\ncards_from = "cards.xlsx"'))


# what a session answers


def test_who_sat_where_and_when():
    noon = datetime(2031, 5, 14, 12, tzinfo=UTC)
    session = Session.model_validate({
        "stations": [{"name": "Mill", "short": "ML", "person": "first"}],
        "changes": [{"station": "ML", "person": "second", "at_s": "0:10:00"}, {"station": "Mill", "person": "third", "at": noon}]})
    assert [session.person_at("mill", s) for s in (0, 599.9, 600)] == ["first", "first", "second"]
    assert session.person_at("Mill", 600, noon) == "third"
    assert session.person_at("nobody", 0) is None


def test_the_loop_on_each_channel():
    named = RecordingEntry(file="a.wav", channels=("Deck", ""))
    loops = [{"name": "Deck", "channel": 2}, {"name": "Hold", "channel": 1}]
    session = Session.model_validate({"recordings": ["a.wav"], "loops": loops})
    assert session.loops_of(named, 2) == ("Deck", "")
    assert session.loops_of(session.recordings[0], 2) == ("Hold", "Deck")
    assert Session.model_validate({"recordings": ["a", "b"], "loops": loops}).loops_of(RecordingEntry(file="a"), 2) == ("", "")
    assert Session.model_validate({"loops": [{"name": "Deck"}]}).loops_of(RecordingEntry(file="a"), 1) == ("Deck",)


def test_medical_names_come_from_parameters_readouts_and_axes():
    session = Session.model_validate({
        "parameters": [{"what": "Pulse", "also_called": ["heart rate"], "medical": True}, {"what": "load"}],
        "cards": [{"id": "1", "readouts": [{"what": "blood sugar", "medical": True}], "ratings": [{"axes": ["pain"], "medical": True}]}]})
    assert session.medical_names() == {"pulse", "heart rate", "blood sugar", "pain"}


def test_recordings_are_looked_for_beside_the_file_then_by_name(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "a.wav").write_bytes(b"")
    assert find_recording("audio\\a.wav", tmp_path) is None
    assert find_recording("audio\\a.wav", tmp_path, tmp_path / "elsewhere") == tmp_path / "elsewhere" / "a.wav"
    (tmp_path / "a.wav").write_bytes(b"")
    assert find_recording("a.wav", tmp_path, tmp_path / "elsewhere") == tmp_path / "a.wav"


# lines


def paths(value, at=()):
    yield at
    for key, item in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from paths(item, (*at, key))


NAMES = st.text(st.sampled_from("abcxyz-_19"), min_size=1, max_size=4)
SCALARS = st.one_of(st.integers(), st.booleans().map(lambda b: str(b).lower()), st.sampled_from(
    ['"a # ] } \\" b"', "'c:\\d'", '"""x\n]"""', "'''y\n# z'''", "2031-05-14T13:58:20+02:00"])).map(str)
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3).map(lambda items: "[ # c\n" + ",\n".join(items) + "\n]"),
                      max_leaves=6)


@given(st.lists(st.tuples(NAMES, st.dictionaries(NAMES, VALUES, max_size=3)), max_size=4))
def test_every_path_of_any_file_has_the_line_where_its_key_stands(tables):
    text = "".join(f"[[{name}]]  # {name}\n" + "".join(f"{key} = {value}\n" for key, value in body.items()) for name, body in tables)
    found = lines_of(text)
    written_lines = text.split("\n")
    for path in paths(tomllib.loads(text)):
        if len(path) > 1:
            assert path in found
            if isinstance(path[-1], str):
                assert path[-1] in written_lines[found[path] - 1]


def test_lines_by_hand():
    found = lines_of('a = 1\n[b.c]\n"d e" = [\n  1,\n  { f = 2, g.h = 3 },\n]\n[[i]]\n[[i.j]]\nk = """\n[x]\n"""\n[[i]]\n[i.l]\nm = 1\n')
    wanted = {("a",): 1, ("b", "c", "d e"): 3, ("b", "c", "d e", 0): 4, ("b", "c", "d e", 1, "g", "h"): 5, ("i", 0, "j", 0, "k"): 9,
              ("i", 1): 12, ("i", 1, "l", "m"): 14}
    assert {path: found[path] for path in wanted} == wanted
    assert lines_of("[[[") == {}
