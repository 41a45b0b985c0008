"""Sounds without a word, 60 s each, that recognisers like to turn into words: made here, from a seed."""
from collections.abc import Iterator

import numpy as np

RATE_HZ = 16_000


def _band(sound: np.ndarray, low_hz: float = 300.0, high_hz: float = 3400.0) -> np.ndarray:
    lines = np.fft.rfft(sound)
    at = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    lines[(at < low_hz) | (at > high_hz)] = 0
    return np.fft.irfft(lines, len(sound))


def _bursts(rng: np.random.Generator, samples: int, length_s: float, every_s: float) -> np.ndarray:
    gate = np.zeros(samples)
    at = rng.uniform(0, every_s)
    while at * RATE_HZ < samples:
        gate[round(at * RATE_HZ):round((at + length_s) * RATE_HZ)] = 1
        at += every_s * rng.uniform(0.7, 1.3)
    return gate


def wordless(seconds: float = 60.0, seed: int = 1) -> Iterator[tuple[str, np.ndarray]]:
    """(name, 16 kHz float32 sound): silence, noises, tones, squelch tails, roger tones, hum, clicks."""
    rng = np.random.default_rng(seed)
    samples = round(seconds * RATE_HZ)
    time_s = np.arange(samples) / RATE_HZ
    white = rng.standard_normal(samples)
    pink_lines = np.fft.rfft(rng.standard_normal(samples)) / np.sqrt(np.maximum(1, np.arange(samples // 2 + 1)))
    pink = np.fft.irfft(pink_lines, samples)
    pink /= pink.std()
    fading = 1 + 0.6 * np.sin(2 * np.pi * 0.13 * time_s)
    beeps = _bursts(rng, samples, 0.25, 4.0) * np.sin(2 * np.pi * 2525 * time_s) \
        + _bursts(rng, samples, 0.25, 5.0) * np.sin(2 * np.pi * 2475 * time_s)
    sweep = np.sin(2 * np.pi * (400 * time_s + 300 * np.cumsum(np.sin(2 * np.pi * 0.5 * time_s)) / RATE_HZ))
    hum = sum(np.sin(2 * np.pi * 50 * n * time_s) / n for n in range(1, 9))
    pairs = _bursts(rng, samples, 0.12, 0.9) * (np.sin(2 * np.pi * 770 * time_s) + np.sin(2 * np.pi * 1336 * time_s))
    sounds = {
        "digital silence": np.zeros(samples), "white noise": 0.1 * white, "pink noise": 0.1 * pink,
        "band noise": 0.2 * _band(white), "fading band noise": 0.1 * _band(white) * fading,
        "squelch tails": 0.4 * _band(white) * _bursts(rng, samples, 0.2, 3.0) + 0.0005 * white,
        "roger tones": 0.3 * beeps + 0.003 * _band(white), "steady tone": 0.3 * np.sin(2 * np.pi * 1000 * time_s),
        "warbling tone": 0.3 * sweep + 0.003 * white, "key tones": 0.2 * pairs + 0.003 * _band(white),
        "hum": 0.2 * hum + 0.001 * white, "clicks": (rng.random(samples) < 0.0005) * rng.standard_normal(samples),
    }
    for name, sound in sounds.items():
        yield name, np.clip(sound, -1, 1).astype(np.float32)
