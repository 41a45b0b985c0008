"""The review page's list, sounds and deeds, through its own requests; every deed against a second page on the same store."""
import csv
import io
import wave
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from review_client import review_page
from review_session import RECORDING, make_session

from debrief.errors import StoreError
from debrief.store.edits import standing
from debrief.store.erase import erase
from debrief.store.sessions import SessionStore
from debrief.timebase import Span

HEARD = "heard by a person"


@pytest.fixture
def session(tmp_path):
    return make_session(tmp_path / "run")


@pytest.fixture
def page(session):
    with review_page(session) as made:
        yield made


def numbers(answer) -> list[int]:
    return [entry["number"] for entry in answer["entries"]]


def first(page, **wanted):
    return page.get("api/rows", **wanted)["entries"][0]


# the list


def test_the_listening_list_comes_first_and_every_row_and_place_stands_in_it_once(page):
    found = page.get("api/rows", limit=200)
    keys = [entry["key"] for entry in found["entries"]]
    assert found["total"] == len(keys) == len(set(keys)) == 60
    assert found["entries"][0]["look"] == ["48.5 kN is above the limit of 44 kN"]
    assert sum(entry["number"] is None for entry in found["entries"]) == 6
    places = [i for i, entry in enumerate(found["entries"]) if entry["number"] is None]
    assert max(i for i, entry in enumerate(found["entries"]) if entry["certainty"] == "doubtful") < min(places)


def test_a_long_stretch_that_was_searched_draws_no_row_to_its_place_in_the_list(session):
    with SessionStore.open(session) as store:
        items = store.listening(store.accepted_pass())
        whole = replace(items[0], part=replace(items[0].part, role="searched and absent", span=Span(0, 110 * 16_000)), row=None)
        store.save_checks(store.accepted_pass(), (), [whole, *items])
    with review_page(session) as page:
        keys = [entry["key"] for entry in page.get("api/rows", limit=200)["entries"]]
    assert "p0" in keys
    assert [int(key[1:]) for key in keys[:11]] == [item.row for item in items[:11]]


def test_in_the_order_of_time_rows_follow_the_talk(page):
    starts = [entry["start_s"] for entry in page.get("api/rows", order="time", limit=200)["entries"]]
    assert starts == sorted(starts)


@pytest.mark.parametrize(("wanted", "fits"), [
    ({"loop": "Cabin"}, lambda entry: entry["loop"] == "Cabin"),
    ({"station": "Medic"}, lambda entry: entry["station"] == "Medic"),
    ({"kind": "no row"}, lambda entry: entry["number"] is None),
    ({"certainty": "doubtful"}, lambda entry: entry["certainty"] == "doubtful"),
    ({"why": "limits"}, lambda entry: "limit of 44" in entry["look"][0]),
    ({"from_s": "30", "to_s": "50"}, lambda entry: 30 <= entry["start_s"] <= 50),
    ({"words": "wind 24.5"}, lambda entry: "wind speed" in entry["text"] and "24.5" in entry["text"]),
])
def test_each_filter_lets_through_what_fits_and_all_of_it(page, wanted, fits):
    everything = page.get("api/rows", limit=200)["entries"]
    found = page.get("api/rows", limit=200, **wanted)
    expected = {entry["key"] for entry in everything if (entry["look"] or "why" not in wanted) and fits(entry)}
    assert 0 < found["total"] < 60
    assert {entry["key"] for entry in found["entries"]} == expected


def test_pages_follow_each_other_without_a_gap_or_a_double(page):
    whole = numbers(page.get("api/rows", limit=200, kind="readouts"))
    got, after = [], None
    while True:
        answer = page.get("api/rows", limit=7, kind="readouts", **({"after": after} if after else {}))
        if not answer["entries"]:
            break
        assert answer["before"] == len(got)
        got += numbers(answer)
        after = answer["entries"][-1]["key"]
    assert got == whole
    back = page.get("api/rows", limit=7, kind="readouts", before=f"r{whole[20]}")
    assert numbers(back) == whole[13:20]
    assert whole[30] in numbers(page.get("api/rows", limit=9, kind="readouts", around=f"r{whole[30]}"))


