"""debrief new, check and demo, by what they say."""
import wave

import pytest
from typer.testing import CliRunner

from debrief import cli_session
from debrief.cli import app
from debrief.errors import ModelError, SessionFileError


@pytest.fixture
def sound(tmp_path):
    path = tmp_path / "loop.wav"
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(bytes(8000 * 4 * 90))
    return path


@pytest.fixture
def weights(monkeypatch):
    monkeypatch.setattr(cli_session, "find_model", lambda name: None)


def said(*arguments):
    return CliRunner().invoke(app, [str(item) for item in arguments])


def test_a_new_session_file_is_ready_to_check(tmp_path, sound, weights):
    assert "session.toml written" in said("new", tmp_path / "trial", sound).output
    result = said("check", tmp_path / "trial")
    assert result.exit_code == 0
    assert "ready; 2 minutes of sound" in result.output
    assert "\nwithout cards: nothing can be told as planned and not said" in result.output


def test_check_names_every_fault_at_once(tmp_path, monkeypatch):
    def no_weights(name):
        raise ModelError("no weights called 'base' on this machine", todo="run `debrief fetch` once")

    monkeypatch.setattr(cli_session, "find_model", no_weights)
    (tmp_path / "session.toml").write_text('recordings = ["lost.wav", "http://example.org/a.wav"]\n', encoding="utf-8")
    result = said("check", tmp_path)
    assert isinstance(result.exception, SessionFileError | SystemExit)
    told = str(result.exception) + result.output
    assert "address" in told


def test_check_tells_of_a_lost_file_and_of_missing_weights(tmp_path, monkeypatch):
    def no_weights(name):
        raise ModelError("no weights called 'base' on this machine", todo="run `debrief fetch` once")

    monkeypatch.setattr(cli_session, "find_model", no_weights)
    (tmp_path / "session.toml").write_text('recordings = ["lost.wav"]\n', encoding="utf-8")
    told = str(said("check", tmp_path).exception)
    assert "lost.wav: no such sound file" in told
    assert "model: no weights called 'base' on this machine" in told


def test_the_demo_is_laid_out_once(tmp_path):
    file = cli_session.lay_out_demo(tmp_path)
    file.write_text(file.read_text(encoding="utf-8") + "# mine\n", encoding="utf-8")
    assert cli_session.lay_out_demo(tmp_path) == file
    assert file.read_text(encoding="utf-8").endswith("# mine\n")
    assert not list(file.parent.glob("*.py"))
