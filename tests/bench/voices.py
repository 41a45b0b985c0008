"""Who speaks, by time: with no voices, with the spectrum alone, and with the network; and how pure the groups of voices are.

    python tests/bench/voices.py SETS SOUND=HEARD=NAME ...

SETS holds sessions/NAME.toml and NAME.jsonl (t, end_s, speaker: a station's short name); HEARD is recognised text of the one-channel
file SOUND. 'said': of the time of turns that were given a station, the part where it is the right one; 'right': of all talk by stations.
"""
import json
import sys
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

from debrief.harvest.conversation import cut_turns
from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.saved_transcript import read_transcript
from debrief.hearing.voice_network import load_voice_network
from debrief.hearing.voices import with_voices
from debrief.records.sound import Recording, Segment, Source
from debrief.records.talk import Turn
from debrief.session import Session, load_session
from debrief.wording.correction import corrector_for, read_as

Lines = list[dict[str, Any]]


def truth(lines: Lines, start_s: float, end_s: float) -> str | None:
    """Who speaks most of a span."""
    shared: Counter[str] = Counter()
    for line in lines:
        shared[line["speaker"]] += max(0.0, min(end_s, line["end_s"]) - max(start_s, line["t"]))
    return shared.most_common(1)[0][0] if shared and max(shared.values()) > 0 else None


def purity(segments: list[Segment], lines: Lines) -> float:
    groups: dict[str, Counter[str]] = defaultdict(Counter)
    for item in segments:
        speaker = truth(lines, item.span.start_s, item.span.end_s) if item.span and item.voice else None
        if speaker:
            groups[item.voice or ""][speaker] += item.span.duration_s if item.span else 0.0
    return sum(max(count.values()) for count in groups.values()) / max(1e-9, sum(count.total() for count in groups.values()))


def accuracy(turns: tuple[Turn, ...], lines: Lines, session: Session) -> str:
    short = {station.name: station.short for station in session.stations}
    public = {station.short for station in session.stations if station.commentary}
    time: Counter[str] = Counter()
    for turn in turns:
        speaker = truth(lines, turn.start_s or 0.0, turn.end_s or 0.0)
        if speaker and speaker not in public and not turn.commentary:
            length = (turn.end_s or 0.0) - (turn.start_s or 0.0)
            time["all"] += length
            time["given"] += length * (turn.station is not None)
            time["right"] += length * (short.get(turn.station or "") == speaker)
    return f"right {time['right'] / time['all']:.3f}, said {time['right'] / max(1e-9, time['given']):.3f}"


def measure(sets: Path, sound: Path, heard: Path, name: str) -> None:
    session, _ = load_session(sets / "sessions" / f"{name}.toml")
    lines = [json.loads(line) for line in (sets / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()]
    info = probe(sound)
    recording = Recording("r1", str(sound), "", duration_samples(info), info.rate_hz, info.channels)
    plain = list(read_transcript(heard, Source("r1", 0)))
    corrector = corrector_for(plain, session)
    tokens = {item.segment: read_as(item, corrector) for item in plain}
    network = load_voice_network()
    ways = {"none": plain, "spectrum": with_voices(plain, [recording])} | ({"network": with_voices(plain, [recording], network)} if network else {})
    for way, segments in ways.items():
        voices = len({item.voice for item in segments} - {None})
        told = f"; {voices} voices, purity {purity(segments, lines):.3f}" if voices else ""
        print(f"{name} {way}: {accuracy(cut_turns(segments, tokens, session), lines, session)}{told}", flush=True)


if __name__ == "__main__":
    for given in sys.argv[2:]:
        file, text, session_name = given.split("=")
        measure(Path(sys.argv[1]), Path(file), Path(text), session_name)
