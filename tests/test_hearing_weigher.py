"""What weighing gives the model: features of a short span in silence, reckoned without reckoning the silence."""
import numpy as np
import pytest
from faster_whisper.feature_extractor import FeatureExtractor

from debrief.hearing.weigher import Weigher, padded_features

WINDOW = 480_000


@pytest.mark.parametrize("length", [1, 399, 16_000, 48_017, 479_900, WINDOW])
@pytest.mark.parametrize("loudness", [0.1, 1e-7, 0.0])
def test_features_are_those_of_the_sound_padded_with_silence(length, loudness):
    sound = (loudness * np.random.default_rng(3).normal(0, 1, length)).astype(np.float32)
    extractor = FeatureExtractor()
    whole = extractor(np.pad(sound, (0, WINDOW - length)))[:, :3000]
    short = padded_features(extractor, sound)
    assert short.dtype == np.float32
    np.testing.assert_allclose(short, whole, atol=1e-6)


def test_a_short_span_is_reckoned_alone():
    asked = []

    def extractor(sound):
        asked.append(len(sound))
        return np.zeros((80, len(sound) // 160 + 1), np.float32)

    assert padded_features(extractor, np.zeros(48_000, np.float32)).shape == (80, 3000)
    assert asked == [48_400]


class Encoder:
    """A model and a tokenizer that only tell how much they were given to encode."""

    sot_sequence, eot, asked = (1,), 2, 0

    def __init__(self):
        self.model, self.feature_extractor = self, FeatureExtractor()

    def encode(self, given, to_cpu=False):
        if isinstance(given, str):
            return [3]
        self.asked = given.shape[2]
        return np.zeros((1, self.asked // 2, 512), np.float32)


@pytest.mark.parametrize(("seconds", "columns", "positions"), [(2, 1500, 160), (12, 1700, 660), (29, 3000, 1500)])
def test_a_span_is_encoded_with_silence_behind_it_and_no_more_than_it_needs(seconds, columns, positions):
    model = Encoder()
    output, frames = Weigher(model, model)._encode(np.zeros(seconds * 16_000, np.float32))
    assert (model.asked, output.shape[1], frames) == (columns, positions, seconds * 100)
