"""Offset and rate of later recordings from sound they share with the first: how far from the truth that the labels state.

    python tests/bench/clock_of_copies.py SESSION.toml FOLDER_OF_RECORDINGS LABELS.json

LABELS.json: meta.recordings, for each file `file`, `offset_s`, `rate`. Needs no recogniser.
"""
import json
import sys
import time
from pathlib import Path

from debrief.hearing.copies import refine_clocks
from debrief.hearing.recordings import open_recordings
from debrief.hearing.speech_spans import account
from debrief.session import load_session


def main(session_file: Path, folder: Path, labels: Path) -> None:
    session, _ = load_session(session_file)
    recordings = open_recordings(session, session_file.parent, folder, digests=False)
    begin = time.perf_counter()
    accounts = {source: held for recording in recordings for source, held in account(recording).items()}
    counted = time.perf_counter()
    meta = json.loads(labels.read_text(encoding="utf-8"))["meta"]["recordings"]
    true = {Path(item["file"]).name: item for item in meta}
    for stated, found in zip(recordings, refine_clocks(recordings, accounts), strict=True):
        item = true[Path(found.path).name]
        print(f"{Path(found.path).name}: offset {found.clock.offset_s - item['offset_s']:+.3f} s off (stated {stated.clock.offset_s - item['offset_s']:+.3f}), "
              f"rate {1e6 * (found.clock.rate - item['rate']):+.1f} ppm off; {'; '.join(found.notes) or 'as stated'}")
    print(f"account {counted - begin:.0f} s, clocks {time.perf_counter() - counted:.0f} s")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:4]))
