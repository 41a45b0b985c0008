"""Who may reach the review page: the start's secret, the Host, the Origin, limits, and nothing outside the session."""
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import suppress

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from review_client import OWN, review_page, served
from review_session import Size, make_session

from debrief.desk.page.description import description
from debrief.desk.page.guard import Bucket, Limits


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return make_session(tmp_path_factory.mktemp("page") / "run", Size(20))


@pytest.fixture(scope="module")
def page(folder):
    with review_page(folder, limits=Limits(per_s=1e9, burst=1e9)) as made:
        yield made


# the secret


def test_the_secret_is_exchanged_for_a_strict_cookie_that_scripts_cannot_read(page):
    keys = page.rooms.keys
    answer = page.ask("GET", "open", params={"key": keys.secret}, headers={"cookie": None, "sec-fetch-site": "cross-site"})
    assert answer.status_code == 200
    assert answer.headers["set-cookie"] == f"{keys.name}={keys.cookie}; Path=/{keys.path}/; HttpOnly; SameSite=Strict"
    assert keys.secret not in answer.text
    assert 'http-equiv="refresh" content="0; url=./"' in answer.text


def test_each_start_makes_its_own_path_secret_cookie_and_name(folder):
    with review_page(folder) as one, review_page(folder) as two:
        a, b = one.rooms.keys, two.rooms.keys
        assert len({a.path, b.path, a.secret, b.secret, a.cookie, b.cookie}) == 6
        assert a.name != b.name
        assert min(len(a.secret), len(a.cookie)) >= 43


@pytest.mark.parametrize("cookie", [None, "", "debrief=1", "{name}=wrong", "{name}=", "{name}={cookie}x", "=;;;", "\xff"])
@pytest.mark.parametrize("path", ["", "api/session", "static/review.js", "sound/r1/0/0-100.wav", "plots", "api/description", "nothing"])
def test_without_the_cookie_nothing_is_given_out(page, path, cookie):
    given = None if cookie is None else cookie.format(name=page.rooms.keys.name, cookie=page.rooms.keys.cookie).encode("latin-1")
    answer = page.ask("GET", path, headers={"cookie": given})
    assert (answer.status_code, answer.json()["error"]) == (403, "no key")
    assert "set-cookie" not in answer.headers


def test_wrong_keys_are_refused_and_after_many_the_door_stays_shut_for_wrong_ones(folder):
    with review_page(folder) as page:
        tries = [page.ask("GET", "open", params={"key": f"guess{i}"}, headers={"cookie": None}).status_code for i in range(14)]
        assert tries == [403] * 10 + [429] * 4
        assert page.ask("GET", "open", params={"key": page.rooms.keys.secret}, headers={"cookie": None}).status_code == 200


def test_an_invitation_opens_once_and_for_a_minute_only(folder, monkeypatch):
    with review_page(folder) as page:
        def opened(key):
            return page.ask("GET", "open", params={"key": key}, headers={"cookie": None}).status_code

        once, late = page.app.invite(), page.app.invite()
        assert once != page.rooms.keys.secret
        assert [opened(once), opened(once)] == [200, 403]
        monkeypatch.setattr("debrief.desk.page.guard.INVITED_S", -1.0)
        assert opened(page.app.invite()) == 403
        assert opened(late) == 200


# Host, Origin, site


@pytest.mark.parametrize("host", ["localhost:8765", "127.0.0.1", "127.0.0.1:80", "evil.example:8765", "127.0.0.1:8765.evil.example", "[::1]:8765", "0.0.0.0:8765"])
def test_another_host_name_is_refused(page, host):
    """DNS rebinding: a foreign name that points at this machine reaches the port, but names itself as the Host."""
    answer = page.ask("GET", "api/session", headers={"host": host})
    assert (answer.status_code, answer.json()["error"]) == (421, "wrong host")


@pytest.mark.parametrize("origin", [None, "null", "http://evil.example", "http://127.0.0.1", "http://localhost:8765", "https://127.0.0.1:8765",
                                    OWN + ".evil.example"])
def test_a_deed_that_another_site_sends_is_refused_even_with_the_cookie(page, origin):
    row = page.row(1)
    answer = page.ask("POST", "api/rows/1/reject", json={"who": "Ann", "revision": row["revision"]}, headers={"origin": origin})
    assert (answer.status_code, answer.json()["error"]) == (403, "wrong origin")
    assert page.row(1)["state"] == "standing"


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_reading_that_another_site_starts_is_refused(page, site):
    assert page.ask("GET", "api/session", headers={"sec-fetch-site": site}).json()["error"] == "wrong site"


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_a_form_cannot_send_a_deed(page, kind):
    answer = page.ask("POST", "api/undo", content=b'{"who":"Ann"}', headers={"content-type": kind})
    assert answer.status_code == 415


