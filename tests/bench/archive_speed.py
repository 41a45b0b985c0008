"""How fast an archive fills and answers: python tests/bench/archive_speed.py FOLDER [SESSIONS] (2000 sessions are 20 000 hours, 0 asks
an archive that is there).

Fills an archive with made-up sessions (archive_talk.py), writes the same talk and rows to Parquet, and times twelve questions cold (file
dropped from the system's cache, new connection) and warm, beside pandas over the Parquet files and, where it is installed, DuckDB.
A question is timed twice over: found and put in the order of time, and with its first fifty places ready to be shown. Pandas and DuckDB
do the first alone: filter, order, the first fifty. One process. Prints a table and writes FOLDER/archive_speed.json. Times on shared
cores move: compare only within one run, and by processor time.
"""
import json
import os
import resource
import statistics
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
from archive_talk import sessions

from debrief.archive.finding import find
from debrief.archive.places import places
from debrief.archive.query import Query, amount, instant
from debrief.archive.shape import Archive, archive_file
from debrief.archive.writing import Entry, Writer, tidy

QUESTIONS: Mapping[str, Query] = {
    "rare word": Query("hydrazine"), "common word": Query("roger"), "phrase": Query('"possible leak"'), "near": Query("leak NEAR valve"),
    "prefix": Query("delam*"), "sounds like": Query("hydrosene", sounds_like=True), "word and station": Query("leak", stations=("Medic",)),
    "first mention": Query("pinhole", first="archive"), "word in a year": Query("frostbite", utc_from=instant("2003-01-01"), utc_to=instant("2004-01-01")),
    "values below": Query(parameter="cabin pressure", high=amount("5 psi")),
    "values between": Query(parameter="cabin pressure", low=amount("4 psi"), high=amount("30 kPa"), inclusive=True),
    "who answered": Query(fields=(("answer", "no go"),)),
}
VALUES = ("values below", "values between", "who answered")
ROUNDS, COLD_ROUNDS, SCANS = 40, 7, 3


