"""Packages for keeping, checked by what others wrote: the bagit library, the Web Annotation model, Media Fragments and IIIF Presentation 3."""
import json
import re
import subprocess
import wave
from hashlib import sha256

import pytest
from archive_sessions import READOUTS, make
from typer.testing import CliRunner

from debrief.archive.annotations import annotation, collection, manifest
from debrief.archive.bags import escaped, make_bag
from debrief.archive.keeping import KeepSettings, keep
from debrief.cli_archive import archive_app
from debrief.errors import InputError, RecordingError
from debrief.store.edits import change, deeds, standing
from debrief.store.sessions import SessionStore

NPT = re.compile(r"t=(\d+(?:\.\d+)?),(\d+(?:\.\d+)?)$")
"""Media Fragments URI 1.0, 4.2.1: #t=start,end in normal play time, start < end."""
MOTIVATIONS = {"assessing", "bookmarking", "classifying", "commenting", "describing", "editing", "highlighting", "identifying", "linking", "moderating",
               "questioning", "replying", "tagging"}
"""Web Annotation Vocabulary, 2.3 (W3C Recommendation, 23 February 2017)."""
XSD_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$")


@pytest.fixture
def sound(tmp_path):
    path = tmp_path / "main loop.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes(bytes(2 * 8000 * 3))
    return path


@pytest.fixture
def store(tmp_path, sound):
    folder = make(tmp_path / "run", sha256=sha256(sound.read_bytes()).hexdigest(), sound=sound)
    with SessionStore.open(folder) as made:
        made.note("lexicon of pass 1", "e" * 64)
        change(made.db, 1, standing(made.db, 1).revision, {"unit": "psi"}, "R. Vale", "heard it")
        yield made


def test_a_package_is_a_bag_by_the_bagit_library_and_a_changed_byte_is_found(store, tmp_path, sound):
    bagit = pytest.importorskip("bagit", reason="the bagit library is not installed")
    keep(store, tmp_path / "bag", KeepSettings(sound=True))
    bag = bagit.Bag(str(tmp_path / "bag"))
    bag.validate()
    assert sorted(bag.algorithms) == ["sha256", "sha512"]
    assert (tmp_path / "bag" / "data" / sound.name).read_bytes() == sound.read_bytes()
    payload = [path for path in (tmp_path / "bag" / "data").rglob("*") if path.is_file()]
    assert bag.info["Payload-Oxum"] == f"{sum(path.stat().st_size for path in payload)}.{len(payload)}"
    (tmp_path / "bag" / "data" / "provenance.json").write_text("{}")
    with pytest.raises(bagit.BagValidationError):
        bagit.Bag(str(tmp_path / "bag")).validate()


def test_names_in_manifests_are_encoded_as_rfc_8493_says():
    """The bagit library (1.9.0) does not decode the percent sign, which section 2.1.3 demands; here the standard decides."""
    assert escaped("data/100%\r\n.wav") == "data/100%25%0D%0A.wav"


def test_a_bag_made_by_hand(tmp_path):
    """sha256 of 'abc' is the first example of FIPS 180-2, appendix B.1."""
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "a.txt").write_bytes(b"abc")
    make_bag(tmp_path, {})
    assert (tmp_path / "manifest-sha256.txt").read_text() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  data/a.txt\n"
    assert (tmp_path / "bagit.txt").read_text() == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    assert "Payload-Oxum: 3.1\n" in (tmp_path / "bag-info.txt").read_text()


def check_annotation(item):
    """What the Web Annotation Data Model demands (sections 3.1, 3.2.4, 3.3.5, 4.2.1) of what is used here."""
    assert item["@context"] == "http://www.w3.org/ns/anno.jsonld"
    assert item["type"] == "Annotation"
    assert re.match(r"[a-z]+:", item["id"])
    assert item["motivation"] in MOTIVATIONS
    assert all(body["type"] == "TextualBody" and body["purpose"] in MOTIVATIONS and isinstance(body["value"], str) for body in item["body"])
    targets = item["target"] if isinstance(item["target"], list) else [item["target"]]
    assert targets
    for target in targets:
        assert set(target) == {"source", "selector"}
        assert target["selector"]["conformsTo"] == "http://www.w3.org/TR/media-frags/"
        start, end = map(float, NPT.match(target["selector"]["value"]).groups())
        assert start < end
    for name in ("created", "modified"):
        assert name not in item or XSD_INSTANT.match(item[name])
    assert set(item) <= {"@context", "id", "type", "motivation", "body", "target", "generator", "creator", "created", "modified"}