def test_going_on_after_a_row_that_no_longer_fits_leaves_nothing_out(page):
    """A list of rows not heard yet shrinks while it is worked through; the next page begins behind the last row, not behind a count."""
    shown = page.get("api/rows", limit=5, shown="left", kind="readouts")
    whole = numbers(page.get("api/rows", limit=200, shown="left", kind="readouts"))
    for entry in shown["entries"]:
        assert page.post(f"api/rows/{entry['number']}/accept", revision=entry["revision"]).status_code == 200
    after = page.get("api/rows", limit=5, shown="left", kind="readouts", after=shown["entries"][-1]["key"])
    assert numbers(after) == whole[5:10]


def test_a_search_without_a_word_is_refused_in_words(page):
    answer = page.ask("GET", "api/rows", params={"words": "--"})
    assert answer.status_code == 422
    assert answer.json() == {"error": "refused", "what": "there is no word to search for in '--'", "todo": 'words, "a phrase", begin*, or one NEAR another'}


def test_the_talk_around_a_turn_carries_its_words_and_its_rows(page):
    talk = page.get("api/talk", turn=14, around=2)
    assert [turn["turn"] for turn in talk["turns"]] == [12, 13, 14, 15, 16]
    middle = talk["turns"][2]
    assert [word["text"] for word in middle["words"]] == ["wind", "speed", "28.5", "m/s."]
    assert middle["words"][0]["heard"] == "robe"
    assert [page.row(number)["turn"] for number in middle["rows"]] == [14]
    by_sound = page.get("api/talk", recording="r1", channel=0, start=middle["words"][1]["start"])
    assert by_sound["turn"] == 14


# the sound


def tone(body: bytes) -> float:
    """The strongest frequency of a WAV file, Hz."""
    with wave.open(io.BytesIO(body)) as file:
        sound = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)
        return float(np.abs(np.fft.rfft(sound)).argmax() * file.getframerate() / len(sound))


def clip_of(page, entry, **headers):
    clip = entry["clip"]
    return page.ask("GET", f"sound/{clip['recording']}/{clip['channel']}/{clip['start']}-{clip['end']}.wav", headers=headers)


def test_every_row_plays_its_own_sound(page):
    for entry in page.get("api/rows", order="time", kind="readouts", limit=20)["entries"]:
        answer = clip_of(page, entry)
        assert answer.headers["content-type"] == "audio/wav"
        assert tone(answer.content) == pytest.approx(300 + 40 * (entry["turn"] % 30), abs=15)


def test_a_clip_has_as_many_samples_as_its_span(page):
    entry = first(page)
    with wave.open(io.BytesIO(clip_of(page, entry).content)) as file:
        assert (file.getnframes(), file.getframerate()) == (entry["clip"]["end"] - entry["clip"]["start"], 16_000)


@pytest.mark.parametrize(("asked", "status", "got"), [
    ("bytes=0-3", 206, (0, 4)), ("bytes=44-", 206, (44, None)), ("bytes=-10", 206, (-10, None)), ("bytes=99999999-", 416, None),
    ("bytes=5-2", 200, (0, None)), ("bytes=0-1,4-5", 200, (0, None)), ("lines=0-3", 200, (0, None)), ("bytes=-0", 416, None), ("bytes=x-", 200, (0, None)),
])
def test_ranges_of_a_clip_are_answered_as_rfc_9110_says(page, asked, status, got):
    entry = first(page)
    whole, answer = clip_of(page, entry).content, clip_of(page, entry, range=asked)
    assert answer.status_code == status
    if got is not None:
        assert answer.content == whole[got[0]:got[1]]
    if status == 206:
        start = got[0] if got[0] >= 0 else len(whole) + got[0]
        assert answer.headers["content-range"] == f"bytes {start}-{start + len(answer.content) - 1}/{len(whole)}"


def test_a_recording_that_is_gone_is_told_with_the_places_looked_at(session, tmp_path):
    (session / RECORDING).rename(tmp_path / "elsewhere.wav")
    with review_page(session) as page:
        told = page.get("api/session")["recordings"][0]["missing"]
        assert told == (f"Recording {RECORDING}: not found; looked for as {session.resolve() / RECORDING}, {session.absolute().parent / RECORDING}")
        answer = clip_of(page, first(page))
        assert (answer.status_code, answer.json()["what"]) == (404, told)


