"""Whisper through faster-whisper: the only place that knows it. Hears windows and weighs candidate texts, always the same way.

Departures from its defaults: no text is carried from window to window, temperature is 0 and nothing is sampled, its own voice filter is
off (speech_spans decides). A window that repeats itself is heard again with repetition forbidden, and the better kept.
"""
import math
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import ctranslate2
import numpy as np
from faster_whisper import WhisperModel
from faster_whisper.tokenizer import Tokenizer
from faster_whisper.utils import download_model

from ..errors import ModelError
from ..timebase import HEARING_RATE_HZ
from .models import Progress, fetch_named
from .recogniser import HeardSegment, HeardWord, Hints, Sound, Weighed, Weights

LOOP_RATIO = 2.4
NO_SPEECH, UNSURE = 0.6, -0.8
_FRAMES = 3000
_HOP = 160
_BATCH = 24
_SILENCE_S = 2.0
_FLOOR = 1e-12
_SPOKEN = re.compile(r"\w")


@dataclass(frozen=True, slots=True)
class WhisperSettings:
    """device: cpu, cuda or auto (cuda where there is one); threads count in the result, so they are fixed and stored with the pass."""

    device: str = "auto"
    compute_type: str = "default"
    threads: int = 2
    beam: int = 5
    language: str = "en"


