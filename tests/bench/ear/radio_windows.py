"""Windows as a radio loop gives them, made from clean utterances while training runs: sound through a channel, the words in it, and a hint.

A window holds up to LONGEST_S of turns by several voices with gaps; a part of them is clean, a part holds no words at all.
"""
import json
import re
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

import numpy as np

RATE, LONGEST_S, SAMPLES = 16_000, 26.0, 480_000
STYLE = ("Roger. Copy, go ahead. Stand by. Say again? Ready, in position. Mark. Reading two one five, steady. That is a three. "
         "Correction, four point two. Go. No go, wait one. Understood, out.")
NUMBERS = "zero one two three four five six seven eight nine ten eleven twelve twenty thirty forty fifty sixty seventy eighty ninety".split()
HINT_CHARACTERS = 760


@dataclass(frozen=True)
class Utterance:
    start: int
    samples: int
    text: str
    terms: tuple[str, ...]
    kind: str
    voice: str


@dataclass
class Window:
    """sound: float32, at most SAMPLES; clean: the same moments as the voices spoke them; kept: whether the plain model's own opinion of it
    is kept (clean sound and prose)."""

    sound: np.ndarray
    clean: np.ndarray
    text: str
    hint: str
    kept: bool = False
    terms: list[str] = field(default_factory=list)


class Talk:
    """All utterances over one array of samples (int16). held_out: two whole voices, and three utterances in a hundred."""

    def __init__(self, sound: np.ndarray, utterances: list[Utterance]) -> None:
        self.sound = sound
        counts: dict[str, int] = {}
        for one in utterances:
            counts[_voice(one)] = counts.get(_voice(one), 0) + 1
        by_count = sorted(counts, key=lambda voice: (-counts[voice], voice))
        middle = [voice for voice in by_count if counts[voice] <= len(utterances) / 50 and not voice.startswith("real")]
        self.apart = set(middle[:2])
        self.held_out = [one for index, one in enumerate(utterances) if _voice(one) in self.apart or index % 33 == 7]
        held = {one.start for one in self.held_out}
        self.taught = [one for one in utterances if one.start not in held]
        self.all_terms = sorted({term for one in utterances for term in one.terms}) or ["Tower"]

    def clip(self, one: Utterance) -> np.ndarray:
        sound = self.sound[one.start:one.start + one.samples].astype(np.float32) / 32768.0
        return sound * (0.1 / max(1e-4, float(np.sqrt(np.mean(sound**2)))))


def _voice(one: Utterance) -> str:
    return re.sub(r"-\d\.\d\d$", "", one.voice)