def test_another_machine_is_refused_whatever_it_holds(page):
    assert page.ask("GET", "api/session", client="192.0.2.7").json()["error"] == "not from here"


# headers


@pytest.mark.parametrize("path", ["", "api/session", "static/review.css", "nothing", "api/rows/99999", "sound/r9/0/0-1.wav"])
def test_every_answer_carries_the_policy(page, path):
    headers = page.ask("GET", path).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert "unsafe" not in headers["content-security-policy"]
    assert (headers["x-content-type-options"], headers["referrer-policy"], headers["cache-control"]) == ("nosniff", "no-referrer", "no-store")
    assert "server" not in headers


def test_the_page_asks_for_nothing_from_elsewhere_and_holds_no_script_or_style_of_its_own(page):
    text = page.ask("GET", "").text
    assert not re.findall(r"(?:src|href|action)=\"(?!static/|#|\./)", text)
    assert not re.search(r"<script(?![^>]*src=)|<style|\sstyle=|\son\w+=", text)
    for name in re.findall(r'static/([\w.]+)', text):
        assert page.ask("GET", f"static/{name}").status_code == 200


def test_every_module_that_the_scripts_import_is_given_out_and_none_makes_markup_of_text(page):
    seen, left = set(), {"review.js"}
    while left:
        name = left.pop()
        answer = page.ask("GET", f"static/{name}")
        assert answer.status_code == 200, name
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|https?://", answer.text), name
        seen.add(name)
        left |= set(re.findall(r'from "\./([\w.]+)"', answer.text)) - seen
    assert len(seen) == 10


# nothing outside, limits


@pytest.mark.parametrize("path", ["static/", "static", "static/../app.py", "static/..%2fapp.py", "static/%2e%2e/%2e%2e/app.py", "static//etc/passwd",
                                  "static/review.js/", "../../etc/passwd", "..%2f..%2fetc%2fpasswd", "api", "api/", "static/sheet.js", "static/app.py"])
def test_no_path_leads_outside_and_no_folder_is_listed(page, path):
    answer = page.ask("GET", page.base + path)
    assert answer.status_code in (403, 404)
    assert "import" not in answer.text


@pytest.mark.parametrize("number", ["0", "999999999999999", "9" * 30, "9" * 5_000, "-1", "1e3", "%31%00"])
def test_numbers_that_no_row_has_are_no_fault(page, number):
    assert page.ask("GET", f"api/rows/{number}").status_code == 404


def test_other_methods_are_refused(page):
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        answer = page.ask(method, "api/session")
        assert answer.status_code == 405
        assert "access-control-allow-origin" not in answer.headers


def test_long_requests_and_addresses_are_refused(page):
    assert page.ask("POST", "api/undo", content=b"{" + b" " * 70_000, headers={"content-type": "application/json"}).status_code == 413
    assert page.ask("GET", "api/rows", params={"words": "a" * 7_000}).status_code == 414

    async def pieces():
        for _ in range(80):
            yield b" " * 1_000

    assert page.ask("POST", "api/undo", content=pieces(), headers={"content-type": "application/json"}).status_code == 413


def test_a_flood_is_refused(folder):
    with review_page(folder, limits=Limits(per_s=1, burst=20)) as page:
        answers = [page.ask("GET", "api/changes").status_code for _ in range(30)]
    assert answers[:20] == [200] * 20
    assert set(answers[22:]) == {429}


def test_a_bucket_fills_again():
    now = [0.0]
    bucket = Bucket(2, 3, lambda: now[0])
    assert [bucket.take() for _ in range(4)] == [True, True, True, False]
    now[0] = 1.0
    assert [bucket.take() for _ in range(3)] == [True, True, False]


# hostile text


HOSTILE = '<img src=x onerror=alert(1)>"\'&{{7*7}}\u202e</script>\x07'


def test_hostile_text_stays_text_and_comes_back_as_it_was(page):
    entry = page.get("api/rows", order="time", kind="readouts")["entries"][3]
    answer = page.post(f"api/rows/{entry['number']}/change", who=HOSTILE[:60], revision=entry["revision"], values={"subject": HOSTILE})
    assert answer.status_code == 200
    assert page.fields(entry["number"])["subject"] == HOSTILE
    assert page.row(entry["number"])["deeds"][0]["who"] == HOSTILE[:60]
    drawn = page.ask("GET", "plots").text
    assert "<img" not in drawn


ANY_JSON = st.recursive(st.none() | st.booleans() | st.integers() | st.text(max_size=8),
                        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3))


