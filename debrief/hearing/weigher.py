"""Weighing: how well the sound of a span supports candidate texts, by the recogniser's own probabilities of exactly those texts.

The span is encoded once, padded with silence to 15 s, a third of the work of the recogniser's own 30 s: free recognition needs those, to tell
how well the sound supports given texts does not (margins between numbers hardly move). The encoder's output is then cropped,
which makes a candidate about twenty times cheaper and loses nothing measured. Candidates go through the decoder in batches, sorted by
length and cut at fixed places, so that the same call gives the same answer. A text's score on digital silence says how likely it is
on its own; taking most of that off makes long and short, common and rare texts comparable.
"""
from collections import OrderedDict
from collections.abc import Sequence
from typing import Any

import ctranslate2
import numpy as np
from numpy.typing import NDArray

from .recogniser import PHRASE_CORRECTION, Sound, Weighed

_WINDOW_SAMPLES = 480_000
_HOP = 160
_SEEN_SAMPLES = 400
"""What one column of features sees of the sound."""
_SPARE_POSITIONS = 60
_LEAST_COLUMNS, _COLUMNS_BEHIND = 1500, 500
"""Features of a span and of the silence behind it: 15 s together, and at least 5 s of silence."""
_BATCH = 16
_MAX_TOKENS = 200
_SILENCE_S, _SILENT_POSITIONS = 2, 60
_CACHED_TEXTS = 50_000
_ENDINGS = (".", "?", "!")
_LEAST = 1e-9

Ids = tuple[int, ...]