def test_another_recording_of_the_same_name_is_not_played(session):
    (session / RECORDING).write_bytes((session / RECORDING).read_bytes()[:200_044])
    with review_page(session) as page:
        assert "another recording (6 s long; 122 s were heard)" in page.get("api/session")["recordings"][0]["missing"]


def test_a_recording_is_found_by_name_in_the_folder_given(session, tmp_path):
    (tmp_path / "kept").mkdir()
    (session / RECORDING).rename(tmp_path / "kept" / RECORDING)
    with review_page(session, tmp_path / "kept") as page:
        assert clip_of(page, first(page)).status_code == 200


def test_what_was_erased_is_silent_at_once_though_the_file_still_holds_it(session):
    with review_page(session) as page:
        entry = first(page, order="time")
        assert any(clip_of(page, entry).content[44:])
        with SessionStore.open(session) as store:
            erase(store.db, "Ann", "asked for", [(standing(store.db, entry["number"]).row.place.source, Span(0, 3 * 16_000))])
        assert not any(clip_of(page, entry).content[44:])
        assert entry["number"] not in numbers(page.get("api/rows", order="time", shown="all", limit=200))


@pytest.mark.parametrize("path", ["sound/r2/0/0-100.wav", "sound/r1/7/0-100.wav", "sound/r1/0/100-0.wav", "sound/r1/0/0-9600001.wav",
                                  "sound/r1/0/0-0.wav", "sound/r1/0/999999999-1000000000.wav", "sound/..%2f..%2fetc/0/0-100.wav"])
def test_sound_that_the_session_does_not_have_is_refused(page, path):
    assert page.ask("GET", path).status_code == 404


# deeds


def test_accepting_makes_every_field_heard_by_a_person_and_says_who(page):
    entry = first(page)
    now = page.post(f"api/rows/{entry['number']}/accept", revision=entry["revision"]).json()["rows"][0]
    assert (now["certainty"], now["edited"]) == (HEARD, True)
    assert [(deed["action"], deed["who"]) for deed in page.row(entry["number"])["deeds"]] == [("accept", "Ann")]
    assert page.get("api/session")["counts"]["heard"] == 1


def test_a_change_keeps_the_places_that_were_typed_and_the_machines_reading_beside_it(page, session):
    entry = first(page)
    before = page.fields(entry["number"])
    answer = page.post(f"api/rows/{entry['number']}/change", revision=entry["revision"], values={"value": " 34.30 ", "approximate": "yes"}).json()["rows"][0]
    assert answer["certainty"] == HEARD
    with SessionStore.open(session, read_only=True) as store:
        row = standing(store.db, entry["number"]).row
        assert (str(row.get("value")), row.get("approximate")) == ("34.30", True)
        assert row.fields["value"].origin == "person"
        assert isinstance(row.get("value"), Decimal)
    machine = {item["name"]: item["value"] for item in page.row(entry["number"])["machine"]}
    assert machine["value"] == before["value"]


@pytest.mark.parametrize(("values", "what"), [
    ({"value": "about 30"}, "value is a number, not 'about 30'"), ({"value": "NaN"}, "value is a number, not 'NaN'"),
    ({"past": "maybe"}, "past is yes or no, not 'maybe'"), ({"colour": "red"}, "a row of readouts has no field 'colour'"),
])
def test_what_cannot_be_read_is_refused_and_nothing_is_written(page, values, what):
    entry = first(page)
    answer = page.post(f"api/rows/{entry['number']}/change", revision=entry["revision"], values={"unit": "kPa", **values})
    assert (answer.status_code, answer.json()["what"]) == (422, what)
    assert page.row(entry["number"])["revision"] == entry["revision"]


