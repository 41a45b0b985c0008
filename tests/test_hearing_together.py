"""Windows in batches: the same answers as one by one, whatever the threads do; batches that depend on the jobs alone."""
import time
from types import SimpleNamespace

import ctranslate2
import numpy as np
import pytest

from debrief.errors import ModelError
from debrief.hearing.hear import hear_windows
from debrief.hearing.models import find_model
from debrief.hearing.recogniser import NO_HINTS, BatchRecogniser, HeardSegment, HeardWord
from debrief.hearing.recording import read_span
from debrief.hearing.together import Gatherer
from debrief.hearing.windows import Window
from debrief.records.sound import Recording, Source
from debrief.timebase import Span


class CountingModel:
    """Encodes to twice the sound, generates the first value of each row, aligns to (sum of text, frames); notes each call's size."""

    def __init__(self):
        self.calls = []

    def encode(self, features, to_cpu=False):
        rows = np.asarray(features)
        self.calls.append(("encode", len(rows)))
        return ctranslate2.StorageView.from_array(rows * 2)

    def generate(self, features, prompts, beam_size=1):
        rows = np.asarray(features)
        self.calls.append(("generate", len(rows)))
        return [(float(row.ravel()[0]), list(prompt), beam_size) for row, prompt in zip(rows, prompts, strict=True)]

    def align(self, features, start, texts, frames, width=7):
        rows = np.asarray(features)
        self.calls.append(("align", len(rows)))
        return [(float(row.ravel()[0]), sum(text), count, width) for row, text, count in zip(rows, texts, frames, strict=True)]


def job(gatherer, value, rounds=1, wait_s=0.0):
    def work():
        found = []
        for turn in range(rounds):
            time.sleep(wait_s)
            encoded = gatherer.encode(ctranslate2.StorageView.from_array(np.full((1, 2, 3), value + turn, np.float32)))
            said = gatherer.generate(encoded, [[7, 8]], beam_size=5)[0]
            timed = gatherer.align(encoded, [7], [[turn, value]], 300, width=3)[0]
            found.append((said, timed))
        return found
    return work


def expected(value, rounds=1):
    return [((2.0 * (value + turn), [7, 8], 5), (2.0 * (value + turn), turn + value, 300, 3)) for turn in range(rounds)]


def test_every_job_gets_its_own_answers_and_calls_are_batched():
    model = CountingModel()
    gatherer = Gatherer(model)
    assert gatherer.run([job(gatherer, value) for value in range(5)]) == [expected(value) for value in range(5)]
    assert model.calls == [("encode", 5), ("generate", 5), ("align", 5)]


def test_batches_do_not_depend_on_how_fast_the_threads_are():
    orders = []
    for waits in ((0.0, 0.02, 0.01), (0.03, 0.0, 0.02)):
        model = CountingModel()
        gatherer = Gatherer(model)
        jobs = [job(gatherer, value, rounds, wait) for value, (rounds, wait) in enumerate(zip((1, 3, 2), waits, strict=True))]
        assert gatherer.run(jobs) == [expected(value, rounds) for value, rounds in enumerate((1, 3, 2))]
        orders.append(model.calls)
    assert orders[0] == orders[1]
    assert [size for name, size in orders[0] if name == "encode"] == [3, 2, 1]


def test_calls_that_differ_in_more_than_rows_are_not_mixed():
    model = CountingModel()
    gatherer = Gatherer(model)

    def ask(prompt, beam):
        encoded = gatherer.encode(ctranslate2.StorageView.from_array(np.ones((1, 2, 3), np.float32)))
        return gatherer.generate(encoded, [prompt], beam_size=beam)[0]

    found = gatherer.run([lambda: ask([1], 5), lambda: ask([1, 2], 5), lambda: ask([1], 3)])
    assert [item[1:] for item in found] == [([1], 5), ([1, 2], 5), ([1], 3)]
    assert [call for call in model.calls if call[0] == "generate"] == [("generate", 1)] * 3


def test_a_failing_job_leaves_the_others_whole_and_is_told():
    model = CountingModel()
    gatherer = Gatherer(model)
    done = []

    def broken():
        raise ValueError("no sound in this window")

    with pytest.raises(ValueError, match="no sound in this window"):
        gatherer.run([lambda: done.append(job(gatherer, 4)()), broken])
    assert done == [expected(4)]


def test_a_failing_batch_is_met_by_every_job_of_it():
    model = CountingModel()
    model.generate = lambda *_, **__: (_ for _ in ()).throw(RuntimeError("out of memory on the card"))
    gatherer = Gatherer(model)
    with pytest.raises(RuntimeError, match="out of memory on the card"):
        gatherer.run([job(gatherer, 1), job(gatherer, 2)])
    assert gatherer.run([lambda: 5]) == [5]


