"""What a spoken value is of: numbers that name things, words that name nothing, values told with their name behind them."""

import pytest
from readout_rows import rows_of

from debrief.wording.spoken_numbers import read_numbers


def told(tmp_path, *lines):
    return [(str(row.get("parameter")).lower(), str(row.get("value"))) for row in rows_of(tmp_path, *lines)]


@pytest.mark.parametrize(("said", "values"), [
    ("Vat one's at seven bar, vat two six and a half", ["7", "2", "6.5"]), ("dial three peaked at six forty, dial seven four ten", ["3", "640", "7", "410"]),
    ("Pile one is up, pile two eighty nine", ["1", "2", "89"]), ("oven one hundred four is up, oven two hundred", ["104", "200"]),
    ("power three twenty, settling, power two sixty", ["320", "260"]), ("bearing one twelve, bearing two fifteen", ["1", "12", "2", "15"])])
def test_another_thing_of_a_kind_is_parted_from_its_value(said, values):
    assert [number.text for number in read_numbers(said.split())] == values


@pytest.mark.parametrize(("line", "found"), [
    ("Tap eleven, forty eight kelvin. Tap twelve's thirty nine.", [("48", "11"), ("39", "12")]),
    ("Wire five minus one ninety eight. Wire six minus two hundred.", [("-198", "five"), ("-200", "six")])])
def test_the_number_of_a_thing_belongs_to_its_name(line, found, tmp_path):
    rows = told(tmp_path, ("A", "Strain?"), ("B", line))
    assert [value for _, value in rows] == [value for value, _ in found]


@pytest.mark.parametrize("line", ["The 150 is running warm.", "Watch the thirty eight.", "Stake eighty seven.", "Ladle four first."])
def test_what_only_points_at_a_thing_or_a_value_is_no_readout(line, tmp_path):
    assert told(tmp_path, ("A", "Inverters?"), ("B", line)) == []


def test_a_name_and_figures_at_the_head_of_a_turn_are_a_callsign(tmp_path):
    rows = told(tmp_path, ("T", "Osprey two one, Tower, wind two five zero at twelve."), ("P", "Osprey two one. Flaps twenty."),
                ("T", "Two one, altimeter setting is thirty point one."))
    assert [value for _, value in rows] == ["250", "12", "20", "30.1"]


def test_a_measure_at_the_head_of_a_turn_is_no_callsign(tmp_path):
    assert told(tmp_path, ("A", "Torque four five, and steady."), ("A", "Torque four six, and steady.")) == [("torque", "45"), ("torque", "46")]


@pytest.mark.parametrize(("before", "line", "found"), [
    ("How are you?", "Oxygen A three and a quarter, B four point nine.", [("oxygen a", "3.25"), ("oxygen b", "4.9")]),
    ("Depth thirty one.", "Bit's at thirty eight.", [("bit", "38")]),
    ("Go.", "Heading's moving, five degrees bank.", [("bank", "5")]),
    ("Attitude?", "It looks good, we read minus 34 in pitch.", [("pitch", "-34")]),
    ("Go.", "Cabin's 5.05 on pressure, PPO2 is 3.6.", [("cabin", "5.05"), ("ppo2", "3.6")]),
    ("Go.", "Kettle seven's water is up. Seven's reading forty one.", [("kettle seven", "41")])])
def test_a_value_is_of_what_stands_nearest_in_its_clause(before, line, found, tmp_path):
    rows = told(tmp_path, ("A", before), ("B", line))[-len(found):]
    assert [value for _, value in rows] == [value for _, value in found]
    assert all(name.split()[0] == given.split()[0] and name.split()[-1] in given for (given, _), (name, _) in zip(rows, found, strict=True))


@pytest.mark.parametrize(("before", "line"), [
    ("Can you trim it?", "Trimming. Point four five."), ("Start your pull down.", "I'm at plus four."), ("Fine.", "We turn you round at forty."),
    ("Go on.", "We got rid of about a quart and a half.")])
def test_a_verb_names_no_parameter(before, line, tmp_path):
    names = {name for name, _ in told(tmp_path, ("A", before), ("B", line))}
    assert not names & {"trim", "pull", "round", "rid"}


@pytest.mark.parametrize(("said", "values"), [
    ("9.1 9 decimal 1", ["9.1", "9.1"]), ("it's 3.4 9 point 2", ["3.4", "9.2"]), ("3.4 9", ["3.49"]), ("1 9 point 5", ["19.5"])])
