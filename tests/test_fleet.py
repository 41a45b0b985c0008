"""The fleet: jobs found and addressed by what they are made of, strangers kept out, lost workers that lose nothing, one result each."""
import csv
import re
import shutil
import wave
from dataclasses import replace
from pathlib import Path

import httpx
import numpy as np
import pytest
from fleet_ears import MadeEar, made_ear
from typer.testing import CliRunner

from debrief.cli import app
from debrief.cli_fleet import told
from debrief.demo_files import demo_folder
from debrief.errors import InputError
from debrief.fleet import labour
from debrief.fleet.cluster import CARD, Place, card_resources, check_address, connected, worker_count
from debrief.fleet.estimate import Estimate, estimate
from debrief.fleet.jobs import find_jobs, job_key
from debrief.fleet.labour import Settings, do_job, land
from debrief.fleet.work import _largest_first, _Progress, jobs_table, run_fleet
from debrief.hearing.recording import read_span
from debrief.hearing.recordings import open_recordings
from debrief.store.sessions import SessionStore, canonical_text
from debrief.timebase import HEARING_RATE_HZ, Span


def silent(_what, _done, _whole):
    """Watches nothing."""


def write_wav(path, sound):
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, HEARING_RATE_HZ, 0, "NONE", ""))
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A session over a piece of the demo, two bare recordings of other pieces, and things that are neither."""
    base = tmp_path_factory.mktemp("fleet") / "tapes"
    sound = demo_folder() / "line_and_cabin.opus"
    for name, start in (("trial/cabin.wav", 300), ("monday/line.wav", 380), ("monday/other.wav", 460)):
        write_wav(base / name, read_span(sound, 0, Span.of_seconds(start, start + 70)))
    (base / "trial" / "session.toml").write_text('title = "Trial"\nrecordings = ["cabin.wav"]\n[[loops]]\nname = "Cabin"\n', encoding="utf-8")
    (base / "notes.txt").write_text("no recording", encoding="utf-8")
    (base / ".hidden").mkdir()
    shutil.copy(base / "monday" / "line.wav", base / ".hidden" / "line.wav")
    return base


def texts(out):
    """Canonical text of every result, by job name."""
    found = {}
    for path in sorted(item for item in out.iterdir() if item.is_dir()):
        with SessionStore.open(path, read_only=True) as store:
            accepted = store.accepted_pass()
            found[path.name.rsplit(".", 1)[0]] = canonical_text(store.turns(accepted), store.rows())
    return found


@pytest.fixture(scope="module")
def undisturbed(folder, tmp_path_factory):
    """The same jobs one after the other in this process: what every fleet must come to."""
    out = tmp_path_factory.mktemp("undisturbed")
    for job in find_jobs(folder).jobs:
        assert do_job(job, Settings(str(out), "calm", questions_per_minute=0), made_ear, silent).state == "done"
    labour._loaded.clear()
    return out


# jobs


def test_sessions_and_recordings_that_none_names_are_jobs(folder):
    found = find_jobs(folder)
    assert [job.name for job in found.jobs] == ["trial", "monday-line.wav", "monday-other.wav"]
    assert [round(job.sound_s) for job in found.jobs] == [70, 70, 70]
    assert found.refused == ()


def test_what_cannot_be_used_is_refused_by_name_and_the_rest_goes_on(folder, tmp_path):
    shutil.copytree(folder, tmp_path / "tapes")
    (tmp_path / "tapes" / "broken.wav").write_bytes(b"RIFF not sound")
    (tmp_path / "tapes" / "bad.toml").write_text('recordings = ["gone.wav"]\n', encoding="utf-8")
    found = find_jobs(tmp_path / "tapes")
    assert len(found.jobs) == 3
    assert [(Path(path).name, re.sub(r".*: ", "", why.splitlines()[0])) for path, why in found.refused] == [
        ("bad.toml", "no such sound file"),
        ("broken.wav", "not a sound file that can be read (WAV, FLAC, MP3, M4A, Ogg, Opus, or a film with sound)")]


def test_an_empty_folder_and_no_folder_are_refused(tmp_path):
    with pytest.raises(InputError, match="holds neither a session file nor a recording"):
        find_jobs(tmp_path)
    with pytest.raises(InputError, match="no such folder"):
        find_jobs(tmp_path / "gone")


def test_the_address_of_a_job_follows_all_that_decides_it_and_nothing_else(folder, tmp_path):
    job = find_jobs(folder).jobs[0]
    recordings = open_recordings(job.session, Path(job.beside))
    key = job_key(job, recordings, "m", {"threads": "2"})
    assert re.fullmatch(r"[0-9a-f]{64}", key)
    assert job_key(replace(job, name="else"), [replace(recordings[0], path="/other/place")], "m", {"threads": "2"}) == key
    others = {job_key(job, recordings, "n", {"threads": "2"}), job_key(job, recordings, "m", {"threads": "1"}),
              job_key(job, [replace(recordings[0], sha256="1")], "m", {"threads": "2"}),
              job_key(replace(job, session=job.session.model_copy(update={"title": "Other"})), recordings, "m", {"threads": "2"})}
    assert key not in others
    assert len(others) == 4


# where it works


@pytest.mark.parametrize("address", ["tcp://10.0.0.5:8786", "tcp://cluster.example:8786", "tcp://0.0.0.0:8786"])
def test_an_open_scheduler_elsewhere_is_refused(address):
    with pytest.raises(InputError, match="a tcp:// scheduler is not protected, so it is taken on this machine's loopback alone"):
        check_address(Place(address))


def test_addresses_that_are_taken_and_refused():
    for address in ("tcp://127.0.0.1:8786", "tcp://[::1]:8786", "tcp://localhost:8786", None):
        check_address(Place(address))
    check_address(Place("tls://cluster.example:8786", tls=("ca.pem", "cert.pem", "key.pem")))
    with pytest.raises(InputError, match="needs three PEM files, 1 given"):
        check_address(Place("tls://cluster.example:8786", tls=("ca.pem",)))
    with pytest.raises(InputError, match="begins with tls:// or, on this machine, tcp://"):
        check_address(Place("http://127.0.0.1:8786"))


class Offering:
    def __init__(self, *resources):
        self._workers = {f"w{index}": {"resources": item, "nthreads": 2} for index, item in enumerate(resources)}

    def scheduler_info(self, n_workers):
        assert n_workers == -1
        return {"workers": self._workers}


@pytest.mark.timeout(120)
def test_two_fleets_share_a_machine_and_neither_serves_a_page():
    with connected(Place(workers=1)) as one, connected(Place(workers=1)) as other:
        schedulers = [client.cluster.scheduler for client in (one, other)]
        ports = [scheduler.http_server.port for scheduler in schedulers]
        assert len(set(ports)) == 2
        assert 8787 not in ports  # where distributed would put its pages
        ports += [port for client in (one, other) for worker in client.scheduler_info(n_workers=-1)["workers"].values()
                  for port in worker["services"].values()]
        asked = [f"http://127.0.0.1:{port}/{page}" for port in ports for page in ("", "info/main/workers.html", "json/counts.json", "metrics", "health", "status")]
        assert {httpx.get(page).status_code for page in asked} == {404}


def test_sound_goes_to_workers_with_cards_where_there_are_any():
    assert card_resources(Offering({}, {CARD: 1.0})) == {CARD: 1}
    assert worker_count(Offering({}, {CARD: 2.0})) == 2
    assert card_resources(Offering({}, {})) is None
    assert worker_count(Offering({}, {})) == 4


# results


def test_a_result_lands_once(tmp_path):
    for name in ("first", "second"):
        (tmp_path / "w" / name).mkdir(parents=True)
        (tmp_path / "w" / name / "rows").write_text(name)
    land(tmp_path / "w" / "first", tmp_path / "job.abc")
    land(tmp_path / "w" / "second", tmp_path / "job.abc")
    assert (tmp_path / "job.abc" / "rows").read_text() == "first"
    assert not (tmp_path / "w").exists()


def test_work_done_earlier_is_found_and_not_repeated(folder, undisturbed):
    job = find_jobs(folder).jobs[1]
    before = {path: path.stat().st_mtime_ns for path in undisturbed.rglob("*")}
    again = do_job(job, Settings(str(undisturbed), "calm", questions_per_minute=0), made_ear, silent)
    assert (again.state, Path(again.folder).name.rsplit(".", 1)[0]) == ("earlier", "monday-line.wav")
    assert {path: path.stat().st_mtime_ns for path in undisturbed.rglob("*")} == before


def test_a_job_that_cannot_be_done_is_told_with_its_reason(folder, tmp_path):
    job = find_jobs(folder).jobs[1]
    gone = replace(job, session=job.session.model_copy(update={"recordings": (replace_file(job, tmp_path / "gone.wav"),)}))
    done = do_job(gone, Settings(str(tmp_path), "calm"), made_ear, silent)
    assert done.state == "failed"
    assert "no such sound file" in done.what
    assert list(csv.reader(jobs_table([done]).splitlines()))[1][:3] == ["monday-line.wav", "failed", ""]


def replace_file(job, path):
    return job.session.recordings[0].model_copy(update={"file": str(path)})


def test_progress_never_goes_back(folder):
    told_s = []
    progress = _Progress(find_jobs(folder).jobs, lambda what, done, whole: told_s.append((what, done / whole)))
    for number, share in ((0, 0.5), (0, 0.1), (1, 0.3)):
        progress.take((0.0, (number, share)))
    progress.finished(0)
    assert [round(share, 2) for _, share in told_s] == [0.17, 0.17, 0.27, 0.43]
    assert told_s[-1][0] == "fleet: 1 of 3 jobs"


# the whole fleet


@pytest.mark.timeout(240)
def test_two_workers_come_to_the_text_of_one_and_say_how_far_they_are(folder, undisturbed, tmp_path):
    shares = []
    done = run_fleet(find_jobs(folder).jobs, Settings(str(tmp_path), "calm", questions_per_minute=0), Place(workers=2),
                     lambda _what, seconds, whole: shares.append(seconds / whole), made_ear)
    assert [item.state for item in done] == ["done"] * 3
    assert texts(tmp_path) == texts(undisturbed)
    assert all("cabin" in text.lower() for text in texts(tmp_path).values())
    assert shares[-1] == 1.0
    assert [row[1] for row in csv.reader((tmp_path / "jobs.csv").read_text().splitlines())] == ["state", "done", "done", "done"]


@pytest.mark.timeout(240)
def test_a_worker_killed_half_way_loses_nothing(folder, undisturbed, tmp_path):
    notes = tmp_path / "notes"
    notes.mkdir()
    out = tmp_path / "out"
    done = run_fleet(find_jobs(folder).jobs, Settings(str(out), str(notes), questions_per_minute=0), Place(workers=2), silent, made_ear)
    assert (notes / "died").exists()
    assert [item.state for item in done] == ["done"] * 3
    assert texts(out) == texts(undisturbed)
    heard = sum(int(path.read_text()) for path in notes.glob("heard-*"))
    windows = sum(text_windows(path) for path in out.iterdir() if path.is_dir())
    assert windows <= heard <= windows + 2  # at most the window under way is heard again, none that was stored
    assert not (out / ".work").exists()


def text_windows(path):
    with SessionStore.open(path, read_only=True) as store:
        return len({segment.segment.rsplit(".", 1)[0] for segment in store.segments(store.accepted_pass())})


# what it will cost


def test_the_estimate_counts_sound_talk_and_speed(folder):
    jobs = find_jobs(folder).jobs
    cost = estimate(jobs, MadeEar("calm", 1), workers=2, questions_per_minute=24)
    assert cost.sound_s == pytest.approx(210, abs=0.1)
    assert 0.1 < cost.talk_share < 1.0
    assert 0.0 < cost.hear_x < 0.2
    assert cost.waiting_s == pytest.approx(cost.work_s / 2)
    assert estimate((), MadeEar("calm", 1), 1, 24).work_s == 0.0


def test_the_estimate_is_told_in_hours():
    cost = Estimate(36_000, 0.25, 480, 0.02, 0.125, 0.5, 24, 4)  # work: 720 + 9000 x (0.125 + 0.2) = 3645 s
    assert cost.work_s == pytest.approx(3645)
    assert told(cost, 12) == [
        "12 jobs, 10.0 h of sound (all channels); talk in about 25 % of it (sampled: 8 min)",
        "this machine, one worker: finding talk 50 x, hearing talk 8 x real time, weighing 0.5 s a question",
        "about 61 min of work, 15 min with 4 workers like this machine's"]


# the verbs


def test_the_verb_keeps_strangers_out_before_anything_is_looked_at(tmp_path):
    result = CliRunner().invoke(app, ["fleet", "run", str(tmp_path / "gone"), "--out", str(tmp_path / "out"), "--scheduler", "tcp://10.0.0.5:8786"])
    assert isinstance(result.exception, InputError)
    assert "tls:// with certificates" in result.exception.todo
    assert not (tmp_path / "out").exists()


def test_the_verb_estimates_and_starts_nothing(folder, tmp_path, monkeypatch):
    monkeypatch.setattr("debrief.fleet.labour.load", lambda model, threads: MadeEar("calm", threads))
    before = sorted(folder.rglob("*"))
    result = CliRunner().invoke(app, ["fleet", "estimate", str(folder), "--workers", "3"])
    assert result.exit_code == 0
    assert re.match(r"3 jobs, 4 min of sound \(all channels\); talk in about \d+ % of it \(sampled: 8 min\)\n", result.output)
    assert result.output.endswith("with 3 workers like this machine's\n")
    assert sorted(folder.rglob("*")) == before


def test_the_verb_tells_what_was_refused_and_leaves_with_two(tmp_path, monkeypatch):
    (tmp_path / "tapes").mkdir()
    (tmp_path / "tapes" / "broken.wav").write_bytes(b"RIFF not sound")
    monkeypatch.setattr("debrief.fleet.work.run_fleet", lambda *_: [])
    result = CliRunner().invoke(app, ["fleet", "run", str(tmp_path / "tapes"), "--out", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert "0 done, 0 done earlier, 0 failed, 1 refused" in result.output


def test_long_jobs_are_begun_first_and_equal_ones_as_listed(folder):
    jobs = find_jobs(folder).jobs
    sizes = [replace(job, sounds=(("a.wav", 1, seconds),)) for job, seconds in zip(jobs, (10.0, 30.0, 10.0), strict=True)]
    assert [number for number, _ in _largest_first(sizes)] == [1, 0, 2]