class Batching:
    """Says how many sounds it was given at once."""

    name = digest = "made"

    def __init__(self, batch):
        self.batch, self.settings, self.given = batch, {}, []

    def hear(self, sound, hints):
        self.given.append(1)
        return (HeardSegment((HeardWord(f"s{len(sound)}", 0.0, 0.5, 0.9),), -0.1, 0.1, 1.0),)

    def hear_many(self, sounds, hints):
        self.given.append(len(sounds))
        return [(HeardSegment((HeardWord(f"s{len(sound)}", 0.0, 0.5, 0.9),), -0.1, 0.1, 1.0),) for sound in sounds]

    def weigh(self, sound, candidates, free, with_end=False):
        raise NotImplementedError


@pytest.fixture
def seven(monkeypatch):
    monkeypatch.setattr("debrief.hearing.hear.window_sound", lambda recording, window: np.zeros(100 + window.index, np.float32))
    source = Source("r1", 0)
    windows = [Window(index, source, (Span(index * 16_000, index * 16_000 + 16_000),)) for index in range(7)]
    return Recording("r1", "a.wav", "", 7 * 16_000, 16_000, 1, ("Main",)), windows


@pytest.mark.parametrize("batch", [1, 3, 16])
def test_batches_change_neither_words_nor_ids(seven, batch):
    recording, windows = seven
    assert isinstance(Batching(batch), BatchRecogniser)
    alone = list(hear_windows(Batching(1), recording, windows, lambda _: False))
    assert list(hear_windows(Batching(batch), recording, windows, lambda _: False)) == alone
    assert [(window.index, segments[0].text) for window, segments in alone] == [(index, f"s{100 + index}") for index in range(7)]


def test_a_pass_that_goes_on_hears_the_batches_of_an_undisturbed_one(seven):
    recording, windows = seven
    recogniser = Batching(3)
    heard = dict(hear_windows(recogniser, recording, windows, lambda window: window.index in {0, 1, 2, 4}))
    assert recogniser.given == [3, 1]
    assert [window.index for window, segments in heard.items() if segments is None] == [0, 1, 2, 4]


def test_a_recogniser_that_knows_no_batches_hears_one_by_one(seven):
    recording, windows = seven
    plain = SimpleNamespace(hear=Batching(1).hear)
    assert len([segments for _, segments in hear_windows(plain, recording, windows, lambda _: False) if segments]) == 7


@pytest.mark.model
@pytest.mark.timeout(300)
def test_with_real_weights_a_batch_hears_what_single_windows_hear():
    try:
        weights = find_model("base")
    except ModelError as error:
        pytest.skip(f"needs the weights: {error.what}")
    from debrief.demo_files import demo_folder
    from debrief.hearing.whisper import WhisperRecogniser, WhisperSettings

    recogniser = WhisperRecogniser(weights, WhisperSettings(batch=3))
    sounds = [read_span(demo_folder() / "valley.opus", 0, Span.of_seconds(start, start + 12)) for start in (12, 206, 271)]
    assert recogniser.settings["batch"] == "3"
    alone = [recogniser.hear(sound, NO_HINTS) for sound in sounds]
    together = recogniser.hear_many(sounds, NO_HINTS)
    assert any(alone)
    words = [[[word.text for word in segment.words] for segment in heard] for heard in (*alone, *together)]
    assert words[:3] == words[3:]
    times = [[word.start_s for segment in heard for word in segment.words] for heard in (*alone, *together)]
    assert np.allclose(np.concatenate(times[:3]), np.concatenate(times[3:]), atol=0.05)


class Card:
    """Stands in for a loaded model on a card, with or without its arithmetic library."""

    def __init__(self, device, whole):
        self.device, self.whole = device, whole
        self.model = SimpleNamespace(n_mels=80, is_multilingual=True)
        self.hf_tokenizer = None

    def encode(self, features):
        assert features.shape == (80, 3000)
        if not self.whole:
            raise RuntimeError("Library libcublas.so.12 is not found or cannot be loaded")


@pytest.fixture
def one_card(monkeypatch):
    """A machine with a card; gives the list of what was loaded, and whether the card's library is there."""
    from debrief.hearing import whisper

    loaded, state = [], {"whole": True}
    monkeypatch.setattr(whisper.ctranslate2, "get_cuda_device_count", lambda: 1)
    monkeypatch.setattr(whisper, "_load", lambda _weights, device, compute, _threads: loaded.append((device, compute)) or Card(device, state["whole"]))
    monkeypatch.setattr(whisper, "Tokenizer", lambda *_, **__: None)
    monkeypatch.setattr(whisper, "Weigher", lambda *_: None)
    return whisper, loaded, state


def test_a_card_is_used_by_itself_with_batches(one_card):
    whisper, loaded, _ = one_card
    recogniser = whisper.WhisperRecogniser(SimpleNamespace(name="base", digest="d"))
    assert loaded == [("cuda", "float16")]
    assert recogniser.batch == whisper.CARD_BATCH
    assert recogniser.settings["batch"] == str(whisper.CARD_BATCH)


def test_a_card_without_its_library_is_left_for_the_processor(one_card):
    whisper, loaded, state = one_card
    state["whole"] = False
    recogniser = whisper.WhisperRecogniser(SimpleNamespace(name="base", digest="d"))
    assert loaded == [("cuda", "float16"), ("cpu", "int8")]
    assert (recogniser.batch, recogniser.settings["device"], "batch" in recogniser.settings) == (1, "cpu", False)