def test_a_figure_that_begins_a_decimal_is_no_place_of_the_one_before(said, values):
    assert [number.text for number in read_numbers(said.split())] == values


@pytest.mark.parametrize(("asked", "line", "value"), [
    ("Go.", "Altimeter two nine nine eight, wind two five zero at twelve.", "29.98"), ("Your altimeter setting?", "Two niner niner four.", "29.94"),
    ("Go.", "Altimeter reads two nine zero zero feet.", "2900"), ("Go.", "Altimeter's five thousand.", "5000")])
def test_four_figures_of_an_altimeter_setting_have_a_point_in_them(asked, line, value, tmp_path):
    row = rows_of(tmp_path, ("T", asked), ("P", line))[0]
    assert str(row.get("value")) == value
    assert ("." in value) == (str(row.fields["value"].others[0]) == value.replace(".", "") if row.fields["value"].others else False)


def test_an_altimeter_setting_read_back_is_no_new_value(tmp_path):
    rows = told(tmp_path, ("T", "Altimeter two nine eight seven."), ("P", "Two niner eight seven. Fuel's four fifty pounds."))
    assert [value for _, value in rows] == ["29.87", "450"]


def test_a_word_in_ing_that_owns_a_value_is_its_name(tmp_path):
    rows = told(tmp_path, ("A", "Air temperature?"), ("B", "Thirty four degrees. Trailing thermocouple's twenty six, leading's thirty one."))
    assert rows[-1][0].startswith("leading")


@pytest.mark.parametrize(("asked", "line", "found"), [
    ("Peak g?", "Thirty one on the sled, thirty six at the seat.", [("sled", "31"), ("seat", "36")]),
    ("Helium level?", "Eighty three percent in the dewar, seventy six in the buffer.", [("dewar", "83"), ("buffer", "76")]),
    ("Go.", "Oil's flat. One ninety five bar on the accumulator.", [("accumulator", "195")]),
    ("Pressure?", "Sixty two on the nose.", [("pressure", "62")])])
def test_a_place_behind_a_value_tells_of_what_it_is(asked, line, found, tmp_path):
    rows = told(tmp_path, ("A", asked), ("B", line))
    assert [value for _, value in rows] == [value for _, value in found]
    assert all(word in name.split() for (word, _), (name, _) in zip(found, rows, strict=True))
    assert not any("nose" in name for name, _ in rows)


@pytest.mark.parametrize(("before", "line", "found"), [
    ("Go.", "Seepage at the weir one point four litres a second.", ("seepage", "1.4")),
    ("Go.", "Flexural strength off the beam test, three eighty kilopascals.", ("strength", "380")),
    ("Flow's forty two.", "It should be forty five by full current.", ("flow", "45")),
    ("Boiler pressure's one ninety five.", "We'd like you not below one eighty for the bank.", ("pressure", "180")),
    ("Go.", "The fan bearing is running warm, sixty eight.", ("bearing", "68")),
    ("Go.", "Brake 2 shows 5.2 bar.", ("brake", "5.2"))])
def test_where_when_and_what_for_are_not_what_is_measured(before, line, found, tmp_path):
    rows = told(tmp_path, ("A", before), ("B", line))
    assert rows[-1][1] == found[1]
    assert found[0] in rows[-1][0].split()
    assert "2" not in [value for _, value in rows]


@pytest.mark.parametrize(("line", "name", "value"), [
    ("Oil pressure's four point one, it dips to three.", "oil pressure", "3"), ("Body water's thirty one, I interlock at forty five.", "interlock", "45"),
    ("The draught is four metres, we clear out at fifty.", "clear", "50")])
def test_what_somebody_does_at_a_value_is_no_name(line, name, value, tmp_path):
    names = {given: found for given, found in told(tmp_path, ("A", line))}
    assert (name in names) == (name == "oil pressure")
    assert names.get(name) in (value, None)


@pytest.mark.parametrize(("said", "others"), [("eight-five", ["8.5"]), ("eighty-five", []), ("8-5", []), ("four-five", ["4.5"])])
def test_two_digits_in_one_word_keep_both_readings(said, others):
    assert [str(value) for value in read_numbers([said])[0].others] == others
