"""The learnt ear: its file, the merging to the last bit, and what is refused."""
import numpy as np
import pytest
from made_model import MATRIX, made_ear, model_bytes

from debrief.errors import ModelError
from debrief.hearing.ear import Correction, Ear, ear_bytes, merge, read_ear


@pytest.fixture
def base(tmp_path):
    path = tmp_path / "model.bin"
    path.write_bytes(model_bytes(MATRIX))
    return path


def test_merging_adds_the_product_and_rounds_once(base, tmp_path):
    merge(base, made_ear(base), tmp_path / "merged.bin")
    correction = made_ear(base).corrections["a/weight"]
    wanted = np.empty((3, 4), np.float16)
    for row in range(3):
        for column in range(4):
            whole = sum(int(correction.up[row, k]) * int(correction.down[k, column]) for k in range(2))
            wanted[row, column] = np.float16(float(MATRIX[row, column]) + whole * float(correction.up_scale[row]) * float(correction.down_scale[column]))
    assert not np.array_equal(wanted, MATRIX)
    assert (tmp_path / "merged.bin").read_bytes() == model_bytes(wanted)


def test_an_ear_is_read_back_as_it_was_written(base, tmp_path):
    ear = made_ear(base)
    (tmp_path / "x.ear").write_bytes(ear_bytes(ear))
    again = read_ear(tmp_path / "x.ear")
    assert again.base == ear.base
    assert ear_bytes(again) == ear_bytes(ear)
    np.testing.assert_array_equal(again.corrections["a/weight"].added(), ear.corrections["a/weight"].added())


@pytest.mark.parametrize("change", [lambda data: data[:-1], lambda data: data + b"x", lambda data: data.replace(b"debrief-ear-1", b"debrief-ear-9"),
                                    lambda data: data.replace(b'"rank": 2', b'"rank": 9'), lambda data: data.replace(b'"rows": 3', b'"rows": -3'),
                                    lambda data: b"PK" + data, lambda data: b""])
def test_a_broken_ear_is_refused(base, tmp_path, change):
    (tmp_path / "x.ear").write_bytes(change(ear_bytes(made_ear(base))))
    with pytest.raises(ModelError, match="the ear is not whole or not an ear") as refused:
        read_ear(tmp_path / "x.ear")
    assert refused.value.todo


def test_a_missing_ear_says_so(tmp_path):
    with pytest.raises(ModelError, match="the ear cannot be read"):
        read_ear(tmp_path / "none.ear")


def test_another_base_is_refused(base, tmp_path):
    ear = made_ear(base)
    base.write_bytes(model_bytes(MATRIX * 2))
    with pytest.raises(ModelError, match="the ear was made for other weights than these"):
        merge(base, ear, tmp_path / "merged.bin")


@pytest.mark.parametrize(("ear", "said"), [({"name": "c/weight"}, "lacks c/weight"), ({"rows": 2}, r"a/weight is \(3, 4\), the ear's correction \(2, 4\)"),
                                           ({"name": "heads"}, "lacks heads")])
def test_an_ear_that_does_not_fit_is_refused(base, tmp_path, ear, said):
    with pytest.raises(ModelError, match=said):
        merge(base, made_ear(base, **ear), tmp_path / "merged.bin")


def test_a_base_cut_short_is_refused(base, tmp_path):
    base.write_bytes(base.read_bytes()[:60])
    with pytest.raises(ModelError, match=r"model.bin cannot be read: it ends too early"):
        merge(base, made_ear(base), tmp_path / "merged.bin")


def test_a_correction_past_what_float16_holds_is_refused(base, tmp_path):
    ear = made_ear(base)
    one = ear.corrections["a/weight"]
    huge = Ear(ear.base, {"a/weight": Correction(one.up, one.down, one.up_scale * np.float32(1e6), one.down_scale)})
    with pytest.raises(ModelError, match="not finite"):
        merge(base, huge, tmp_path / "merged.bin")
