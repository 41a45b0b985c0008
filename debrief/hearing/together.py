"""Many windows through one model at once: jobs run side by side, and what they ask of the model at the same moment goes as one batch.

Each job is the very code that hears one window alone, so a batch can differ from single hearing only by the arithmetic of the card.
A batch is made when every job that still runs waits for an answer: it depends on the jobs alone, never on the speed of threads.
"""
import threading
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import ctranslate2
import numpy as np
from numpy.typing import NDArray


@dataclass(slots=True)
class _Request:
    """One call of one job. alike: requests with the same value may share a batch; arguments: what differs between them."""

    name: str
    alike: Hashable
    arguments: tuple[Any, ...]
    options: dict[str, Any] = field(default_factory=dict)
    answer: Any = None
    error: Exception | None = None
    answered: bool = False


class Gatherer:
    """Stands in for a loaded ctranslate2.models.Whisper; only `run` may be using it at the time."""

    def __init__(self, model: Any) -> None:
        self._model = model
        self._turn = threading.Condition()
        self._running = 0
        self._waiting: dict[int, _Request] = {}
        self._job = threading.local()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._model, name)

    def run(self, jobs: Sequence[Callable[[], Any]]) -> list[Any]:
        """What the jobs return, in their order. The first job's exception is raised when all have ended."""
        results: list[Any] = [None] * len(jobs)
        errors: dict[int, BaseException] = {}

        def work(index: int) -> None:
            self._job.index = index
            try:
                results[index] = jobs[index]()
            except BaseException as error:  # handed on to the caller below
                errors[index] = error
            finally:
                self._leave()

        self._running = len(jobs)
        threads = [threading.Thread(target=work, args=(index,), daemon=True) for index in range(len(jobs))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        if errors:
            raise errors[min(errors)]
        return results

    # what a loaded model can do, as jobs call it

    def encode(self, features: Any, to_cpu: bool = False) -> Any:
        del to_cpu  # rows of a batch are handed out one by one, so they come to the processor in any case
        sound = np.asarray(features)
        return self._ask(_Request("encode", sound.shape[1:], (sound,)))

    def generate(self, features: Any, prompts: Sequence[Sequence[int]], **options: Any) -> Any:
        encoded = np.asarray(features)
        alike = (encoded.shape[1:], tuple(map(tuple, prompts[:1])), tuple(sorted((key, str(value)) for key, value in options.items())))
        return self._ask(_Request("generate", alike, (encoded, list(prompts)), options))

    def align(self, features: Any, start: Sequence[int], texts: Sequence[Sequence[int]], frames: int | Sequence[int], **options: Any) -> Any:
        encoded, per_text = np.asarray(features), [frames] * len(texts) if isinstance(frames, int) else list(frames)
        alike = (encoded.shape[1:], tuple(start), tuple(sorted(options.items())), all(texts) or object())
        return self._ask(_Request("align", alike, (encoded, list(texts), per_text), {"start": list(start), **options}))

    # lockstep

    def _ask(self, request: _Request) -> Any:
        with self._turn:
            self._waiting[self._job.index] = request
            if len(self._waiting) == self._running:
                self._serve()
            while not request.answered:
                self._turn.wait()
        if request.error is not None:
            raise request.error
        return request.answer

    def _leave(self) -> None:
        with self._turn:
            self._running -= 1
            if self._waiting and len(self._waiting) == self._running:
                self._serve()

    def _serve(self) -> None:
        groups: dict[Hashable, list[_Request]] = {}
        for _, request in sorted(self._waiting.items()):
            groups.setdefault((request.name, request.alike), []).append(request)
        self._waiting = {}
        for group in groups.values():
            try:
                self._batch(group)
            except Exception as error:  # every job of the batch meets it
                for request in group:
                    request.error = error
            for request in group:
                request.answered = True
        self._turn.notify_all()

    def _batch(self, group: Sequence[_Request]) -> None:
        sizes = [len(request.arguments[0]) for request in group]
        rows = _view(np.concatenate([request.arguments[0] for request in group]))
        name, options = group[0].name, dict(group[0].options)
        if name == "encode":
            encoded = np.asarray(self._model.encode(rows, to_cpu=True))
            answers: Sequence[Any] = [_view(part) for part in np.split(encoded, np.cumsum(sizes)[:-1])]
        else:
            lists = [[item for request in group for item in request.arguments[n]] for n in range(1, len(group[0].arguments))]
            found = (self._model.generate(rows, *lists, **options) if name == "generate"
                     else self._model.align(rows, options.pop("start"), *lists, **options))
            edges = np.cumsum([0, *sizes]).tolist()
            answers = [found[low:high] for low, high in pairwise(edges)]
        for request, answer in zip(group, answers, strict=True):
            request.answer = answer


def _view(rows: NDArray[Any]) -> ctranslate2.StorageView:
    return ctranslate2.StorageView.from_array(np.ascontiguousarray(rows))