def test_an_edit_against_a_stale_row_is_refused_with_the_row_as_it_is_now(session):
    with review_page(session) as one, review_page(session) as two:
        seen = first(one)
        assert two.post(f"api/rows/{seen['number']}/change", who="Bo", revision=seen["revision"], values={"value": "41"}).status_code == 200
        answer = one.post(f"api/rows/{seen['number']}/change", revision=seen["revision"], values={"value": "42"})
        assert answer.status_code == 409
        told = answer.json()
        assert told["what"] == f"row {seen['number']} was changed since you looked"
        assert {item["name"]: item["value"] for item in told["now"]["fields"]}["value"] == "41"
        assert told["now"]["deeds"][0]["who"] == "Bo"
        again = one.post(f"api/rows/{seen['number']}/change", revision=told["now"]["revision"], values={"value": "42"})
        assert again.status_code == 200
        assert [(deed["who"], deed["undone"]) for deed in two.row(seen["number"])["deeds"]] == [("Ann", False), ("Bo", False)]


@pytest.mark.parametrize("action", ["accept", "reject", "change", "split"])
def test_every_deed_on_a_row_is_refused_when_it_is_stale(page, action):
    entry = first(page)
    page.post(f"api/rows/{entry['number']}/accept", revision=entry["revision"])
    more = {"change": {"values": {"value": "1"}}, "split": {"parts": [{"value": "1"}, {"value": "2"}]}}.get(action, {})
    assert page.post(f"api/rows/{entry['number']}/{action}", revision=entry["revision"], **more).status_code == 409


def test_rejecting_takes_a_row_out_of_the_tables_and_undo_brings_it_back(page, session):
    entry = first(page)
    now = page.post(f"api/rows/{entry['number']}/reject", revision=entry["revision"]).json()["rows"][0]
    assert now["state"] == "rejected"
    assert entry["number"] in numbers(page.get("api/rows", shown="rejected"))
    with SessionStore.open(session, read_only=True) as store:
        assert entry["number"] not in {row.number for row in store.rows()}
    back = page.post("api/undo").json()
    assert [(row["number"], row["state"], row["certainty"]) for row in back["rows"]] == [(entry["number"], "standing", entry["certainty"])]


def test_splitting_and_taking_it_back(page):
    entry = first(page)
    made = page.post(f"api/rows/{entry['number']}/split", revision=entry["revision"], parts=[{"value": "4"}, {"value": "8", "unit": "V"}]).json()["rows"]
    assert [page.fields(row["number"])["value"] for row in made] == ["4", "8"]
    assert made[0]["number"] == entry["number"]
    back = page.post("api/undo").json()
    assert back["gone"] == [made[1]["number"]]
    assert page.fields(entry["number"])["value"] == {item["name"]: item["value"] for item in entry["fields"]}["value"]
    assert page.ask("GET", f"api/rows/{made[1]['number']}").status_code == 404


def test_merging_keeps_the_first_and_gains_the_evidence_of_the_others(page):
    one, two = page.get("api/rows", kind="readouts")["entries"][:2]
    given = [{"number": row["number"], "revision": row["revision"]} for row in (one, two)]
    kept, gone = page.post("api/merge", rows=given).json()["rows"]
    assert (kept["number"], kept["state"], gone["state"]) == (one["number"], "standing", "rejected")
    assert len(kept["evidence"]) == len(one["evidence"]) + len(two["evidence"])
    assert page.post("api/merge", rows=[given[0], given[0]]).json()["what"] == "a row cannot be merged with itself"


def test_rows_of_one_sound_are_accepted_in_one_deed_or_not_at_all(page):
    rows = page.get("api/rows", kind="readouts")["entries"][:3]
    given = [{"number": row["number"], "revision": row["revision"]} for row in rows]
    assert page.post(f"api/rows/{given[2]['number']}/change", revision=given[2]["revision"], values={"value": "1"}).status_code == 200
    assert page.post("api/accept", rows=given).status_code == 409
    assert [page.row(item["number"])["certainty"] == HEARD for item in given] == [False, False, True]
    assert [row["certainty"] for row in page.post("api/accept", rows=given[:2]).json()["rows"]] == [HEARD, HEARD]
    assert [row["number"] for row in page.post("api/undo").json()["rows"]] == [item["number"] for item in given[:2]]
    assert [page.row(item["number"])["certainty"] == HEARD for item in given] == [False, False, True]
    assert page.post("api/accept", rows=[]).status_code == 422


def test_the_list_ends_with_the_talk_that_gave_no_row(page):
    kinds = [entry["number"] is None for entry in page.get("api/rows", limit=200)["entries"]]
    assert kinds == sorted(kinds)
    assert 0 < sum(kinds) < len(kinds)


