"""Harm and gain of sound-alike correction.

    python tests/bench/correction_harm.py TRANSCRIPT.jsonl ... [--session SESSION.toml] [--show]

Harm: on text that is right already, words that correction changes, per words read. Each session file given is tried on every
transcript, so a plan of another trade can be tried on a talk that is right.
"""
import argparse
from pathlib import Path

from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import Session, load_session
from debrief.wording.correction import corrector_for, read_as


def changed(transcript: Path, session: Session, show: bool) -> tuple[int, int]:
    """(heard words changed, words read)."""
    segments = read_transcript(transcript, Source("r1", 0))
    corrector = corrector_for(segments, session)
    words = count = 0
    for segment in segments:
        tokens = read_as(segment)
        words += len(tokens)
        for change in corrector.changes(tokens):
            count += change.end - change.start
            if show:
                print(f"    {change.why}")
    return count, words


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("transcripts", nargs="+", type=Path)
    parser.add_argument("--session", action="append", type=Path, default=[])
    parser.add_argument("--show", action="store_true")
    given = parser.parse_args()
    sessions = [load_session(path)[0] for path in given.session] or [Session()]
    results = [changed(path, session, given.show) for session in sessions for path in given.transcripts]
    count, words = (sum(column) for column in zip(*results, strict=True))
    print(f"{count} of {words} words changed" + (f", 1 in {words // count}" if count else ""))


if __name__ == "__main__":
    main()
