"""Before the long job: a first session file, its schema, what is not ready, what will be missing."""
import json
import re
import tomllib
from datetime import UTC, datetime

import pytest

from debrief.demo_files import demo_folder
from debrief.errors import SessionFileError
from debrief.session import Session, load_session
from debrief.session_check import Probe, Surroundings, check_session, what_is_missing
from debrief.session_template import NewRecording, new_session, session_schema, template

READY = Surroundings(free_bytes=10**10, needed_bytes=10**8)
TWO = [NewRecording("deck and hold.wav", 2), NewRecording("sub/boats.flac", 1, datetime(2031, 5, 14, 12, tzinfo=UTC))]


def test_a_new_session_file_loads_without_a_word(tmp_path):
    session, warnings = load_session(new_session(tmp_path / "new", TWO), to_hear=True)
    assert [(entry.file, entry.channels) for entry in session.recordings] == [
        ("deck and hold.wav", ("deck and hold 1", "deck and hold 2")), ("sub/boats.flac", ("boats",))]
    assert [loop.name for loop in session.loops] == ["deck and hold 1", "deck and hold 2", "boats"]
    assert session.recordings[1].start == datetime(2031, 5, 14, 12, tzinfo=UTC)
    assert not warnings


def test_its_comments_are_true_when_they_are_uncommented(tmp_path):
    text = re.sub(r"(?m)^# (?=\[|[a-z_]+ = )", "", template(TWO))
    text = text.replace('campaign = "campaign.toml"', "").replace('cards_from = "cards.csv"', "")
    text = text.replace("2031-05-14T12:00:00+00:00\n# ", "2031-05-14T12:00:00+00:00\n")
    (tmp_path / "session.toml").write_text(text, encoding="utf-8")
    session, warnings = load_session(tmp_path)
    unused = {"campaign", "cards_from"}
    assert not warnings
    assert set(tomllib.loads(text)) | unused == set(Session.model_fields) - {"units"}
    assert session.medical_names() == {"heart rate"}


@pytest.mark.parametrize("file", ['odd "name" \\ \x7f \t.wav', "gehäuse.wav", "a\nb\x1b[2J\u202ec.wav"])
def test_any_file_name_can_be_written(tmp_path, file):
    made = tomllib.loads(template([NewRecording(file)]))
    assert made["recordings"][0]["file"] == file
    assert made["loops"][0]["name"].isprintable()


@pytest.mark.parametrize(("recordings", "message"), [
    ([], "no recording is given"), ([NewRecording("\udcff.wav")], "a recording's name is not valid text")])
def test_what_no_session_file_can_be_made_of(tmp_path, recordings, message):
    with pytest.raises(SessionFileError, match=message):
        new_session(tmp_path, recordings)
    assert not list(tmp_path.iterdir())


def test_a_session_file_is_never_written_over(tmp_path):
    path = tmp_path / "session.toml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(SessionFileError) as refusal:
        new_session(tmp_path, TWO)
    assert str(refusal.value) == f"{path}: there is a session file already\n  What to do: edit it, or give another folder"
    assert path.read_text(encoding="utf-8") == "mine"


def test_a_file_where_the_folder_should_be(tmp_path):
    (tmp_path / "taken").write_text("", encoding="utf-8")
    with pytest.raises(SessionFileError, match=r"there is a session file already|cannot be written"):
        new_session(tmp_path / "taken" / "below", TWO)


def test_the_schema_names_every_key():
    schema = json.loads(session_schema())
    assert set(schema["properties"]) == set(Session.model_fields)
    assert "from" in schema["$defs"]["ClockPlan"]["properties"]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def ready(session: dict, probes: list[Probe], around: Surroundings = READY) -> list[str]:
    return [str(fault) for fault in check_session(Session.model_validate(session), probes, around)]


def test_a_session_that_is_ready_has_no_faults():
    assert ready({"recordings": [{"file": "a.wav", "channels": ["Deck"]}], "loops": [{"name": "Deck"}]}, [Probe(1, 60.0)]) == []


@pytest.mark.parametrize(("session", "probes", "message"), [
    ({}, [], 'recordings: names no recording (write recordings = ["loop.wav"])'),
    ({"recordings": ["a.wav"]}, [Probe(problem="no such file")], "a.wav: no such file"),
    ({"recordings": ["a.wav"]}, [Probe(1, 0.0)], "a.wav: holds no sound (is it the right file?)"),
    ({"recordings": [{"file": "a.wav", "channels": ["x"]}]}, [Probe(2, 9.0)],
     'a.wav: has 2 channels, the session file names 1 (name each channel; "" for one that carries several loops)'),
    ({"recordings": [{"file": "a.wav", "channels": ["Deck"]}], "loops": [{"name": "Deck"}, {"name": "Hold"}]}, [Probe(1, 9.0)],
     "loops: no recording carries the loop 'Hold' (name it among the channels of a recording)"),
])
def test_what_is_not_ready(session, probes, message):
    assert ready(session, probes) == [message]


def test_files_of_one_series_may_not_overlap():
    entries = [{"file": f"{n}.wav", "series": "deck", "start": datetime(2031, 5, 14, 12, n, tzinfo=UTC)} for n in range(3)]
    assert ready({"recordings": entries}, [Probe(1, 60.4), Probe(1, 75.0), Probe(1, 60.0)]) == [
        "2.wav: begins 15.0 s before 1.wav of series 'deck' has ended (check both starts, or give them series of their own)"]


def test_surroundings_are_told_before_warnings():
    around = Surroundings(10**6, 5 * 10**8, "no weights", "no write permission")
    session = {"recordings": [{"file": "a.wav", "channels": ["Deck"]}], "loops": [{"name": "Deck"}, {"name": "Hold"}]}
    assert ready(session, [Probe(1, 9.0)], around) == [
        "model: no weights", "out: no write permission",
        "disk: 1 MB free, up to 500 MB needed (make room, or give another folder with --out)",
        "loops: no recording carries the loop 'Hold' (name it among the channels of a recording)"]


def test_a_full_session_lacks_nothing_and_a_bare_one_is_told_each_part():
    full, warnings = load_session(demo_folder())
    assert not warnings
    assert what_is_missing(full) == []
    bare = what_is_missing(Session.model_validate({"recordings": ["a.wav"]}))
    assert len(bare) == 9
    assert bare[2] == "without cards: nothing can be told as planned and not said, and steps are known only by what is said"


def test_a_recording_that_tells_its_own_start_lacks_none():
    bare = Session.model_validate({"recordings": ["a.wav", "b.wav"]})
    starts = "without start of the recordings: no time of day or UTC can be told, save by a time hack"
    for probes, told in (((), True), ((Probe(1, 60.0, stamped=True), Probe(1, 60.0)), True), ((Probe(1, 60.0, stamped=True),) * 2, False)):
        assert (starts in what_is_missing(bare, probes)) is told
