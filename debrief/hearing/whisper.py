"""Hearing with faster-whisper: the only file that imports it."""
import copy
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import ctranslate2
import numpy as np
from faster_whisper import WhisperModel
from faster_whisper.tokenizer import Tokenizer
from faster_whisper.utils import available_models, download_model

from ..errors import ModelError
from .guards import guard_failures, judged
from .recogniser import HeardSegment, HeardWord, Hints, Sound, Weighed, Weights
from .together import Gatherer
from .weigher import Weigher
from .word_times import at_the_sound, cut_at_pauses

_ANY = re.compile(r"\w")
_WINDOW_FRAMES = 3000
LEAST_REST_S = 2.0
CARD_BATCH = 32
"""Windows that a graphics card hears at once; a processor gains nothing from batches of its own size, so it hears one by one."""


@dataclass(frozen=True, slots=True)
class WhisperSettings:
    """What decides the text besides the weights.

    threads: 0 = one a processor, at most 8; device: auto = a CUDA card where one can be used; compute: CTranslate2's compute type;
    batch: windows heard at once, 0 = CARD_BATCH on a card, one by one on a processor.
    """

    language: str = "en"
    beam: int = 5
    threads: int = 0
    device: str = "auto"
    compute: str = "auto"
    batch: int = 0


class WhisperRecogniser:
    """A faster-whisper model as a Recogniser. Raises ModelError when the weights cannot be loaded."""

    def __init__(self, weights: Weights, settings: WhisperSettings = WhisperSettings()) -> None:
        threads = settings.threads or min(8, os.cpu_count() or 1)
        device, compute = _device(settings)
        self._model = _load(weights, device, compute, threads)
        if settings.device == "auto" and device == "cuda" and not _can_work(self._model):
            device, compute = _device(replace(settings, device="cpu"))
            self._model = _load(weights, device, compute, threads)
        self.name, self.digest = weights.name, weights.digest
        self.settings = {"language": settings.language, "beam": str(settings.beam), "threads": str(threads),
                         "device": device, "compute": compute}
        self.batch = settings.batch or (CARD_BATCH if device == "cuda" else 1)
        if self.batch > 1:
            self.settings["batch"] = str(self.batch)
        self._beam, self._language = settings.beam, settings.language
        tokenizer = Tokenizer(self._model.hf_tokenizer, self._model.model.is_multilingual, task="transcribe", language=self._language)
        self._weigher = Weigher(self._model, tokenizer)
        self._gatherer = Gatherer(self._model.model)
        self._gathered = copy.copy(self._model)
        self._gathered.model = self._gatherer

    def hear(self, sound: Sound, hints: Hints) -> tuple[HeardSegment, ...]:
        """Words of one window (see Recogniser). Where the guards fail, it is heard again with other settings and both are kept."""
        return self._hear(self._model, sound, hints)

    def hear_many(self, sounds: Sequence[Sound], hints: Hints) -> list[tuple[HeardSegment, ...]]:
        """Words of several windows at once (see BatchRecogniser)."""
        return self._gatherer.run([partial(self._hear, self._gathered, sound, hints) for sound in sounds])

    def _hear(self, model: WhisperModel, sound: Sound, hints: Hints) -> tuple[HeardSegment, ...]:
        first = self._once(model, sound, hints)
        if not guard_failures(first, hints.prompt):
            return judged(first, ())
        second = self._once(model, sound, Hints(), repetition_penalty=1.15, no_repeat_ngram_size=6, beam_size=max(2, self._beam - 2))
        return judged(first, second, hints.prompt)

    def weigh(self, sound: Sound, candidates: Sequence[str], free: str, with_end: bool = False) -> Weighed:
        """Scores of candidate texts for one span (see Recogniser)."""
        return self._weigher.weigh(sound, candidates, free, with_end)

    def _once(self, model: WhisperModel, sound: Sound, hints: Hints, **other: float) -> tuple[HeardSegment, ...]:
        # One decoding a window, without time marks in the text: with them, what is left behind the last mark is decoded again by itself,
        # and a hint is then written on over a second of noise. Word times come from the attention, as they do with marks.
        options: dict = {"beam_size": self._beam, "language": self._language, "temperature": 0.0, "vad_filter": False,
                         "condition_on_previous_text": False, "word_timestamps": True, "without_timestamps": True,
                         "no_speech_threshold": None, **other}
        if hints.hotwords:
            options["hotwords"] = ", ".join(hints.hotwords)
        if hints.prompt:
            options["initial_prompt"] = hints.prompt
        segments, _ = model.transcribe(sound, **options)
        return tuple(HeardSegment(words, segment.avg_logprob, segment.no_speech_prob, segment.compression_ratio)
                     for segment in _with_little_left(segments, len(sound) / 16_000)
                     for words in cut_at_pauses(at_the_sound(_words(segment.words or ()), sound)))



def _with_little_left(segments: Iterable[Any], length_s: float) -> Iterator[Any]:
    """Segments, up to the one that leaves too little sound behind it: decoded by itself, that little becomes "you" and "thank you"."""
    for segment in segments:
        yield segment
        if segment.words and length_s - segment.words[-1].end < LEAST_REST_S:
            return


def _words(words: Sequence[Any]) -> tuple[HeardWord, ...]:
    """Whole words: a piece without a space before it ('.4' after '101') belongs to the word before."""
    whole: list[HeardWord] = []
    for word in words:
        if whole and not word.word.startswith(" "):
            last = whole.pop()
            whole.append(HeardWord(last.text + word.word.strip(), last.start_s, max(last.end_s, float(word.end)),
                                   min(last.probability, float(word.probability))))
        else:
            whole.append(HeardWord(word.word.strip(), float(word.start), float(word.end), float(word.probability)))
    return tuple(word for word in whole if _ANY.search(word.text))


def fetch_model(name: str, folder: Path) -> None:
    """Fetch a named faster-whisper model into a folder; uses the network, so it is called only when a person asked for it."""
    if name not in available_models():
        raise ModelError(f"no model is called {name!r}", todo=f"known are {', '.join(available_models())}; or give a folder")
    download_model(name, output_dir=str(folder))


def _load(weights: Weights, device: str, compute: str, threads: int) -> WhisperModel:
    try:
        return WhisperModel(str(weights.folder), device=device, compute_type=compute, cpu_threads=threads, num_workers=1,
                            local_files_only=True)
    except (RuntimeError, ValueError, OSError, KeyError, TypeError) as error:
        raise ModelError(f"the weights cannot be loaded: {error}", str(weights.folder), "fetch or copy the model again") from error


def _can_work(model: WhisperModel) -> bool:
    """Whether a loaded card can be used at all: a card may be there and its arithmetic library (cuBLAS) not."""
    try:
        model.encode(np.zeros((model.model.n_mels, _WINDOW_FRAMES), np.float32))
    except RuntimeError:
        return False
    return True


def _device(settings: WhisperSettings) -> tuple[str, str]:
    device = settings.device
    if device == "auto":
        device = "cuda" if ctranslate2.get_cuda_device_count() else "cpu"
    compute = settings.compute
    if compute == "auto":
        compute = "float16" if device == "cuda" else "int8"
    return device, compute
