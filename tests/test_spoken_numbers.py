"""One grammar for spoken numbers: golden readings, and every number in every style reads back."""
from decimal import Decimal

import pytest
from bench.read_all_numbers import STYLES, digit_by_digit, reads_back
from hypothesis import given
from hypothesis import strategies as st

from debrief.wording.spoken_numbers import read_numbers

ONE = [
    ("one two zero two", "1202"), ("niner fife tree", "953"), ("triple three zero", "3330"), ("double oh seven", "7"),
    ("one oh six", "106"), ("five forty", "540"), ("a hundred and five", "105"), ("twelve hundred", "1200"),
    ("one thousand one", "1001"), ("nought point four", "0.4"), ("point seven", "0.7"), ("two decimal five", "2.5"),
    ("point thirty-five", "0.35"), ("seventeen and a half", "17.5"), ("1 1/2", "1.5"), ("three quarters", "0.75"),
    ("minus two and a half", "-2.5"), ("25 negative", "-25"), ("minus 040", "-40"), ("1, 8, 8", "188"), ("80, 2", "82"), ("4-5", "45"),
    ("33 1", "33.1"), ("3*1", "3.1"), ("3.5-", "3.5"), ("1,200", "1200"), ("60%", "60"), ("5psi", "5"), ("34.30", "34.30"),
    ("forty-two", "42"), ("zip", "0"), ("nadazero unaone", "1"),
    ("1 9.5", "19.5"), ("3.4 9", "3.49"), ("7-1/2", "7.5"), ("4 3/4", "4.75"), ("four three quarters", "4.75"), ("9-92", "92"),
    ("23 - 234", "234"), ("3 - 8", "3.8"), ("half a mile", "0.5"), ("a half", "0.5"), ("fours for roll", "4"), ("5k", "5000"),
    ("a couple of hundred yards", "200"), ("a dozen", "12"), ("ten below zero", "-10"), ("two million three hundred thousand", "2300000"),
    ("one hundred and five thousand, two hundred and six", "105206"), ("twenty-first", "21"), ("thirteenth", "13"), ("2 08", "208"),
    ("one three thousand five hundred", "13500"), ("wun too tree fower", "1234"), ("one two two decimal one", "122.1"),
]


@pytest.mark.parametrize(("said", "value"), ONE)
def test_one_number(said, value):
    (number,) = read_numbers(said.split())
    assert str(number.value) == value


@pytest.mark.parametrize(("said", "values"), [
    ("52 and 31.6", ["52", "31.6"]), ("Eight... ten... twelve.", ["8", "10", "12"]), ("3, 2, 1", ["3", "2", "1"]),
    ("main one nine five, backup two zero eight", ["195", "208"]), ("five, nine, twelve", ["5", "9", "12"]),
    ("102-101, 78-100", ["102", "101", "78", "100"]), ("90 98 cabin pressure", ["90", "98"]), ("120 over 80", ["120", "80"]),
    ("160/18", ["160", "18"]), ("thirty forty fifty", ["30", "40", "50"]), ("180 007 000", ["180", "7", "0"]),
    ("from 3.8 to 3.6", ["3.8", "3.6"]), ("two point eight three point five", ["2.8", "3.5"]), ("1B — 4.5, 1C — 4", ["4.5", "4"]),
])
def test_lists_stay_lists(said, values):
    assert [str(number.value) for number in read_numbers(said.split())] == values


@pytest.mark.parametrize(("said", "low", "high"), [
    ("thirty to thirty five", "30", "35"), ("between 4 and 5", "4", "5"), ("30-35 percent", "30", "35"), ("4-5 knots", "4", "5"),
    ("two and a half to three", "2.5", "3"), ("7-1/2 to 8", "7.5", "8"),
])
def test_ranges(said, low, high):
    (number,) = read_numbers(said.split())
    assert (str(number.value), str(number.value_high)) == (low, high)


@pytest.mark.parametrize("said", ["", "to too for won ate", "oh no", "negative, say again", "the half brake", "you are a go",
        "and or the", "wait one",
                                  "stand by one", "another one", "02 flag is off", "panel 1A"])
def test_words_that_are_no_numbers(said):
    assert read_numbers(said.split()) == ()


def test_zeros_and_places_are_kept_as_said():
    (number,) = read_numbers("zero four one".split())
    assert (number.text, number.value) == ("041", Decimal(41))


def test_both_fair_readings_are_kept():
    (number,) = read_numbers("seventeen eight".split())
    assert (number.value, number.others) == (Decimal("17.8"), (Decimal(178),))


