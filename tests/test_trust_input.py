"""Everything bad that can be given: the exact message, exit code 2, no traceback, nothing half-written."""
import os
import shutil
import sqlite3
import wave
from pathlib import Path

import numpy as np
import pytest
from damaged_sound import tones, write_sound
from trust_cli import call, voices_by_spectrum_alone  # noqa: F401

from debrief.store.schema import VERSION
from debrief.store.sessions import SessionStore

RUN = ("run", "s.toml", "--out", "out")
NOT_SOUND = ("not a sound file that can be read (WAV, FLAC, MP3, M4A, Ogg, Opus, or a film with sound)\n"
             "  What to do: check that it is a recording and was copied whole\n")
TOO_LONG = "is more than any clock here counts (1,000,000,000 s are 31 years; are these samples, or milliseconds?)"


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder with a good recording and bad ones, in which commands are given."""
    monkeypatch.chdir(tmp_path)
    with wave.open("piece.wav", "wb") as file:
        file.setparams((2, 2, 16_000, 0, "NONE", ""))
        file.writeframes((np.stack([tones(3), tones(3)], axis=1) * 32_767).astype("<i2").tobytes())
    (tmp_path / "later.wav").write_bytes((tmp_path / "piece.wav").read_bytes() + b"more")
    (tmp_path / "noise.wav").write_bytes(bytes(range(256)) * 20)
    (tmp_path / "empty.wav").touch()
    (tmp_path / "folder.wav").mkdir()
    os.mkfifo(tmp_path / "pipe.wav")
    os.mkfifo(tmp_path / "pipe.jsonl")
    cut = write_sound(tmp_path / "cut.m4a", tones(4))
    cut.write_bytes(cut.read_bytes()[:10_000])
    return tmp_path


@pytest.mark.parametrize(("session", "says"), [
    ('recordings = ["gone.wav"]', "gone.wav: no such sound file\n  What to do: check the name, or give --recordings the folder that holds it\n"),
    ('recordings = ["noise.wav"]', f"noise.wav: {NOT_SOUND}"),
    ('recordings = ["cut.m4a"]', f"cut.m4a: {NOT_SOUND}"),
    ('recordings = ["empty.wav"]', "empty.wav: the file is empty (0 bytes)\n  What to do: copy it again from the recorder\n"),
    ('recordings = ["folder.wav"]', "folder.wav: this is a folder, not a sound file\n  What to do: name the sound file in it\n"),
    ('recordings = ["pipe.wav"]', "pipe.wav: this is not a plain file\n  What to do: save the sound as a file and give its path\n"),
    ('recordings = ["/dev/zero"]', "/dev/zero: this is not a plain file\n  What to do: save the sound as a file and give its path\n"),
    ('recordings = ["a\\u0000b.wav"]',
     "'a\\x00b.wav': this is no name of a file: embedded null byte\n  What to do: mend the name in the session file\n"),
    ('recordings = ["http://example.org/a.wav"]',
     ("s.toml: the session file has a fault\n  line 1 recordings[0].file: 'http://example.org/a.wav' is an address, not a file "
     "(recordings are files on this machine; fetch it first)\n  What to do: mend what is named and run again\n")),
    ('[[recordings]]\nfile = "piece.wav"\nchannels = ["A", "B", "C"]',
     ("piece.wav: the session file names 3 channels ('C' is the first too many), the file has 2\n"
     "  What to do: name one loop a channel, in the file's order\n")),
    ('recordings = ["piece.wav"]\n[[loops]]\nname = "A"\nchannel = 7',
     "piece.wav: loop 'A' is said to be on channel 7, the file has 2\n  What to do: channels are counted from 1 in the session file\n"),
    *((f'[[recordings]]\nfile = "piece.wav"\n{line}', (f"s.toml: the session file has a fault\n  line 3 recordings[0].{says}\n  What to do: mend what is named "
       "and run again\n")) for line, says in (
        ("offset_s = 1e300", f"offset_s: 1e+300 s {TOO_LONG}"), ("offset_s = -1e300", f"offset_s: -1e+300 s {TOO_LONG}"),
        ('gap_s = "99999999999:00:00"', f"gap_s: 3.6e+14 s {TOO_LONG}"), ("offset_s = nan", "offset_s: input should be a finite number"),
        ("start_uncertainty_s = -1", "start_uncertainty_s: input should be greater than or equal to 0"),
        ("start = 0001-01-01T00:00:00Z", "start: the year 1 is none of a recording (1850 to 2999)"),
        ("start = 9999-12-31T23:59:59Z", "start: the year 9999 is none of a recording (1850 to 2999)"))),
    ('recordings = ["piece.wav"]\n[[limits]]\nwhat = "tank"\nmin = 9\nmax = 3',
     ("s.toml: the session file has a fault\n  line 4 limits[0].min: the limits of 'tank' are reversed: min 9, max 3 (min must not be above "
     "max; are they swapped?)\n  What to do: mend what is named and run again\n")),
    (('[[recordings]]\nfile = "piece.wav"\nseries = "a"\nstart = 2034-01-01T00:00:00Z\n[[recordings]]\nfile = "later.wav"\nseries = "a"\n'
     "start = 2034-01-01T00:00:01Z"),
     ("files of one series run at the same time, so nothing could be placed\n  later.wav: begins 2.0 s before piece.wav of series 'a' has "
     "ended (check both starts, or give them series of their own)\n  What to do: mend what is named and run again\n")),
])
def test_bad_recordings_and_session_files(place, monkeypatch, capsys, session, says):
    (place / "s.toml").write_text(session, encoding="utf-8")
    told = call(monkeypatch, capsys, *RUN)
    assert (told.code, told.err.replace(f"{place}/", "")) == (2, says)
    assert not (place / "out").exists()


@pytest.mark.parametrize(("arguments", "says"), [
    (("new", "made", "http://example.org/a.wav"),
     ("http:/example.org/a.wav: an address is not a recording; nothing is fetched from a network\n  What to do: save the sound as a file and "
     "give its path\n")),
    (("new", "made", "gone.wav"), "gone.wav: no such sound file\n  What to do: check the name, or give --recordings the folder that holds it\n"),
    (("harvest", "gone.vtt", "--out", "made"), "gone.vtt: no such transcript\n  What to do: check the name\n"),
    (("harvest", "https://example.org/a.vtt", "--out", "made"),
     "https:/example.org/a.vtt: an address is not a transcript; nothing is fetched from a network\n  What to do: save it as a file\n"),
    (("harvest", "pipe.jsonl", "--out", "made"), "pipe.jsonl: this is not a plain file\n  What to do: name the file that holds the transcript\n"),
    (("harvest", "piece.wav", "--out", "made"), ("piece.wav: no kind of transcript is called '.wav'\n  What to do: name it by what it holds: "
     ".jsonl, .json, .ndjson, .vtt, .srt, .ctm\n")),
    (("run", "gone.toml", "--out", "made"),
     "gone.toml: no such session file or folder\n  What to do: give the TOML file or the folder that holds it; `debrief new` writes one\n"),
    (("run", "piece.wav", "--out", "made"), ("piece.wav: not UTF-8 text\n  What to do: save it as UTF-8; "
     "if it is a recording, `debrief new FOLDER RECORDING` writes a session file for it\n")),
    (("copy", "gone", "--out", "made"), "gone/debrief.sqlite: no session store here\n  What to do: run 'debrief run SESSION --out DIR' first\n"),
])
def test_bad_arguments(place, monkeypatch, capsys, arguments, says):
    told = call(monkeypatch, capsys, *arguments)
    assert (told.code, told.err) == (2, says)
    assert not (place / "made").exists()


def _model(folder: Path, head: bytes, tokenizer: str = "{}") -> None:
    folder.mkdir()
    (folder / "config.json").write_text("{}")
    (folder / "tokenizer.json").write_text(tokenizer)
    (folder / "model.bin").write_bytes(head + bytes(range(1, 200)))


@pytest.mark.parametrize(("head", "tokenizer", "says"), [
    (b"\xff\xff\xff\xff", "{}", "m/model.bin: model.bin is not a model in CTranslate2 form\n  What to do: fetch or convert the model again\n"),
    (b"\x06\0\0\0", "not json", ("m/tokenizer.json: tokenizer.json cannot be read: Expecting value: line 1 column 1 (char 0)\n"
     "  What to do: fetch or copy the model again\n")),
    (b"\x06\0\0\0", "{}", "m: the weights cannot be loaded: File model.bin is incomplete: "),
    (None, "", ("m: the model's folder lacks model.bin, tokenizer.json, config.json\n  What to do: give the folder of a model in CTranslate2 "
     "form (model.bin, tokenizer.json, config.json)\n")),
])
def test_bad_weights(place, monkeypatch, capsys, head, tokenizer, says):
    (place / "s.toml").write_text('recordings = ["piece.wav"]', encoding="utf-8")
    if head is None:
        (place / "m").mkdir()
    else:
        _model(place / "m", head, tokenizer)
    told = call(monkeypatch, capsys, *RUN, "--model", "m", steady=False)
    assert told.code == 2
    assert told.err.startswith(says)
    assert not (place / "out").exists()


@pytest.mark.parametrize(("name", "asked"), [("base", ("--model", "base")), ("radio", ())])
def test_weights_that_are_not_there_or_were_changed(place, monkeypatch, capsys, name, asked):
    monkeypatch.setattr("debrief.hearing.models.cache_folder", lambda: place / "cache")
    (place / "s.toml").write_text('recordings = ["piece.wav"]', encoding="utf-8")
    told = call(monkeypatch, capsys, *RUN, *asked, steady=False)
    assert (told.code, told.err) == (2, (
        f"{place}/cache/{name}: no weights called '{name}' on this machine\n  What to do: run `debrief fetch` once while a network is there, or give a "
        "folder that holds a faster-whisper model\n"))
    (place / "cache").mkdir()
    _model(place / "cache" / name, b"\x06\0\0\0")
    told = call(monkeypatch, capsys, *RUN, *asked, steady=False)
    assert (told.code, told.err) == (2, (
        f"{place}/cache/{name}/model.bin: model.bin (203 bytes) is not the file it should be: its digest differs\n  What to do: it may be cut short or "
        "changed; delete the folder and run `debrief fetch` again\n"))
    assert not (place / "out").exists()


def test_a_file_cut_short_is_run_and_what_is_missing_is_named(place, monkeypatch, capsys):
    data = write_sound(place / "short.flac", tones(6)).read_bytes()
    (place / "short.flac").write_bytes(data[:len(data) // 2])
    (place / "s.toml").write_text('recordings = ["short.flac"]', encoding="utf-8")
    assert call(monkeypatch, capsys, *RUN).code == 0
    with SessionStore.open(place / "out", read_only=True) as store:
        last = store.stretches(1)[-1]
        assert (last.held_as, last.why, last.span.end) == ("unreadable", "the file ends before its stated length", 6 * 16_000)
        assert store.unaccounted(1) == []


@pytest.mark.parametrize("verb", [("run", "s.toml", "--out", "out"), ("copy", "out", "--out", "made")])
def test_a_store_from_a_newer_version_is_not_touched(place, monkeypatch, capsys, verb):
    (place / "s.toml").write_text('recordings = ["piece.wav"]', encoding="utf-8")
    assert call(monkeypatch, capsys, *RUN).code == 0
    with sqlite3.connect(place / "out" / "debrief.sqlite") as db:
        db.execute(f"PRAGMA user_version = {VERSION + 7}")
    db.close()
    before = (place / "out" / "debrief.sqlite").read_bytes()
    told = call(monkeypatch, capsys, *verb)
    assert (told.code, told.err) == (2, (
        f"out/debrief.sqlite: the store is of version {VERSION + 7}; this program knows versions up to {VERSION}\n  What to do: use the newer program "
        "that wrote it\n"))
    assert (place / "out" / "debrief.sqlite").read_bytes() == before
    assert not (place / "made").exists()


def test_a_name_that_is_no_text_is_shown_and_refused(place, monkeypatch, capsysbinary):
    """A file name may hold any bytes; the message must not fail over them, nor let them steer the terminal."""
    odd = os.fsdecode(b"odd\xff\x1b[2J.wav")
    shutil.copy(place / "noise.wav", odd)
    monkeypatch.setattr("sys.argv", ["debrief", "new", "made", odd])
    from debrief import cli

    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 2
    assert b"\x1b" not in capsysbinary.readouterr().err