def fill(folder: Path, count: int) -> dict[str, object]:
    shares, busy, worked, start = [], 0.0, 0.0, time.perf_counter()
    turns = 0
    with Archive.create(folder) as archive:
        writer = Writer(archive)
        for number, (header, pieces) in enumerate(sessions(count)):
            begin, begun = time.perf_counter(), time.process_time()
            with archive.writing():
                entry = Entry(writer, header)
                for piece in pieces:
                    entry.take(piece)
                entry.end()
            busy += time.perf_counter() - begin
            worked += time.process_time() - begun
            turns += entry.end_turn - entry.first_turn
            if (number + 1) % max(1, count // 10) == 0:
                shares.append((round(busy, 1), round(worked, 1)))
                print(f"{number + 1} sessions, {turns} utterances: "
                      f"{turns / busy:.0f} a second ({turns / worked:.0f} of processor time), "
                      f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB, {time.perf_counter() - start:.0f} s in all", flush=True)
        begin = time.perf_counter()
        tidy(archive)
        tidied = time.perf_counter() - begin
    size = archive_file(folder).stat().st_size
    return {"sessions": count, "utterances": turns, "utterances_per_s": turns / busy, "utterances_per_cpu_s": turns / worked, "tidy_s": tidied,
            "bytes_per_utterance": size / turns,
            "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "seconds_and_cpu_seconds_by_tenth": shares}


TABLES = {
    "talk": "SELECT session, s.text AS station, l.text AS loop, start_ms, t.text AS text FROM turns AS t LEFT JOIN names AS s ON s.name = station "
            "LEFT JOIN names AS l ON l.name = loop",
    "rows": "SELECT session, start_ms, k.text AS kind, a.text AS about, d.text AS dimension, low, high, measured FROM rows JOIN names AS k ON k.name = kind "
            "LEFT JOIN labels AS a ON a.label = about LEFT JOIN names AS d ON d.name = dimension"}


def write_parquet(folder: Path) -> None:
    """The talk and the rows of the archive as Parquet files, for the comparison."""
    with Archive.open(folder, read_only=True) as archive:
        for name, sql in TABLES.items():
            cursor = archive.connection.execute(sql)
            columns = [item[0] for item in cursor.description]
            writer = None
            while items := cursor.fetchmany(200_000):
                table = pa.table({column: [item[i] for item in items] for i, column in enumerate(columns)})
                writer = writer or pq.ParquetWriter(folder / f"{name}.parquet", table.schema)
                writer.write_table(table)
            if writer:
                writer.close()


def _drop(path: Path) -> None:
    """Out of the system's cache."""
    handle = os.open(path, os.O_RDONLY)
    os.fsync(handle)
    os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
    os.close(handle)


def _spread(times: Sequence[float]) -> tuple[float, float]:
    """Median and 95th percentile."""
    return statistics.median(times), sorted(times)[round(0.95 * (len(times) - 1))]


def ask(folder: Path) -> dict[str, dict[str, float]]:
    found = {}
    for name, query in QUESTIONS.items():
        cold = []
        for _ in range(COLD_ROUNDS):
            _drop(archive_file(folder))
            with Archive.open(folder, read_only=True) as archive:
                cold.append(_timed(lambda: len(places(archive, find(archive, query))))[0])  # noqa: B023 - called at once
        with Archive.open(folder, read_only=True) as archive:
            answer = find(archive, query)
            alone = [_timed(lambda: find(archive, query).counted) for _ in range(ROUNDS)]  # noqa: B023
            shown = [_timed(lambda: len(places(archive, find(archive, query)))) for _ in range(ROUNDS)]  # noqa: B023
        made = {"counted": answer.counted, "shown": shown[0][2]}
        for what, times in (("cold", cold), ("found", [t[0] for t in alone]), ("found_cpu", [t[1] for t in alone]),
                            ("warm", [t[0] for t in shown]), ("cpu", [t[1] for t in shown])):
            made |= dict(zip((f"{what}_median_ms", f"{what}_p95_ms"), _spread(times), strict=True))
        found[name] = made
        print(f"{name:18} {answer.counted:>6} found  " + "  ".join(
            f"{what} {made[what + '_median_ms']:.1f}/{made[what + '_p95_ms']:.1f}" for what in ("cold", "warm", "cpu", "found_cpu")), flush=True)
    return found


def _timed(work: Callable[[], int]) -> tuple[float, float, int]:
    """Milliseconds of the clock and of the processor, and what was found."""
    begin, begun = time.perf_counter(), time.process_time()
    count = work()
    return 1000 * (time.perf_counter() - begin), 1000 * (time.process_time() - begun), count


def scan(folder: Path) -> dict[str, dict[str, float]]:
    """The same rare word and the same values by scanning Parquet, the best of SCANS; the columns that are needed and no more."""
    talk, rows = folder / "talk.parquet", folder / "rows.parquet"
    psi5 = amount("5 psi").value

    def pandas_word() -> int:
        hits = [part[part["text"].str.contains(r"\bhydrazine\b", case=False)] for part in (
            batch.to_pandas() for batch in pq.ParquetFile(talk).iter_batches(250_000, columns=["session", "start_ms", "text"]))]
        found = pd.concat(hits).sort_values(["session", "start_ms"])
        return len(found) if len(found.head(50)) else 0

    def pandas_value() -> int:
        frame = pd.read_parquet(rows, columns=["session", "start_ms", "about", "dimension", "low", "measured"])
        found = frame[(frame["dimension"] == "pressure") & frame["about"].str.contains("cabin pressure") & (frame["low"] < psi5) & (frame["measured"] == 1)]
        found = found.sort_values(["session", "start_ms"])
        return len(found) if len(found.head(50)) else 0

    works: dict[str, dict[str, Callable[[], int]]] = {"pandas": {"word": pandas_word, "value": pandas_value}}
    with suppress(ImportError):
        works["duckdb"] = _duckdb(talk, rows, psi5)
    found: dict[str, dict[str, float]] = {}
    for system, asked in works.items():
        for what, work in asked.items():
            best = min((_timed(work) for _ in range(SCANS)), key=lambda times: times[1])
            found.setdefault(system, {}).update(zip((f"{what}_ms", f"{what}_cpu_ms", f"{what}_found"), best, strict=True))
    return found


def _duckdb(talk: Path, rows: Path, psi5: float) -> dict[str, Callable[[], int]]:
    import duckdb

    base = duckdb.connect()
    base.execute("SET threads = 1")
    word = f"SELECT * FROM '{talk}' WHERE regexp_matches(text, '(?i)\\bhydrazine\\b') ORDER BY session, start_ms"
    value = (f"SELECT session, start_ms, about, low FROM '{rows}' WHERE dimension = 'pressure' AND about LIKE '%cabin pressure%' AND low < {psi5!r} "
             "AND measured = 1 ORDER BY session, start_ms")
    return {"word": lambda: len(base.execute(word).fetchall()), "value": lambda: len(base.execute(value).fetchall())}


def _stands(folder: Path) -> dict[str, object]:
    """What an archive that was filled before holds."""
    with Archive.open(folder) as archive:
        begin = time.perf_counter()
        tidy(archive)
        count = [archive.one(f"SELECT count(*) AS n FROM {table}")["n"] for table in ("sessions", "turns", "rows")]
    size = archive_file(folder).stat().st_size
    return {"sessions": count[0], "utterances": count[1], "rows": count[2], "tidy_s": time.perf_counter() - begin, "bytes_per_utterance": size / count[1]}


def main() -> None:
    folder, count = Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 100
    folder.mkdir(parents=True, exist_ok=True)
    made = {"fill": fill(folder, count) if count else _stands(folder)}
    print(json.dumps(made["fill"]), flush=True)
    made["ask"] = ask(folder)
    if count or not (folder / "rows.parquet").exists():
        write_parquet(folder)
    made["scan"] = scan(folder)
    print(json.dumps(made["scan"]))
    slowest = {kind: max(made["ask"][name]["warm_p95_ms"] for name in QUESTIONS if (name in VALUES) == (kind == "values")) for kind in ("words", "values")}
    print("slowest warm 95th percentile: " + ", ".join(f"{kind} {most:.1f} ms" for kind, most in slowest.items()))
    for what, name in (("word", "rare word"), ("value", "values below")):
        ours, theirs = made["ask"][name], made["scan"]["pandas"]
        print(f"{what}: pandas takes {theirs[what + '_cpu_ms'] / ours['found_cpu_median_ms']:.0f} x the processor time of finding, "
              f"{theirs[what + '_cpu_ms'] / ours['cpu_median_ms']:.0f} x that of finding and showing; "
              f"by the clock {theirs[what + '_ms'] / ours['warm_median_ms']:.0f} x")
    (folder / "archive_speed.json").write_text(json.dumps(made, indent=1) + "\n")


if __name__ == "__main__":
    main()