@pytest.mark.parametrize(("said", "value", "other"), [
    ("Negative 12 and", "12", "-12"), ("plus or minus two", "2", "-2"), ("twenty nine fifty", "2950", "29.50"), ("33 1", "33.1", "331"),
])
def test_the_less_likely_reading_is_kept_beside(said, value, other):
    (number,) = read_numbers(said.split())
    assert (str(number.value), [str(one) for one in number.others]) == (value, [other])


def test_a_list_taken_for_one_digit_string_keeps_its_pieces():
    (number,) = read_numbers("1, 8, 8".split())
    assert (number.value, number.pieces) == (188, (1, 8, 8))


def test_numbers_do_not_overlap_save_in_one_word():
    found = read_numbers("fuel 102-101 and seven point five to eight, 3/4".split())
    assert [(n.start, n.end) for n in found] == [(1, 2), (1, 2), (3, 8), (8, 9)]


@given(st.integers(0, 999_999), st.sampled_from(sorted(STYLES)))
def test_every_number_reads_back_in_every_style(n, style):
    assert reads_back(n, STYLES[style](n))


def test_reading_back_can_fail():
    assert not reads_back(7, "eight")
    assert not reads_back(7, "seven and seven")


@given(st.integers(0, 9999), st.integers(0, 999), st.sampled_from(["point", "decimal"]))
def test_decimals_read_back_with_their_places(whole, places, word):
    said = f"{digit_by_digit(whole)} {word} {' '.join(digit_by_digit(int(digit)) for digit in f'{places:03d}')}"
    (number,) = read_numbers(said.split())
    assert str(number.value) == f"{whole}.{places:03d}"


@given(st.lists(st.sampled_from(("one two oh zero point hundred thousand and a half to minus 3 4.5 1/2 5-6 mark, - negative double triple fifty "
                                 "niner decimal .5 0.0 1.2.3 2,000 ½ ٣ 1e5 60: quarter second").split())))
def test_any_words_are_read_without_a_crash_and_in_order(words):
    found = read_numbers(words)
    assert all(0 <= number.start < number.end <= len(words) for number in found)
    assert [number.start for number in found] == sorted(number.start for number in found)


@pytest.mark.parametrize("said", ["14 6 point 5", "3 - 8 point 5", "1 1/2 decimal 5", "3.5 point 2", "5k point 1"])
def test_a_second_point_is_never_put_into_a_number_that_has_one(said):
    assert read_numbers(said.split())


@pytest.mark.parametrize(("said", "values"), [
    ("Number one, two hundred and ten. Number two two oh five.", ["1", "210", "2", "205"]),
    ("Bearing one twelve, bearing two fifteen, three is eighteen, four eleven.", ["1", "12", "2", "15", "3", "18", "4", "11"]),
    ("One's one sixty. Two one fifty two.", ["160", "2", "152"]),
    ("P one is at four, P two nine point eight", ["1", "4", "2", "9.8"]),
    ("T five six hundred and ninety", ["5", "690"]), ("wind two eight zero eighteen", ["280", "18"]),
    ("pressure two two oh five", ["2205"]), ("bank two two oh five", ["2205"]),
])
def test_names_are_parted_from_values_where_they_count_on(said, values):
    assert [str(number.value) for number in read_numbers(said.split())] == values


@pytest.mark.parametrize(("said", "value"), [
    ("two times ten to the minus five", "0.00002"), ("4 times 10 to the minus 5", "0.00004"), ("three times ten to the four", "30000"),
])
def test_powers_of_ten(said, value):
    (number,) = read_numbers(said.split())
    assert str(number.value) == value


@pytest.mark.parametrize(("said", "value"), [
    ("four point ate.", "4.8"), ("three point to kilo newtons", "3.2"), ("ninety for metres", "94"), ("90 for metres", "94"),
    ("one won zero", "110"), ("I'd give it a to.", "2"), ("twenty too.", "22"),
])
def test_words_that_sound_like_digits_count_where_only_a_digit_fits_and_are_marked(said, value):
    (number,) = read_numbers(said.split())
    assert (str(number.value), number.alike) == (value, True)


@pytest.mark.parametrize(("said", "values"), [
    ("twenty for lunch", ["20"]), ("go to two for a while", ["2"]), ("three to five", ["3"]), ("forty to fifty", ["40"]), ("is that a for?", []),
    ("thirty too many", ["30"]),
])
def test_words_that_sound_like_digits_stay_words_elsewhere(said, values):
    found = read_numbers(said.split())
    assert ([str(number.value) for number in found], [number.alike for number in found]) == (values, [False] * len(values))