@given(body=st.one_of(st.binary(max_size=200), ANY_JSON.map(lambda value: json.dumps(value).encode())))
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_body_makes_a_deed_fail_with_a_fault_of_ours(page, body):
    for path in ("api/rows/2/change", "api/accept", "api/merge", "api/add"):
        answer = page.ask("POST", path, content=body, headers={"content-type": "application/json"})
        assert answer.status_code == 422
        assert set(answer.json()) >= {"error", "what", "todo"}


# the interface's own description


def test_the_description_names_every_route_and_no_other(page):
    described = set(page.get("api/description")["paths"])
    app = page.app.app
    routes = {re.sub(r":\w+}", "}", route.path) for mount in app.routes for route in mount.routes}
    assert routes - described == {"/", "/open", "/static/{name}", "/plots", "/api/description"}
    assert described - routes == set()


def test_the_interface_answers_as_its_description_says(folder):
    """schemathesis sends requests, fair and foul, made from the description; status, type and shape of every answer must be ones it names."""
    counted: dict[str, int] = {}
    with served(folder, limits=Limits(per_s=1e9, burst=1e9, address=10**6)) as (address, rooms):
        own = address.rsplit("/", 1)[0]
        headers = {"cookie": f"{rooms.keys.name}={rooms.keys.cookie}", "origin": own}
        schema = schemathesis.openapi.from_dict(description())

        # the cookie is ours to test above; a request of the right shape may still be refused for what it means
        left_out = [schemathesis.checks.ignored_auth, schemathesis.checks.positive_data_acceptance]

        def tried(case):
            counted[case.operation.label] = counted.get(case.operation.label, 0) + 1
            answer = case.call(base_url=address, headers=headers)
            # 413 refuses a foul request as well as any other status does, which schemathesis does not count
            too_long = [schemathesis.checks.negative_data_rejection] if answer.status_code == 413 else []
            case.validate_response(answer, headers=headers, excluded_checks=left_out + too_long)

        quick = settings(max_examples=15, derandomize=True, suppress_health_check=list(HealthCheck), database=None)
        for found in schema.get_all_operations():
            few = settings(quick, max_examples=1) if found.ok().path == "/api/write" else quick
            for mode in schemathesis.GenerationMode:
                with suppress(Unsatisfiable):  # a route without anything to say has no foul requests
                    few(given(case=found.ok().as_strategy(generation_mode=mode))(tried))()
    assert len(counted) == 19
    assert sorted(counted.values())[2:] == [30] * 17


# the verb


def test_the_verb_serves_on_loopback_only_and_ends_with_a_signal(folder):
    command = [sys.executable, "-c", "from debrief.cli import main; main()", "review", str(folder), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}) as server:
        try:
            _serves(re.search(r"http://127\.0\.0\.1:(\d+)/[\w-]+/open\?key=[\w-]+", server.stdout.readline()))
            server.send_signal(signal.SIGINT)
            server.wait(timeout=20)
        finally:
            server.kill()


def _serves(address):
    with urllib.request.urlopen(address[0], timeout=10) as answer:
        assert answer.status == 200
        assert "server" not in {name.lower() for name in answer.headers}
    with pytest.raises(urllib.error.HTTPError, match="403") as refused:
        urllib.request.urlopen(address[0].split("/open")[0] + "/api/session", timeout=10)
    refused.value.close()
    own = socket.gethostbyname(socket.gethostname())
    if not own.startswith("127."):
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((own, int(address[1])), timeout=2)


def test_the_browser_is_opened_with_a_key_that_works_once(folder, tmp_path):
    seen = tmp_path / "seen"
    browser = tmp_path / "browser.sh"
    browser.write_text(f'#!/bin/sh\necho "$1" > {seen}.part && mv {seen}.part {seen}\n')
    browser.chmod(0o755)
    command = [sys.executable, "-c", "from debrief.cli import main; main()", "review", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "BROWSER": str(browser)}) as server:
        try:
            told = server.stdout.readline().split()[-1]
            for _ in range(200):
                if seen.exists():
                    break
                time.sleep(0.05)
            address = seen.read_text().strip()
            assert address.split("key=")[0] == told.split("key=")[0]
            assert address != told
            with urllib.request.urlopen(address, timeout=10) as answer:
                assert answer.headers["set-cookie"].endswith("; HttpOnly; SameSite=Strict")
            with pytest.raises(urllib.error.HTTPError, match="403") as refused:
                urllib.request.urlopen(address, timeout=10)
            refused.value.close()
        finally:
            server.kill()


def test_a_port_that_is_taken_is_told(folder):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        command = [sys.executable, "-c", "from debrief.cli import main; main()", "review", str(folder), "--no-browser", "--port", str(taken.getsockname()[1])]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].strip() == "What to do: leave --port out, and a free one is taken"
