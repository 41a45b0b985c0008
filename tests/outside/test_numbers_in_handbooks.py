"""Spoken numbers as the handbooks print them.

Sources: ICAO Annex 10 vol. II 5.2.1.4 (a copy seen); UK CAP 413 (seen); FAA AIM 4-2 (seen); ACP 125 as quoted in a training
publication (seen); ITU Radio Regulations App. 14 (a copy seen); 'triple three zero', 'one oh six' heard from controllers (common
practice, no source).
"""
import pytest

from debrief.wording.spoken_numbers import read_numbers

PRINTED = [
    ("ICAO", "flight level one eight zero", ["180"]),
    ("ICAO", "wind one six zero degrees one eight knots", ["160", "18"]),
    ("ICAO", "one zero zero zero", ["1000"]), ("ICAO", "three thousand four hundred", ["3400"]),
    ("ICAO", "one two thousand", ["12000"]), ("CAP 413", "flight level one hundred", ["100"]),
    ("CAP 413", "one two two decimal one", ["122.1"]), ("CAP 413", "WUN TOO TREE FOWER FIFE AIT NINER", ["1234589"]),
    ("FAA AIM", "one zero thousand", ["10000"]), ("FAA AIM", "one three thousand five hundred", ["13500"]),
    ("FAA AIM", "one two two point one", ["122.1"]), ("ACP 125", "FOWER FOWER", ["44"]), ("ACP 125", "FIFE ZERO ZERO", ["500"]),
    ("ACP 125", "WUN SIX TOU-ZAND", ["16000"]), ("ITU", "NADAZERO UNAONE BISSOTWO", ["012"]), ("practice", "triple three zero", ["3330"]),
    ("practice", "level three hundred", ["300"]), ("practice", "one oh six", ["106"]),
]


@pytest.mark.outside
@pytest.mark.parametrize(("source", "said", "expected"), PRINTED)
def test_as_printed(source, said, expected):
    read = read_numbers(said.split())
    assert [number.text if number.text.startswith("0") else str(number.value) for number in read] == expected
