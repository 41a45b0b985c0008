"""Recorded people from Debian packages: figures, letters and alphabet words set together at random, and a few whole sentences.

asterisk-core-sounds-en-wav (CC-BY-SA-3.0) is read where it is installed; klettres-data (GPL, letters by two speakers) and pocketsphinx-testdata
(BSD; cards, digits and prose) too. A package that is not there is passed over.
"""
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from invented_names import PHONETIC
from made_voices import RATE, Sound, trimmed
from spoken_numbers import ONES, TEENS, TENS

SHARE = Path("/usr/share")
PHRASES = SHARE / "asterisk/sounds/en_US_f_Allison"
TESTS = SHARE / "pocketsphinx/test/data"
SENTENCES = (
    ("cards/001.wav", "Ten of clubs."), ("cards/003.wav", "Seven of clubs."), ("cards/004.wav", "Five five."),
    ("cards/005.wav", "Eight of spades, four of clubs, seven of hearts."), ("goforward.raw", "Go forward ten meters."),
    ("tidigits/dhd.2934z.raw", "Two nine three four zero."),
    ("librivox/sense_and_sensibility_01_austen_64kb-0870.wav",
     "And Mister John Dashwood had then leisure to consider how much there might be prudently in his power to do for them."),
    ("librivox/sense_and_sensibility_01_austen_64kb-0880.wav", "He was not an ill-disposed young man."),
    ("librivox/sense_and_sensibility_01_austen_64kb-0890.wav", "Unless to be rather cold-hearted and rather selfish is to be ill-disposed."),
    ("librivox/sense_and_sensibility_01_austen_64kb-0930.wav", "He might even have been made amiable himself."),
)


@cache
def decoded(path: Path) -> Sound:
    raw = ["-f", "s16le", "-ar", str(RATE), "-ac", "1"]
    command = ["ffmpeg", "-v", "error", *(raw if path.suffix == ".raw" else []), "-i", str(path), *raw, "-"]
    sound = np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, np.int16).astype(np.float32) / 32768.0
    return trimmed(sound)


def joined(parts: list[Path], rng: Random) -> Sound:
    """Recordings one after another, as close as a fluent speaker."""
    pieces: list[Sound] = []
    for part in parts:
        pieces += [decoded(part), np.zeros(rng.randrange(0, RATE // 10), np.float32)]
    return trimmed(np.concatenate(pieces[:-1]))


def figure_words(rng: Random) -> Iterator[tuple[str, Path]]:
    """A number as (word, recording) pairs: figure by figure, or as a count."""
    folder = PHRASES / "digits"
    if rng.random() < 0.65:
        for _ in range(rng.choice((2, 3, 3, 4, 5))):
            value = rng.randrange(10)
            oh = value == 0 and rng.random() < 0.3
            yield ("oh" if oh else ONES[value]), folder / ("oh.wav" if oh else f"{value}.wav")
        return
    value = rng.randrange(10, 100_000 if rng.random() < 0.5 else 1000)
    for size, name in ((1000, "thousand"), (100, "hundred"), (1, "")):
        part, value = divmod(value, size)
        if part >= 20:
            yield TENS[part // 10], folder / f"{part // 10 * 10}.wav"
            part %= 10
            if not part:
                yield from [(name, folder / f"{name}.wav")] if name else []
                continue
        if part:
            yield (ONES[part] if part < 10 else TEENS[part - 10]), folder / f"{part}.wav"
            yield from [(name, folder / f"{name}.wav")] if name else []


def spoken(pairs: list[tuple[str, Path]]) -> str:
    """Tens and ones are one word: 'thirty', 'four' becomes 'thirty-four'."""
    words: list[str] = []
    for word, _ in pairs:
        if words and words[-1] in TENS and word in ONES[1:]:
            words[-1] += "-" + word
        else:
            words.append(word)
    text = " ".join(words)
    return text[:1].upper() + text[1:] + "."


def counted(rng: Random) -> tuple[str, Sound]:
    pairs = list(figure_words(rng))
    folder = PHRASES / "digits"
    if rng.random() < 0.15:
        pairs.insert(0, ("minus", folder / "minus.wav"))
    elif rng.random() < 0.35:
        chosen = rng.sample("abcdefghijklmnopqrstuvwxyz", rng.choice((1, 2)))
        pairs = [(PHONETIC[ord(letter) - 97], PHRASES / "phonetic" / f"{letter}_p.wav") for letter in chosen] + pairs
    return spoken(pairs), joined([path for _, path in pairs], rng)


def lettered(rng: Random) -> tuple[str, Sound, str]:
    """Letters by name, or alphabet words, by one of three speakers."""
    way = rng.choice(("asterisk", "asterisk-phonetic", "klettres-us", "klettres-gb"))
    chosen = rng.sample("abcdefghijklmnopqrstuvwxy", rng.choice((2, 3, 4, 5)))
    places = {
        "asterisk": lambda one: PHRASES / "letters" / f"{one}.wav",
        "asterisk-phonetic": lambda one: PHRASES / "phonetic" / f"{one}_p.wav",
        "klettres-us": lambda one: SHARE / "klettres/en/alpha" / f"{one.upper()}.ogg",
        "klettres-gb": lambda one: SHARE / "klettres/en_GB/alpha" / f"{one}.ogg",
    }
    words = [PHONETIC[ord(one) - 97] if way == "asterisk-phonetic" else one.upper() for one in chosen]
    return " ".join(words) + ".", joined([places[way](one) for one in chosen], rng), way


def sentences() -> Iterator[dict[str, Any]]:
    for name, text in SENTENCES:
        if (TESTS / name).exists():
            kind = "prose" if "librivox" in name else "radio"
            yield {"text": text, "terms": [], "kind": kind, "voice": "real-" + Path(name).parts[0].split(".")[0], "sound": decoded(TESTS / name)}


def real_line(rng: Random) -> dict[str, Any] | None:
    """One utterance of recorded words, or None where the packages are missing: {'text', 'terms', 'kind', 'voice', 'sound'}."""
    try:
        if rng.random() < 0.7:
            text, sound = counted(rng)
            return {"text": text, "terms": [], "kind": "radio", "voice": "real-asterisk", "sound": sound}
        text, sound, voice = lettered(rng)
        return {"text": text, "terms": [], "kind": "radio", "voice": f"real-{voice}", "sound": sound}
    except subprocess.CalledProcessError:
        return None