def test_a_row_by_hand_over_marked_sound_carries_its_words_loop_and_time(page, session):
    place = first(page, kind="no row")
    clip = place["clip"]
    answer = page.post("api/add", kind="qualitative", place={key: clip[key] for key in ("recording", "channel", "start", "end")},
                       values={"parameter": "radio", "state": "unreadable"}, station="Medic")
    made = answer.json()["rows"][0]
    assert (made["loop"], made["station"], made["certainty"], made["kind"]) == (place["loop"], "Medic", HEARD, "qualitative")
    assert made["evidence"][0]["text"] == "say again"
    assert made["start_s"] == pytest.approx(clip["start"] / 16_000)
    with SessionStore.open(session, read_only=True) as store:
        assert {item.origin for item in standing(store.db, made["number"]).row.fields.values()} == {"person"}


def test_where_there_is_no_sound_a_row_is_made_from_a_turn(page, session):
    made = page.post("api/add", kind="ratings", place={"turn": 9}, values={"axis": "noise", "value": "4.0", "condition.hand": "left"}).json()["rows"][0]
    assert (made["station"], made["loop"], made["evidence"][0]["text"], made["time"]) == ("Summit", "Cabin", "say again", "0:00:18")
    with SessionStore.open(session, read_only=True) as store:
        row = standing(store.db, made["number"]).row
    assert (str(row.get("value")), row.get("condition")) == ("4.0", {"hand": "left"})


@pytest.mark.parametrize(("body", "what"), [
    ({"kind": "tunes", "place": {"turn": 1}, "values": {"x": "1"}}, "there is no kind of row named 'tunes'"),
    ({"kind": "readouts", "place": {}, "values": {"value": "1"}}, "no sound is marked for the new row"),
    ({"kind": "readouts", "place": {"recording": "r9", "start": 0, "end": 10}, "values": {"value": "1"}}, "the session has no such sound"),
    ({"kind": "readouts", "place": {"recording": "r1", "start": 10, "end": 10}, "values": {"value": "1"}},
     "a mark is at most 60 s of the recording, its start before its end"),
    ({"kind": "readouts", "place": {"turn": 1}, "values": {"value": ""}}, "a row says something: at least one field is filled"),
])
def test_a_row_by_hand_that_cannot_be_is_refused(page, body, what):
    answer = page.post("api/add", **body)
    assert (answer.status_code, answer.json()["what"]) == (422, what)


def test_a_place_without_a_row_is_heard_once_for_every_window_and_can_be_taken_back(session):
    with review_page(session) as one, review_page(session) as two:
        place = first(one, kind="no row")
        assert one.post("api/heard", place=place["place"]).json()["rows"][0]["certainty"] == HEARD
        assert two.get("api/rows", keys=place["key"])["entries"][0]["heard_by"]["who"] == "Ann"
        assert place["key"] not in {entry["key"] for entry in two.get("api/rows", shown="left", limit=200)["entries"]}
        two.post("api/heard", place=place["place"], heard=False)
        assert one.get("api/session")["counts"]["places_heard"] == 0


def test_undo_takes_back_the_persons_own_last_deed_only(page):
    one, two = page.get("api/rows", kind="readouts")["entries"][:2]
    page.post(f"api/rows/{one['number']}/accept", revision=one["revision"], who="Ann")
    page.post(f"api/rows/{two['number']}/accept", revision=two["revision"], who="Bo")
    assert [row["number"] for row in page.post("api/undo", who="Ann").json()["rows"]] == [one["number"]]
    assert page.row(two["number"])["certainty"] == HEARD
    assert page.post("api/undo", who="Ann").json()["what"] == "there is nothing to undo"


def test_nobody_edits_without_a_name(page):
    entry = first(page)
    for who in ("", "   ", None):
        assert page.post(f"api/rows/{entry['number']}/accept", who=who, revision=entry["revision"]).status_code == 422


# other windows, and the seal