def test_every_row_is_an_annotation_on_its_sound(store):
    made = collection(store.rows(), "trial", {"r1": "loop.wav"}, deeds(store.db), "2031-04-04T12:00:00+00:00")
    assert (made["type"], made["first"]["type"], made["total"]) == ("AnnotationCollection", "AnnotationPage", len(READOUTS))
    for item in made["first"]["items"]:
        check_annotation(item)
    first = made["first"]["items"][0]
    assert first["creator"] == [{"type": "Person", "name": "R. Vale"}]
    assert first["target"]["selector"]["value"] == "t=5.000,7.000"
    assert first["body"][0]["value"] == "cabin pressure 4.8 psi"
    assert len({item["id"] for item in made["first"]["items"]}) == len(READOUTS)


def test_a_row_without_sound_is_no_annotation():
    assert annotation(READOUTS[0], {}) is None
    assert collection([], "", {})["total"] == 0


def test_a_manifest_as_iiif_presentation_3_asks_for(store):
    """IIIF Presentation API 3.0, 5.2, 5.3, 5.6: http ids, language maps, a canvas with duration, painting annotations that target it."""
    made = manifest(store.recordings(), "trial", {"r1": "https://archive.example/t/data/loop.wav"}, "https://archive.example/t/")
    assert made["@context"] == "http://iiif.io/api/presentation/3/context.json"
    assert (made["id"], made["type"], made["label"]) == ("https://archive.example/t/manifest.json", "Manifest", {"none": ["trial"]})
    (canvas,) = made["items"]
    assert canvas["duration"] == 200.0
    painting = canvas["items"][0]["items"][0]
    assert (painting["motivation"], painting["target"], painting["body"]["type"]) == ("painting", canvas["id"], "Sound")


def test_provenance_names_pass_model_and_people(store, tmp_path):
    keep(store, tmp_path / "bag")
    told = json.loads((tmp_path / "bag" / "data" / "provenance.json").read_text())
    assert (told["pass"]["digests"]["model"], told["pass"]["lexicon"]) == ("b" * 64, "e" * 64)
    assert [row["row"] for row in told["rows"]] == list(range(1, len(READOUTS) + 1))
    assert told["rows"][0]["edits"][0]["who"] == "R. Vale"
    assert told["rows"][0]["origins"]["unit"] == "person"
    assert all(row["edits"] == [] for row in told["rows"][1:])


def test_what_cannot_be_kept(store, tmp_path):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "x").touch()
    with pytest.raises(InputError, match="the folder is not empty"):
        keep(store, tmp_path / "full")
    with pytest.raises(InputError, match="is no http address"):
        keep(store, tmp_path / "bag", KeepSettings(address="ftp://x"))
    with pytest.raises(InputError, match="nothing is tagged medical"):
        keep(store, tmp_path / "bag", KeepSettings(medical=False))


def test_sound_that_is_gone_or_another_is_refused(store, tmp_path, sound):
    sound.write_bytes(sound.read_bytes() + b"x")
    with pytest.raises(RecordingError, match="its sha256 differs"):
        keep(store, tmp_path / "bag", KeepSettings(sound=True))
    sound.unlink()
    with pytest.raises(InputError, match="a recording is not at hand"):
        keep(store, tmp_path / "bag", KeepSettings(sound=True))


def test_the_verb(store, tmp_path):
    archive = str(tmp_path / "archive")
    CliRunner().invoke(archive_app, ["add", archive, str(tmp_path / "run"), "--readers", "1"])
    done = CliRunner().invoke(archive_app, ["export", archive, str(tmp_path / "out"), "--address", "https://archive.example"])
    assert done.exit_code == 0, done.output
    made = json.loads((tmp_path / "out" / "session-00001" / "data" / "manifest.json").read_text())
    assert made["id"] == "https://archive.example/session-00001/manifest.json"
    listed = subprocess.run(["sha512sum", "--check", "--quiet", "manifest-sha512.txt"], cwd=tmp_path / "out" / "session-00001", check=False)
    assert listed.returncode == 0
