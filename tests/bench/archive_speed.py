"""How fast an archive fills and answers: python tests/bench/archive_speed.py FOLDER [SESSIONS] (2000 sessions are 20 000 hours, 0 asks
an archive that is there).

Fills an archive with made-up sessions (archive_talk.py), writes the same talk and rows to Parquet, and times ten questions cold (file
dropped from the system's cache, new connection) and warm, beside pandas over the Parquet files and, where it is installed, DuckDB.
One process. Prints a table and writes FOLDER/archive_speed.json. Times on shared cores move: compare only within one run.
"""
import json
import os
import resource
import statistics
import sys
import time
from collections.abc import Callable, Mapping
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
ROUNDS = 40


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
    "rows": "SELECT session, k.text AS kind, a.text AS about, d.text AS dimension, low, high, measured FROM rows JOIN names AS k ON k.name = kind "
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


def ask(folder: Path) -> dict[str, dict[str, float]]:
    found = {}
    for name, query in QUESTIONS.items():
        handle = os.open(archive_file(folder), os.O_RDONLY)
        os.fsync(handle)
        os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
        os.close(handle)
        times, worked = [], []
        with Archive.open(folder, read_only=True) as archive:
            for _ in range(ROUNDS + 1):
                begin, begun = time.perf_counter(), time.process_time()
                answer = find(archive, query)
                shown = places(archive, answer)
                worked.append(1000 * (time.process_time() - begun))
                times.append(1000 * (time.perf_counter() - begin))
        at = round(0.95 * (ROUNDS - 1))
        found[name] = {"counted": answer.counted, "shown": len(shown), "cold_ms": times[0], "median_ms": statistics.median(times[1:]),
                       "p95_ms": sorted(times[1:])[at], "cpu_median_ms": statistics.median(worked[1:]), "cpu_p95_ms": sorted(worked[1:])[at]}
        print(f"{name:18} {answer.counted:>6} found  " + "  ".join(f"{what} {number:.1f}" for what, number in found[name].items() if what.endswith("ms")),
              flush=True)
    return found


def _timed(work: Callable[[], int]) -> tuple[float, float, int]:
    """Milliseconds of the clock and of the processor, and what was found."""
    begin, begun = time.perf_counter(), time.process_time()
    count = work()
    return 1000 * (time.perf_counter() - begin), 1000 * (time.process_time() - begun), count


def scan(folder: Path) -> dict[str, dict[str, float]]:
    """The same rare word and the same values by scanning Parquet."""
    talk, rows, found = folder / "talk.parquet", folder / "rows.parquet", {}
    psi5 = amount("5 psi").value

    def pandas_word() -> int:
        return sum(int(batch.to_pandas()["text"].str.contains(r"\bhydrazine\b", case=False).sum())
                   for batch in pq.ParquetFile(talk).iter_batches(250_000, columns=["text"]))

    def pandas_value() -> int:
        frame = pd.read_parquet(rows)
        return int(((frame["dimension"] == "pressure") & frame["about"].str.contains("cabin pressure") & (frame["low"] < psi5) & (frame["measured"] == 1)).sum())

    found["pandas"] = dict(zip(("word_ms", "word_cpu_ms", "word_found"), _timed(pandas_word), strict=True)) | dict(
        zip(("value_ms", "value_cpu_ms", "value_found"), _timed(pandas_value), strict=True))
    try:
        import duckdb
    except ImportError:
        return found
    base = duckdb.connect()
    base.execute("SET threads = 1")
    word = f"SELECT count(*) FROM '{talk}' WHERE regexp_matches(text, '(?i)\\bhydrazine\\b')"
    value = f"SELECT count(*) FROM '{rows}' WHERE dimension = 'pressure' AND about LIKE '%cabin pressure%' AND low < {psi5!r} AND measured = 1"
    found["duckdb"] = {f"{name}_{what}": number for name, sql in (("word", word), ("value", value))
                       for what, number in zip(("ms", "cpu_ms", "found"), _timed(lambda sql=sql: base.execute(sql).fetchone()[0]), strict=True)}
    return found


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
    write_parquet(folder)
    made["scan"] = scan(folder)
    print(json.dumps(made["scan"]))
    words = [item["p95_ms"] for name, item in made["ask"].items() if name not in VALUES]
    print(f"words: slowest p95 {max(words):.1f} ms; values: slowest p95 {max(made['ask'][name]['p95_ms'] for name in VALUES):.1f} ms; against pandas, "
          f"medians: word {made['scan']['pandas']['word_ms'] / made['ask']['rare word']['median_ms']:.0f} x, value "
          f"{made['scan']['pandas']['value_ms'] / made['ask']['values below']['median_ms']:.0f} x")
    (folder / "archive_speed.json").write_text(json.dumps(made, indent=1) + "\n")


if __name__ == "__main__":
    main()
