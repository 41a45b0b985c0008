"""What weighing gives the model: features of a short span in silence, reckoned without reckoning the silence."""
import numpy as np
import pytest
from faster_whisper.feature_extractor import FeatureExtractor

from debrief.hearing.weigher import padded_features

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