@dataclass
class Whisper:
    """A recogniser (hearing/recogniser.py) over verified weights."""

    weights: Weights
    settings: WhisperSettings = field(default_factory=WhisperSettings)

    def __post_init__(self) -> None:
        cuda = self.settings.device == "cuda" or (self.settings.device == "auto" and ctranslate2.get_cuda_device_count() > 0)
        chosen = self.settings.compute_type if self.settings.compute_type != "default" else "float16" if cuda else "int8"
        try:
            self._model: Any = WhisperModel(str(self.weights.folder), device="cuda" if cuda else "cpu", compute_type=chosen,
                                            cpu_threads=self.settings.threads, local_files_only=True)
        except (RuntimeError, ValueError, OSError) as error:
            raise ModelError(f"the weights cannot be loaded: {error}", str(self.weights.folder), "fetch or copy the model again") from error
        self._tokenizer = Tokenizer(self._model.hf_tokenizer, self._model.model.is_multilingual, task="transcribe",
                                    language=self.settings.language)
        self._silence: dict[str, float] = {}
        self._quiet: tuple[Any, int, int] | None = None
        self.device = "cuda" if cuda else "cpu"
        self.compute_type = chosen

    @property
    def name(self) -> str:
        return self.weights.name

    @property
    def digest(self) -> str:
        return self.weights.digest

    def hear(self, sound: Sound, hints: Hints = Hints()) -> tuple[HeardSegment, ...]:  # noqa: B008 (frozen, no state)
        """Words of one window (at most 30 s). What the recogniser itself holds for no speech comes back with its evidence."""
        first = self._transcribe(sound, hints, {})
        if not _loops(first):
            return first
        again = self._transcribe(sound, Hints(), {"repetition_penalty": 1.2, "no_repeat_ngram_size": 3})
        return again if _loop_ratio(again) < _loop_ratio(first) else first

    def _transcribe(self, sound: Sound, hints: Hints, more: dict[str, Any]) -> tuple[HeardSegment, ...]:
        segments, _ = self._model.transcribe(
            np.ascontiguousarray(sound, np.float32), language=self.settings.language, beam_size=self.settings.beam, temperature=0.0,
            condition_on_previous_text=False, word_timestamps=True, vad_filter=False, initial_prompt=hints.prompt or None,
            hotwords=", ".join(hints.hotwords) or None, compression_ratio_threshold=None, log_prob_threshold=None,
            no_speech_threshold=None, **more)
        return tuple(_segment(segment) for segment in segments if segment.words)

    def weigh(self, sound: Sound, candidates: Sequence[str], free: str) -> Weighed:
        """Teacher-forced scores of candidate texts and of the free hypothesis from one encoding; the same call, the same answer."""
        texts = [*candidates, free]
        sums = self._sums(self._encoded(sound), texts)
        quiet = self._silences(texts)
        tokens = tuple(len(self._ids(text)) for text in texts)
        return Weighed(tuple(sums[:-1]), tuple(quiet[:-1]), tokens[:-1], sums[-1], quiet[-1], tokens[-1])

    def _encoded(self, sound: Sound) -> tuple[Any, int, int]:
        features = self._model.feature_extractor(np.ascontiguousarray(sound[: _FRAMES * _HOP], np.float32))[:, :_FRAMES]
        features = np.pad(features, ((0, 0), (0, _FRAMES - features.shape[1])))
        encoded = np.array(self._model.encode(features).to_device(ctranslate2.Device.cpu) if self.device == "cuda"
                           else self._model.encode(features))
        frames = max(1, len(sound) // _HOP)
        positions = min(_FRAMES // 2, frames // 2 + 60)
        return encoded[:, :positions, :], frames, positions

    def _ids(self, text: str) -> list[int]:
        return self._tokenizer.encode(" " + text.strip())

    def _sums(self, encoded: tuple[Any, int, int], texts: Sequence[str]) -> list[float]:
        output, frames, positions = encoded
        ids = [self._ids(text) for text in texts]
        order = sorted((i for i in range(len(ids)) if ids[i]), key=lambda i: (len(ids[i]), i))
        sums = [0.0] * len(ids)
        for begin in range(0, len(order), _BATCH):
            group = order[begin:begin + _BATCH]
            storage = ctranslate2.StorageView.from_array(np.ascontiguousarray(np.repeat(output, len(group), axis=0)))
            aligned = self._model.model.align(storage, list(self._tokenizer.sot_sequence), [ids[i] for i in group],
                                              [min(frames, 2 * positions)] * len(group))
            for i, result in zip(group, aligned, strict=True):
                sums[i] = float(sum(math.log(max(p, _FLOOR)) for p in result.text_token_probs))
        return sums

    def _silences(self, texts: Sequence[str]) -> list[float]:
        """log p(text | digital silence), kept by text: what the text is worth with no sound at all."""
        if self._quiet is None:
            self._quiet = self._encoded(np.zeros(round(_SILENCE_S * HEARING_RATE_HZ), np.float32))
        new = [text for text in dict.fromkeys(texts) if text not in self._silence]
        for text, total in zip(new, self._sums(self._quiet, new) if new else (), strict=True):
            self._silence[text] = total
        return [self._silence[text] for text in texts]


def fetch_named_model(name: str, progress: Progress) -> Weights:
    """A faster-whisper model by its name, fetched because a person asked."""
    return fetch_named(name, lambda wanted, folder: download_model(wanted, output_dir=str(folder)), progress)


def _segment(segment: Any) -> HeardSegment:
    words = tuple(HeardWord(word.word.strip(), max(0.0, word.start), max(word.start, word.end), word.probability)
                  for word in segment.words if _SPOKEN.search(word.word) or word.word.strip())
    return HeardSegment(words, segment.avg_logprob, segment.no_speech_prob, segment.compression_ratio)


def _text(segments: Sequence[HeardSegment]) -> str:
    return " ".join(word.text for segment in segments for word in segment.words)


def _loop_ratio(segments: Sequence[HeardSegment]) -> float:
    raw = _text(segments).encode()
    return len(raw) / len(zlib.compress(raw)) if raw else 0.0


def _loops(segments: Sequence[HeardSegment]) -> bool:
    """A window that says the same again and again: compressible text, or one word many times in a row."""
    words = [word.text.strip(".,!?").lower() for segment in segments for word in segment.words]
    longest = run = 1
    for before, after in zip(words, words[1:], strict=False):
        run = run + 1 if before == after else 1
        longest = max(longest, run)
    return longest >= 6 or _loop_ratio(segments) > LOOP_RATIO


def doubt_of(segment: HeardSegment) -> str:
    """Why a segment makes no talk, by the recogniser's own evidence ('' = it does)."""
    if segment.no_speech_probability > NO_SPEECH and segment.mean_log_probability < UNSURE:
        return f"no speech by the recogniser's own evidence ({segment.no_speech_probability:.2f})"
    if _loops((segment,)):
        return "the recogniser repeats itself"
    return ""
