"""Reading again after a change of session file or lexicon: no hearing, every edit stays, and nothing stands before somebody agreed."""
import hashlib

import pytest
from killing import small_session
from steady_recogniser import PHRASES, SteadyRecogniser
from trust_cli import call

from debrief.desk.differences import change_lines
from debrief.errors import InputError
from debrief.hearing.models import BASE_FILES, name_of
from debrief.hearing.windows import WindowSettings, cut_windows
from debrief.pipeline import RunSettings, run
from debrief.pipeline_again import Changed, heard_with, read_again
from debrief.records.rows import Field, Part, Row
from debrief.session import Limit, Station, load_session
from debrief.store import edits
from debrief.store.sessions import Difference, SessionStore


class DeafRecogniser(SteadyRecogniser):
    """Weighs, and must not be asked to hear."""

    def hear(self, sound, hints):
        raise AssertionError("what was heard is heard again")


class ReadoutRecogniser(SteadyRecogniser):
    """Hears nothing but readouts, so that there is something to read again whatever the sound's digest is."""

    def hear(self, sound, hints):
        told = [text for text in PHRASES if text.startswith(("Valley, Cabin, hoist", "Tank", "Rope"))]
        first = hashlib.sha256(sound.tobytes()).digest()[0]
        half_s = len(sound) / 32_000
        return tuple(self._segment(told[(first + place) % len(told)], place * half_s, half_s) for place in (0, 1))


@pytest.fixture
def heard(tmp_path, monkeypatch):
    """A finished run with ten edits: its folder, the session and where the session lies."""
    monkeypatch.setattr("debrief.pipeline.cut_windows", lambda held: cut_windows(held, WindowSettings(longest_s=4.0)))
    small = small_session(tmp_path / "session")
    session, _ = load_session(small.folder / "session.toml", to_hear=True)
    out = tmp_path / "out"
    with run(session, small.folder, out, ReadoutRecogniser(), RunSettings()) as store:
        numbers = [row.number for row in store.rows()][:10]
        assert len(numbers) == 10
        for place, number in enumerate(numbers):
            revision = edits.standing(store.db, number).revision
            if place % 2:
                edits.accept(store.db, number, revision, "Ann")
            else:
                edits.reject(store.db, number, revision, "Ann")
    return out, session, small.folder


def deeds_of(out):
    with SessionStore.open(out, read_only=True) as store:
        return edits.deeds(store.db), {row.number: row for row in store.rows() if row.certainty == "heard by a person"}, store.passes()


def changed_session(session):
    """The same recordings, with a limit on what is read out and one more station."""
    more = Limit(what="tank pressure", unit="bar", max=10)
    return session.model_copy(update={"limits": (*session.limits, more), "stations": (*session.stations, Station(name="Rigger"))})


def test_nothing_changes_before_somebody_agrees(heard):
    out, session, beside = heard
    before = deeds_of(out)
    sheet = (out / "sheet.html").read_bytes()
    shown = []
    assert not read_again(out, Changed(changed_session(session), beside, lambda found: bool(shown.append(found))), DeafRecogniser(), RunSettings())
    after = deeds_of(out)
    assert after[:2] == before[:2]
    assert [item.number for item in after[2] if item.finished_utc] == [1]
    assert (out / "sheet.html").read_bytes() == sheet
    assert shown[0].new
    assert {row.kind for row in shown[0].new} == {"exceedances"}
    lines = list(change_lines(shown[0]))
    assert lines[0].startswith("new ")
    sureness = len(shown[0].sureness)
    assert lines[-1] == f"{len(shown[0].new)} new, 0 gone, {len(shown[0].changed)} changed" + (f", {sureness} surer or less sure" if sureness else "")


def test_a_row_that_says_the_same_and_is_less_sure_is_told():
    place = (Part("value", "five", line_index=3),)
    clear = Row("readouts", {"value": Field(5, certainty="clear")}, place, number=7)
    doubtful = Row("readouts", {"value": Field(5, certainty="doubtful")}, place, number=7)
    for before, after, word in ((clear, doubtful, "less sure "), (doubtful, clear, "surer     ")):
        lines = list(change_lines(Difference((), (), (), frozenset({7}), ((before, after),))))
        assert lines[0].startswith(word)
        assert lines[0].endswith("(a person decided this row: that stays)")
        assert lines[1:] == [f"was: {before.certainty}", "0 new, 0 gone, 0 changed, 1 surer or less sure"]


def test_agreed_to_it_stands_with_every_edit(heard):
    out, session, beside = heard
    deeds, by_people, _ = deeds_of(out)
    assert read_again(out, Changed(changed_session(session), beside, lambda _: True), DeafRecogniser(), RunSettings())
    deeds_now, by_people_now, passes = deeds_of(out)
    assert deeds_now == deeds
    assert {number: told(row) for number, row in by_people_now.items()} == {number: told(row) for number, row in by_people.items()}
    assert [bool(item.finished_utc) for item in passes] == [True, True]
    with SessionStore.open(out, read_only=True) as store:
        assert any(row.kind == "exceedances" for row in store.rows())
        assert not store.unaccounted(2)
        assert store.segments(2) == store.segments(1)
    assert len((out / "exceedances.csv").read_text(encoding="utf-8").splitlines()) > 1


