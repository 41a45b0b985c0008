"""Many hands on one store through two programs at once: every edit that was confirmed is there, none that was refused is, none is overwritten."""
import random
import threading

import httpx
from review_client import served
from review_session import Size, make_session

from debrief.store import edits
from debrief.store.sessions import SessionStore

HANDS, TRIES, ROWS = 4, 12, (1, 2, 3)


def hand(name: str, address: str, cookie: str, told: list[tuple[int, str, str]]) -> None:
    """One person: looks at a row, thinks a little, and changes it; what was confirmed goes into told."""
    chance = random.Random(name)
    own = address.rsplit("/", 1)[0]
    with httpx.Client(headers={"cookie": cookie, "origin": own}, timeout=30) as client:
        for turn in range(TRIES):
            number = chance.choice(ROWS)
            seen = client.get(f"{address}/api/rows/{number}").json()
            value = f"{turn}.{HANDS}{name[-1]}"
            answer = client.post(f"{address}/api/rows/{number}/change", json={"who": name, "revision": seen["revision"], "values": {"value": value}})
            assert answer.status_code in (200, 409), answer.text
            if answer.status_code == 200:
                told.append((number, name, value))


def test_no_confirmed_edit_is_lost_and_no_refused_one_is_written(tmp_path):
    folder = make_session(tmp_path / "run", Size(10))
    told: list[tuple[int, str, str]] = []
    with served(folder) as (one, rooms_one), served(folder) as (two, rooms_two):
        doors = [(one, rooms_one), (two, rooms_two)] * (HANDS // 2)
        hands = [threading.Thread(target=hand, args=(f"person {i}", address, f"{rooms.keys.name}={rooms.keys.cookie}", told))
                 for i, (address, rooms) in enumerate(doors)]
        for thread in hands:
            thread.start()
        for thread in hands:
            thread.join()
    with SessionStore.open(folder) as store:
        written = store.db.all("SELECT number, who, became FROM edits ORDER BY edit")
        values = [(item["number"], item["who"], str(edits.row_in(item["became"]).get("value"))) for item in written]
        assert sorted(values) == sorted(told)
        for number in ROWS:
            assert str(edits.standing(store.db, number).row.get("value")) == [value for row, _, value in values if row == number][-1]
        before = {number: None for number in ROWS}
        for item in store.db.all("SELECT number, saw, became FROM edits ORDER BY edit"):  # each edit was made on what the one before it left
            assert before[item["number"]] in (None, item["saw"])
            before[item["number"]] = item["became"]
        assert store.db.integrity_faults() == []
    assert HANDS * TRIES > len(told) > TRIES