def test_changes_of_another_process_are_seen_by_the_token_and_in_the_list(session):
    with review_page(session) as page:
        token = page.get("api/session")["token"]
        assert page.get("api/changes", since=token) == {"token": token, "changed": False}
        entry = first(page)
        with review_page(session) as other:
            other.post(f"api/rows/{entry['number']}/reject", who="Bo", revision=entry["revision"])
        told = page.get("api/changes", since=token)
        assert told["changed"]
        assert (told["counts"]["rejected"], told["last"][0]["who"]) == (1, "Bo")
        assert page.get("api/rows", keys=entry["key"])["entries"][0]["state"] == "rejected"


def test_a_new_pass_is_taken_in(session):
    with review_page(session) as page:
        with SessionStore.open(session) as store:
            rows = store.rows()
            made = store.begin_pass({"words": "again"}, {}, {})
            store.save_rows(made.number, rows[:5])
            store.finish_pass(made.number)
        assert page.get("api/rows", limit=200)["total"] == 5


def test_sign_off_counts_what_was_heard_and_a_later_edit_breaks_it(page):
    one, two = page.get("api/rows", kind="readouts")["entries"][:2]
    page.post(f"api/rows/{one['number']}/accept", revision=one["revision"])
    token = page.get("api/session")["token"]
    seal = page.post("api/sign", token=token).json()["seal"]
    assert (seal["who"], seal["heard"], seal["not_heard"], seal["broken"]) == ("Ann", 1, 53, False)
    page.post(f"api/rows/{two['number']}/accept", revision=two["revision"])
    assert page.get("api/session")["seal"] == seal | {"broken": True}


def test_nobody_signs_what_they_have_not_seen(page):
    token = page.get("api/session")["token"]
    entry = first(page)
    page.post(f"api/rows/{entry['number']}/accept", who="Bo", revision=entry["revision"])
    answer = page.post("api/sign", token=token)
    assert (answer.status_code, answer.json()["what"]) == (409, "the session was changed since you looked")
    assert page.get("api/session")["seal"] is None


def test_sheet_and_tables_are_written_as_the_session_stands_with_its_seal(page, session):
    entry = first(page)
    page.post(f"api/rows/{entry['number']}/change", revision=entry["revision"], values={"value": "41.70"})
    page.post("api/sign", token=page.get("api/session")["token"])
    answer = page.ask("POST", "api/write", json={})
    assert answer.json()["folder"] == str(session.absolute())
    with (session / "readouts.csv").open(newline="", encoding="utf-8") as file:
        rows = {row["row"]: row for row in csv.DictReader(file)}
    assert (rows[str(entry["number"])]["value"], rows[str(entry["number"])]["certainty"]) == ("41.70", HEARD)
    assert "Signed</strong> by Ann" in (session / "sheet.html").read_text(encoding="utf-8")


def test_what_the_session_excludes_is_silent(session):
    with SessionStore.open(session) as store, store.db.writing():
        store.db.run("UPDATE stretches SET \"end\" = 160000 WHERE channel = 0")
        store.db.run("INSERT INTO stretches SELECT pass, recording, channel, idx, 160000, 960000, 'excluded', 'asked for' FROM stretches WHERE channel = 0")
    with review_page(session) as page:
        entries = page.get("api/rows", order="time", kind="readouts", loop="Winch", limit=200)["entries"]
        heard = {entry["start_s"]: any(clip_of(page, entry).content[44:]) for entry in entries}
    assert {start_s for start_s, any_sound in heard.items() if not any_sound} == {start_s for start_s in heard if 10 <= start_s < 60}


def test_drawings_link_to_rows_and_follow_the_filter(page):
    answer = page.ask("GET", "plots", params={"station": "Winch"})
    assert answer.text.count("<figure>") == 1
    assert "rope tension, kN" in answer.text
    assert 'href="#r1"' in answer.text


def test_a_store_in_which_nothing_was_found_yet_opens(tmp_path):
    SessionStore.create(tmp_path / "new").close()
    with review_page(tmp_path / "new") as page:
        assert page.get("api/rows")["total"] == 0
        assert page.get("api/talk", turn=3)["turns"] == []
        assert page.get("api/session")["counts"]["rows"] == 0
        assert page.ask("GET", "plots").status_code == 200
        assert page.ask("GET", "").status_code == 200


def test_a_folder_without_a_store_is_refused_in_words(tmp_path):
    with pytest.raises(StoreError, match="no session store"), review_page(tmp_path):
        pass