def told(row: Row):
    return {name: (item.value, item.certainty) for name, item in row.fields.items()}


def test_a_reading_of_the_same_changes_nothing(heard):
    out, session, beside = heard
    shown = []
    assert read_again(out, Changed(session, beside, lambda found: shown.append(found) or True), DeafRecogniser(), RunSettings())
    assert (shown[0].new, shown[0].gone, shown[0].changed) == ((), (), ())


PACK = """
pack.name = "ours"
pack.about = "Terms that were missing when the session was heard."
sources.us = "common practice, no source"
parameters = [
  { term = "bank pressure", source = "us", sound_alikes = ["tank pressure"] },
  { term = "moist load", source = "us", sound_alikes = ["hoist load"] },
  { term = "robe temperature", source = "us", sound_alikes = ["rope temperature"] },
]
"""


def test_a_changed_lexicon_is_told_row_by_row_and_keeps_edits_and_numbers(heard, monkeypatch, capsys):
    out, _, beside = heard
    deeds, by_people, _ = deeds_of(out)
    with SessionStore.open(out, read_only=True) as store:
        before = {row.number: row for row in store.machine_rows(1)}
    (beside / "lexicon").mkdir()
    (beside / "lexicon" / "ours.toml").write_text(PACK, encoding="utf-8")
    said = call(monkeypatch, capsys, "reread", str(beside), "--out", str(out), "--yes")
    assert said.code == 0, said.err
    assert "changed" in said.out
    assert "was: " in said.out
    deeds_now, by_people_now, _ = deeds_of(out)
    assert deeds_now == deeds
    assert {number: told(row) for number, row in by_people_now.items()} == {number: told(row) for number, row in by_people.items()}
    with SessionStore.open(out, read_only=True) as store:
        after = {row.number: row for row in store.machine_rows(2)}
        carried = {item.mark for item in edits.all_standing(store.db, rejected=True) if item.edited}
    renamed = [n for n in before.keys() & after.keys() if before[n].get("parameter") != after[n].get("parameter")]
    assert renamed
    assert {str(after[n].get("parameter")).split()[0] for n in renamed} <= {"bank", "moist", "robe"}
    assert all(before[n].get("value") == after[n].get("value") for n in renamed)
    assert carried <= {"carried", "changed since you looked", "stands alone"}
    assert "" not in carried


def test_what_needs_hearing_is_refused(heard, tmp_path):
    out, session, beside = heard
    other = SteadyRecogniser()
    other.digest = "1" * 64
    with pytest.raises(InputError, match="the sound was heard with another model: one that is not on this machine"):
        read_again(out, Changed(session, beside, lambda _: True), other, RunSettings())
    fewer = session.model_copy(update={"recordings": session.recordings[:0]})
    with pytest.raises(InputError, match="names other recordings or excludes other sound"):
        read_again(out, Changed(fewer, beside, lambda _: True), SteadyRecogniser(), RunSettings())
    with SessionStore.create(tmp_path / "new") as store:
        store.note("title", "x")
    with pytest.raises(InputError, match="no finished pass stands here"):
        read_again(tmp_path / "new", Changed(session, beside, lambda _: True), SteadyRecogniser(), RunSettings())


def test_the_model_that_heard_is_named_and_taken_by_itself(tmp_path, monkeypatch, capsys):
    """Whoever hears with a new default reads an old run again without knowing what it was heard with."""
    small = small_session(tmp_path / "session")
    session, _ = load_session(small.folder / "session.toml", to_hear=True)
    base, out = SteadyRecogniser(), tmp_path / "out"
    base.digest = weights_digest(BASE_FILES)
    run(session, small.folder, out, base, RunSettings()).close()
    assert name_of(base.digest) == "base"
    assert heard_with(out) == "base"
    with pytest.raises(InputError, match="heard with another model: base") as refused:
        read_again(out, Changed(session, small.folder, lambda _: True), SteadyRecogniser(), RunSettings())
    assert refused.value.todo.startswith("give --model base, or leave --model out")
    asked = []
    monkeypatch.setattr("debrief.hearing.models.load_recogniser", lambda name: asked.append(name) or base)
    said = call(monkeypatch, capsys, "reread", str(small.folder), "--out", str(out), "--yes", steady=False)
    assert (said.code, asked) == (0, ["base"]), said.err


def test_weights_in_the_cache_are_known_by_their_folder(tmp_path, monkeypatch):
    monkeypatch.setattr("debrief.hearing.models.cache_folder", lambda: tmp_path)
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "model.bin").write_bytes(b"weights")
    digest = weights_digest({"model.bin": hashlib.sha256(b"weights").hexdigest()})
    assert name_of(digest) == "mine"
    assert name_of("0" * 64) is None


def weights_digest(files):
    return hashlib.sha256("".join(f"{name} {digest}\n" for name, digest in sorted(files.items())).encode()).hexdigest()