class Weigher:
    """Scores texts with one loaded model. model: a faster_whisper.WhisperModel; tokenizer: its Tokenizer."""

    def __init__(self, model: Any, tokenizer: Any) -> None:
        self._model, self._tokenizer = model, tokenizer
        self._sot = list(tokenizer.sot_sequence)
        self._ends = [tokenizer.eot, *(self._one(mark) for mark in _ENDINGS)]
        self._silence: OrderedDict[Ids, float] = OrderedDict()
        self._silent: tuple[NDArray[np.float32], int] | None = None

    def weigh(self, sound: Sound, candidates: Sequence[str], free: str, with_end: bool) -> Weighed:
        """Scores of the candidates and of the free hypothesis, scored alike. Empty texts score as the end of speech alone would."""
        texts = [self._ids(text) for text in (*candidates, free)]
        encoded = self._encode(sound)
        found = self._scored(encoded, sorted({ids for ids in texts if ids}))
        self._learn_silence(texts)
        ends = self._ended(encoded[0], sorted(set(texts))) if with_end else {}
        sums = tuple(found.get(ids, 0.0) for ids in texts)
        silence = tuple(self._silence.get(ids, 0.0) for ids in texts)
        scores = [total - PHRASE_CORRECTION * still for total, still in zip(sums, silence, strict=True)]
        return Weighed(tuple(scores[:-1]), scores[-1], sums, silence, tuple(len(ids) for ids in texts),
                       tuple(ends[ids] for ids in texts) if with_end else ())

    def _ids(self, text: str) -> Ids:
        return tuple(self._tokenizer.encode(" " + text.strip())[:_MAX_TOKENS]) if text.strip() else ()

    def _one(self, text: str) -> int:
        return self._tokenizer.encode(text)[0]

    def _encode(self, sound: Sound) -> tuple[NDArray[np.float32], int]:
        """(cropped encoder output, frames of the span). The sound is padded with silence first."""
        sound = sound[:_WINDOW_SAMPLES]
        frames = max(1, len(sound) // _HOP)
        columns = min(_WINDOW_SAMPLES // _HOP, max(_LEAST_COLUMNS, frames + _COLUMNS_BEHIND))
        features = padded_features(self._model.feature_extractor, sound)[:, :columns]
        view = ctranslate2.StorageView.from_array(np.ascontiguousarray(features[None]))
        output = self._model.model.encode(view, to_cpu=True)
        whole = np.asarray(output, dtype=np.float32)
        return np.ascontiguousarray(whole[:, :min(whole.shape[1], frames // 2 + _SPARE_POSITIONS)]), frames

    def _scored(self, encoded: tuple[NDArray[np.float32], int], texts: Sequence[Ids]) -> dict[Ids, float]:
        output, frames = encoded
        found = {}
        ordered = sorted(texts, key=lambda ids: (len(ids), ids))
        for first in range(0, len(ordered), _BATCH):
            batch = ordered[first:first + _BATCH]
            results = self._model.model.align(_repeated(output, len(batch)), self._sot, [list(ids) for ids in batch],
                                              [min(frames, 2 * output.shape[1])] * len(batch))
            for ids, result in zip(batch, results, strict=True):
                found[ids] = float(np.sum(np.log(np.maximum(np.asarray(result.text_token_probs[:len(ids)], np.float64), _LEAST))))
        return found

    def _learn_silence(self, texts: Sequence[Ids]) -> None:
        unknown = sorted({ids for ids in texts if ids and ids not in self._silence})
        if not unknown:
            return
        if self._silent is None:
            output, _ = self._encode(np.zeros(_SILENCE_S * 16_000, np.float32))
            self._silent = np.ascontiguousarray(output[:, :_SILENT_POSITIONS]), 2 * _SILENT_POSITIONS  # so many tell as much as all
        # One text at a time would be the purest; batches are much faster and their differences stay under the noise named above.
        for ids, score in self._scored(self._silent, unknown).items():
            self._silence[ids] = score
        while len(self._silence) > _CACHED_TEXTS:
            self._silence.popitem(last=False)

    def _ended(self, output: NDArray[np.float32], texts: Sequence[Ids]) -> dict[Ids, float]:
        """log of the probability that the text ends after its last token, a closing mark counted as an end."""
        found = {}
        by_length: dict[int, list[Ids]] = {}
        for ids in texts:
            by_length.setdefault(len(ids), []).append(ids)
        for length, group in sorted(by_length.items()):
            for first in range(0, len(group), _BATCH):
                batch = group[first:first + _BATCH]
                for ids, logits in zip(batch, self._last_logits(output, batch, length), strict=True):
                    found[ids] = self._end_score(logits)
        return found

    def _last_logits(self, output: NDArray[np.float32], batch: Sequence[Ids], length: int) -> list[NDArray[np.float64]]:
        prompt = [*self._sot, self._tokenizer.no_timestamps]
        results = self._model.model.generate(
            _repeated(output, len(batch)), [[*prompt, *ids] for ids in batch], beam_size=1, max_length=2 * (length + 1) + 8,
            return_logits_vocab=True, suppress_blank=False, suppress_tokens=[])
        return [np.asarray(result.logits[0][min(length, len(result.logits[0]) - 1)], np.float64).ravel() for result in results]

    def _end_score(self, logits: NDArray[np.float64]) -> float:
        shifted = logits - logits.max()
        return float(np.log(max(np.exp(shifted[self._ends]).sum() / np.exp(shifted).sum(), _LEAST)))


def _repeated(output: NDArray[np.float32], times: int) -> ctranslate2.StorageView:
    return ctranslate2.StorageView.from_array(np.repeat(output, times, axis=0))


def padded_features(extractor: Any, sound: Sound) -> NDArray[np.float32]:
    """Log-mel features (bands x 3000) of the sound followed by silence up to 30 s; only the sound's own part is reckoned.

    For a span of some seconds the silence would be most of the work, and on a card more than half of a question.
    """
    own = extractor(np.pad(sound, (0, _SEEN_SAMPLES)))
    kept = min((len(sound) + _SEEN_SAMPLES // 2) // _HOP + 1, _WINDOW_SAMPLES // _HOP)
    # the extractor cuts off what lies more than 8 decades of power below the loudest, and counts no less than 10^-10: (log10 + 4) / 4
    made = np.full((own.shape[0], _WINDOW_SAMPLES // _HOP), max(-1.5, float(own.max()) - 2), np.float32)
    made[:, :kept] = own[:, :kept]
    return made
