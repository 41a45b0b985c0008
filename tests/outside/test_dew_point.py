"""Dew point and saturation pressure against worked values.

Source: WMO-No. 8, Guide to Instruments and Methods of Observation, Annex 4.B (formula seen in an instrument manual's copy);
the expected figures are computed by hand from it: 20 C / 50 %, 25 C / 60 %, 30 C / 80 %, and the saturation pressure at 20 C.
"""
import pytest

from debrief.checks.consistency import dew_point_c, saturation_hpa


@pytest.mark.parametrize(("celsius", "humidity", "expected"), [(20, 50, 9.255), (25, 60, 16.693), (30, 80, 26.169)])
def test_dew_point(celsius, humidity, expected):
    assert dew_point_c(celsius, humidity) == pytest.approx(expected, abs=0.002)


def test_saturation_pressure():
    assert saturation_hpa(20) == pytest.approx(23.326, abs=0.001)


def test_a_humidity_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="relative humidity 0 %: must be above 0 and at most 100"):
        dew_point_c(20, 0)