def decoded(ogg: Path) -> np.ndarray:
    """A shard's samples, int16 at 16 kHz."""
    import soundfile
    from scipy.signal import resample_poly
    sound, rate = soundfile.read(ogg, dtype="float32")
    if rate != RATE:
        sound = resample_poly(sound, 1, rate // RATE)
    return (np.clip(sound, -1, 1) * 32767).astype(np.int16)


def load_talk(folder: Path, store: Path, processes: int) -> Talk:
    """Decode every shard into one int16 file and read its lines."""
    shards = sorted(lines for lines in folder.glob("shard_*.jsonl") if lines.with_suffix(".ogg").exists())
    utterances: list[Utterance] = []
    at = 0
    with store.open("wb") as out, get_context("fork").Pool(processes) as pool:
        for lines, sound in zip(shards, pool.imap(decoded, [lines.with_suffix(".ogg") for lines in shards]), strict=True):
            out.write(sound.tobytes())
            for line in lines.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                if row["start"] + row["samples"] <= len(sound) and row["samples"] > RATE // 8:
                    utterances.append(Utterance(at + row["start"], row["samples"], row["text"].strip(), tuple(row["terms"]), row["kind"], row["voice"]))
            at += len(sound)
    return Talk(np.memmap(store, np.int16, "r"), utterances)


def noise_bank(seed: int, count: int = 40, seconds: int = 40) -> np.ndarray:
    """(count, samples) float16 noises of unit power: white, pink, brown, band-limited, hum, crackle, whine."""
    rng = np.random.default_rng(seed)
    n = seconds * RATE
    freq = np.fft.rfftfreq(n, 1 / RATE).astype(np.float32)
    bank = np.empty((count, n), np.float16)
    for index in range(count):
        spectrum = np.fft.rfft(rng.standard_normal(n, np.float32))
        spectrum *= np.maximum(freq, 30.0) ** -rng.choice([0.0, 0.0, 0.3, 0.5, 0.8, 1.0])
        if rng.random() < 0.6:
            low, high = rng.uniform(50, 500), rng.uniform(2400, 5000)
            spectrum *= 1 / (1 + (low / np.maximum(freq, 1)) ** 6) / (1 + (freq / high) ** 8)
        for _ in range(rng.integers(0, 4)):
            center, width = rng.uniform(100, 3500), rng.uniform(30, 600)
            spectrum *= 1 + rng.uniform(0, 6) * np.exp(-((freq - center) / width) ** 2)
        noise = np.fft.irfft(spectrum, n).astype(np.float32)
        noise /= np.std(noise)
        t = np.arange(n, dtype=np.float32) / RATE
        if rng.random() < 0.35:
            mains = rng.choice([50.0, 60.0, 400.0])
            for harmonic in range(1, rng.integers(2, 9)):
                noise += rng.uniform(0, 1.2) / harmonic * np.sin(2 * np.pi * mains * harmonic * t + rng.uniform(0, 6.28))
        if rng.random() < 0.2:
            whine = rng.uniform(300, 3200)
            noise += rng.uniform(0.1, 0.8) * np.sin(2 * np.pi * whine * t + rng.uniform(0, 20) * np.sin(0.3 * t))
        if rng.random() < 0.25:
            clicks = rng.random(n) < rng.uniform(1, 30) / RATE
            noise += np.convolve(clicks * rng.uniform(2, 12, n), np.exp(-np.arange(64) / 8) * rng.standard_normal(64), "same").astype(np.float32)
        bank[index] = np.clip(noise / np.std(noise), -20, 20)
    return bank


@dataclass(frozen=True)
class Shares:
    """How much of the talk is prose, how often a recorded person speaks in place of a made voice, how many windows keep their clean sound."""

    prose: float = 0.2
    real: float = 0.08
    clean: float = 0.12


class Maker:
    """Makes windows from some utterances; the same seed makes the same windows."""

    def __init__(self, talk: Talk, utterances: list[Utterance], noises: np.ndarray, seed: int, shares: Shares = Shares()) -> None:
        self.talk, self.noises, self.rng, self.shares = talk, noises, np.random.default_rng(seed), shares
        self.radio = [one for one in utterances if one.kind != "prose"] or utterances
        self.prose = [one for one in utterances if one.kind == "prose"] or utterances
        self.real = [one for one in utterances if one.voice.startswith("real")]

    def window(self) -> Window:
        way = self.rng.random()
        if way < 0.08:
            return self.empty()
        clean = self.rng.random() < self.shares.clean
        window = self.spoken(prose=self.rng.random() < self.shares.prose)
        window.kept = window.kept or clean
        if not clean:
            window.sound = self.channel(window.sound)
        window.sound = self.levelled(window.sound)
        window.hint = self.hint(window.terms)
        return window

    def spoken(self, prose: bool) -> Window:
        """Turns one behind the other, each from its own microphone and handset."""
        rng = self.rng
        length = rng.uniform(14, 24.5) if rng.random() < 0.7 else rng.uniform(2, 14)
        pool = self.prose if prose else self.radio
        sound = np.zeros(round(LONGEST_S * RATE), np.float32)
        clean = np.zeros_like(sound)
        at, texts, terms = round(rng.uniform(0, 0.9) * RATE), [], []
        if rng.random() < 0.08:
            tail = self.talk.clip(self._one(pool))[-round(rng.uniform(0.08, 0.22) * RATE):]
            sound[:len(tail)] += tail
            at = max(at, len(tail) + round(0.25 * RATE))
        tones = rng.random() < 0.2
        handset = rng.random() < 0.6
        for _ in range(14):
            one = self._one(pool)
            if texts and at + one.samples > length * RATE or at + one.samples * 1.12 > len(sound):
                break
            clip = self.hurried(self.talk.clip(one))
            clean[at:at + len(clip)] += clip
            clip = clip * 10 ** (np.clip(rng.normal(0, 4), -12, 8) / 20)
            clip = self.handset(clip) if handset else clip
            sound[at:at + len(clip)] += clip
            texts.append(one.text)
            terms += one.terms
            at += len(clip)
            if tones and at + RATE < len(sound):
                at += self.tail_end(sound, at)
            at = round(at + self.pause() * RATE) if rng.random() > 0.07 else at - round(rng.uniform(0, 0.4) * RATE)
            at = max(0, at)
            if at > length * RATE:
                break
        end = min(len(sound), at + round(rng.uniform(0, 0.4) * RATE))
        return Window(sound[:end], clean[:end], " ".join(texts), "", prose and rng.random() < 0.7, terms)

    def pause(self) -> float:
        return float(np.clip(self.rng.lognormal(-0.9, 0.8), 0.05, 2.2))

    def _one(self, pool: list[Utterance]) -> Utterance:
        if self.real and self.rng.random() < self.shares.real:
            pool = self.real  # recorded people are few, and worth more than made voices
        return pool[self.rng.integers(len(pool))]

    def hurried(self, clip: np.ndarray) -> np.ndarray:
        """Half of the turns a little faster or slower, and so higher or lower."""
        if self.rng.random() < 0.5:
            return clip
        speed = self.rng.uniform(0.9, 1.12)
        return np.interp(np.arange(0, len(clip) - 1, speed), np.arange(len(clip)), clip).astype(np.float32)

    def handset(self, clip: np.ndarray) -> np.ndarray:
        """A microphone's own band and tilt, a light echo."""
        rng, n = self.rng, 1 << (len(clip) + 1600).bit_length()
        spectrum = np.fft.rfft(clip, n)
        freq = np.fft.rfftfreq(n, 1 / RATE).astype(np.float32)
        gain = np.interp(freq, [0, 150, 400, 1000, 2000, 3000, 4500, 8000], 10 ** (rng.normal(0, 4, 8) / 20)).astype(np.float32)
        if rng.random() < 0.3:
            delay = rng.uniform(0.004, 0.09)
            gain = gain * (1 + rng.uniform(0.05, 0.4) * np.exp(-2j * np.pi * freq * delay))
        return np.fft.irfft(spectrum * gain, n)[:len(clip)].astype(np.float32)

    def tail_end(self, sound: np.ndarray, at: int) -> int:
        """A roger tone, a squelch tail or a click behind a turn; its samples are returned."""
        rng = self.rng
        n = round(rng.uniform(0.06, 0.35) * RATE)
        t = np.arange(n, dtype=np.float32) / RATE
        way = rng.random()
        if way < 0.45:
            burst = rng.uniform(0.03, 0.25) * np.sin(2 * np.pi * rng.uniform(500, 2700) * t)
        elif way < 0.85:
            burst = rng.uniform(0.03, 0.2) * self.noise(n)
        else:
            burst = rng.uniform(0.2, 0.8) * np.exp(-t * 200) * rng.standard_normal(n)
        sound[at:at + n] += burst.astype(np.float32)
        return n

    def noise(self, n: int) -> np.ndarray:
        row = self.noises[self.rng.integers(len(self.noises))]
        start = self.rng.integers(max(1, len(row) - n))
        return row[start:start + n].astype(np.float32)

    def channel(self, sound: np.ndarray) -> np.ndarray:
        """The loop's way to the recorder: other loops, fading, noise, band, limiting, coding, lost bits."""
        rng, n = self.rng, len(sound)
        power = 0.1
        if rng.random() < 0.15:
            other = self.talk.clip(self._one(self.radio))[:n]
            at = rng.integers(max(1, n - len(other)))
            sound[at:at + len(other)] += other * 10 ** (-rng.uniform(25, 36) / 20)
        if rng.random() < 0.12:
            t = np.arange(n, dtype=np.float32) / RATE
            depth = rng.uniform(3, 12)
            sound = sound * 10 ** (depth / 40 * (np.sin(2 * np.pi * rng.uniform(0.1, 2.5) * t + rng.uniform(0, 6)) - 1)).astype(np.float32)
        early = rng.random() < 0.5
        level = power * 10 ** (-np.clip(rng.normal(14, 6), 3, 32) / 20)
        noise = self.noise(n) * level
        if rng.random() < 0.3:
            noise += self.noise(n) * level * rng.uniform(0.2, 1)
        if early:
            sound = sound + noise
        sound = self.band(sound)
        if rng.random() < 0.35:
            sound = self.gained(sound)
        if rng.random() < 0.35:
            drive = rng.uniform(1, 6)
            peak = 0.3
            sound = peak * np.tanh(sound * drive / peak) if rng.random() < 0.6 else np.clip(sound * drive, -peak, peak)
            noise = noise * drive ** 0.5
        if not early:
            sound = sound + noise
        return self.carried(sound)

    def carried(self, sound: np.ndarray) -> np.ndarray:
        """Coarse coding, and bits lost on the way."""
        rng, n = self.rng, len(sound)
        if rng.random() < 0.2:
            scale = float(np.abs(sound).max()) + 1e-6
            coded = np.round(np.sign(sound) * np.log1p(255 * np.abs(sound) / scale) / np.log(256) * 127) / 127
            sound = np.sign(coded) * np.expm1(np.abs(coded) * np.log(256)) / 255 * scale
        if rng.random() < 0.06:
            for _ in range(rng.integers(1, 8)):
                at = rng.integers(n)
                sound[at:at + round(rng.uniform(0.01, 0.05) * RATE)] = 0
        return sound.astype(np.float32)

    def band(self, sound: np.ndarray) -> np.ndarray:
        rng, n = self.rng, len(sound)
        way = rng.random()
        if way < 0.12:
            return sound
        low, high = (rng.uniform(200, 450), rng.uniform(2300, 3800)) if way < 0.75 else (rng.uniform(40, 250), rng.uniform(3400, 6500))
        size = next(size for size in (1 << 16, 3 << 15, 1 << 17, 3 << 16, 1 << 18, 5 << 16, 3 << 17, 1 << 19) if size >= n)
        freq = np.maximum(np.fft.rfftfreq(size, 1 / RATE), 1).astype(np.float32)
        order = rng.integers(2, 10)
        gain = 1 / np.sqrt(1 + (low / freq) ** (2 * order)) / np.sqrt(1 + (freq / high) ** (2 * rng.integers(3, 14)))
        return np.fft.irfft(np.fft.rfft(sound, size) * gain, size)[:n].astype(np.float32)

    def gained(self, sound: np.ndarray) -> np.ndarray:
        """Automatic gain: quiet parts come up, in steps of 20 ms with a slow release."""
        frame = 320
        count = -(-len(sound) // frame)
        padded = np.zeros(count * frame, np.float32)
        padded[:len(sound)] = sound
        level = np.sqrt(np.mean(padded.reshape(count, frame) ** 2, 1)) + 1e-4
        held, release = np.empty_like(level), self.rng.uniform(0.9, 0.985)
        now = level[0]
        for index, value in enumerate(level):
            now = max(value, now * release)
            held[index] = now
        gain = np.clip(0.1 / held, 0.3, 10) ** self.rng.uniform(0.3, 1)
        return sound * np.interp(np.arange(len(sound)), np.arange(count) * frame, gain).astype(np.float32)

    def empty(self) -> Window:
        """Sound without a word: noise, tones, squelch, hum, far talk too low to be meant, silence."""
        rng = self.rng
        n = round(rng.uniform(1.5, 26) * RATE)
        sound = np.zeros(n, np.float32)
        if rng.random() < 0.85:
            sound += self.noise(n) * 10 ** (-rng.uniform(6, 40) / 20) * 0.3
        for _ in range(rng.integers(0, 6)):
            if n > RATE * 1.5:
                self.tail_end(sound, rng.integers(n - RATE))
        if rng.random() < 0.3:
            t = np.arange(n, dtype=np.float32) / RATE
            gate = np.repeat(rng.random(n // 4000 + 1) < 0.4, 4000)[:n]
            sound += rng.uniform(0.01, 0.2) * gate * np.sin(2 * np.pi * rng.uniform(250, 2800) * t).astype(np.float32)
        sound = self.band(sound) if rng.random() < 0.7 else sound
        known = [self.talk.all_terms[rng.integers(len(self.talk.all_terms))] for _ in range(5)]
        return Window(self.levelled(sound) if rng.random() < 0.8 else sound, np.zeros(n, np.float32), "", self.hint(known))

    def levelled(self, sound: np.ndarray) -> np.ndarray:
        peak = float(np.abs(sound).max())
        return sound * (10 ** (-self.rng.uniform(0, 26) / 20) / peak) if peak > 0 else sound

    def hint(self, own: list[str]) -> str:
        """A hint in the product's style; its numbers are drawn, so none of them is ever worth copying."""
        rng, way = self.rng, self.rng.random()
        if way < 0.2:
            return ""
        if way < 0.3:
            return STYLE
        terms = [term for term in dict.fromkeys(own) if rng.random() < 0.7]
        everything = self.talk.all_terms
        terms += [everything[rng.integers(len(everything))] for _ in range(rng.integers(20, 61))]
        terms = [terms[index] for index in rng.permutation(len(terms))] if rng.random() < 0.5 else terms[:len(own)] + terms[len(own):]
        names = [term for term in terms if term[:1].isupper()][:rng.integers(2, 6)]
        calls = [f"{name}, {names[0]}." for name in names[1:]]
        room = HINT_CHARACTERS - len(STYLE) - sum(len(call) + 1 for call in calls)
        said = []
        for term in dict.fromkeys(term for term in terms if term not in names):
            item = f"{term[0].upper()}{term[1:]} {' '.join(NUMBERS[rng.integers(len(NUMBERS))] for _ in range(rng.integers(1, 4)))}."
            room -= len(item) + 1
            if room < 0:
                break
            said.append(item)
        if rng.random() < 0.3:
            said = [said[index] for index in rng.permutation(len(said))]
        return " ".join([*calls, STYLE, *said])
