"""Of what a value is told: words that bound or give it, verbs, sources and the numbers of things are no names of measures."""

import pytest
from readout_rows import rows_of

from debrief.wording.spoken_numbers import read_numbers


def told(tmp_path, *lines):
    """(name, value, class) of each readout. lines: (speaker, text)."""
    return [(str(row.get("parameter")).lower(), str(row.get("value")), str(row.get("class"))) for row in rows_of(tmp_path, *lines)]


@pytest.mark.parametrize(("line", "value", "sort"), [
    ("Permitted is point four.", "0.4", "limit"), ("The limit there is point five.", "0.5", "limit"), ("Allowed's point four.", "0.4", "limit"),
    ("Alert is point five.", "0.5", "limit"), ("The calculation gave point four.", "0.4", "forecast")])
def test_a_bound_that_names_nothing_is_of_what_was_told_last(line, value, sort, tmp_path):
    assert told(tmp_path, ("A", "Seal leakage is point three bar."), ("B", line))[-1] == ("seal leakage", value, sort)


@pytest.mark.parametrize(("before", "line", "name"), [
    ("Shackle load's four point one tonnes.", "Don't pull more than five on it.", "shackle load"),
    ("Shaft runout is two thou.", "Don't roll with more than three thou on it.", "shaft runout")])
def test_behind_do_not_stands_a_verb_and_no_name(before, line, name, tmp_path):
    assert told(tmp_path, ("A", before), ("B", line))[-1][::2] == (name, "limit")


@pytest.mark.parametrize(("line", "value"), [
    ("Ridge tower says six.", "6"), ("Boiler house reads six for the same.", "6"), ("Second sample, six point two.", "6.2")])
def test_who_gave_a_value_or_which_reading_it_is_names_nothing(line, value, tmp_path):
    assert told(tmp_path, ("A", "Mast sway's five point eight centimetres."), ("B", line))[-1][:2] == ("mast sway", value)


@pytest.mark.parametrize(("line", "found"), [
    ("Bearing one, fifty eight. Two, sixty three. Three and four both fifty five.", [("bearing one", "58"), ("bearing two", "63"), ("bearing four", "55")]),
    ("Gauge one, sixty two microstrain. Gauge two, sixty five. Three, fifty eight.", [("gauge one", "62"), ("gauge two", "65"), ("gauge three", "58")]),
    ("cell 1 is .71 cell 2 .70 cell 3 .73", [("cell 1", "0.71"), ("cell 2", "0.70"), ("cell 3", "0.73")])])
def test_like_things_told_by_their_numbers_keep_their_numbers(line, found, tmp_path):
    assert [row[:2] for row in told(tmp_path, ("A", line))] == found


def test_a_thing_called_by_its_number_alone_is_the_one_told_of_before(tmp_path):
    rows = told(tmp_path, ("A", "Tank one, seventy percent. Tank two, sixty percent."), ("B", "Pressure on them?"),
                ("A", "One's six point two, two's seven, three's six point nine."))
    assert [row[:2] for row in rows[2:]] == [("tank one pressure", "6.2"), ("tank two pressure", "7"), ("tank three pressure", "6.9")]


def test_a_list_of_values_that_goes_up_by_one_numbers_nothing(tmp_path):
    rows = told(tmp_path, ("A", "Depth's four metres."), ("B", "Go on."), ("A", "Five, six, seven, eight metres."))
    assert [value for _, value, _ in rows] == ["4", "5", "6", "7", "8"]


@pytest.mark.parametrize(("said", "values"), [
    ("lowering 20 feet 10 5", ["20", "10", "5"]), ("4 7 11 percent", ["4", "7", "11"]), ("out of the bend 5.1 6.4 8 flat", ["5.1", "6.4", "8"]),
    ("3 4 4 and a half", ["3", "4", "4.5"]), ("cleats are 1 at 380 2 is 365 3 at 410", ["1", "380", "2", "365", "3", "410"]),
    ("holding 50, 2 is 35", ["50", "2", "35"]), ("5 point 6 5.9 6 there", ["5.6", "5.9", "6"]),
    ("pulse is 1 12 and temp 34 4", ["112", "34.4"]), ("peaked 9 10 amps", ["910"]), ("cells 12 10 and 12 15", ["1210", "1215"])])
def test_lists_of_figures_that_run_on_evenly_are_no_number_cut_in_pieces(said, values):
    assert [f"{number.value:f}" for number in read_numbers(said.split())] == values


@pytest.mark.parametrize(("before", "line", "found"), [
    ("Swell's point nine metres.", "Freeboard at the hatch, 0.6 metres. It was 0.7 in the harbour.", [("freeboard hatch", "0.6"), ("freeboard hatch", "0.7")]),
    ("Pressure after release?", "Zero bar. Shoes show eleven millimetres, before it was eleven point five.", [("shoes", "11"), ("shoes", "11.5")]),
    ("Winch load's four tonnes.", "Sway 10 degrees.", [("sway", "10")]),
    ("Winch load's four tonnes.", "The stack looks straight, about 1200 feet of ground roll.", [("ground roll", "1200")]),
    ("Bilge's four centimetres.", "Outside's minus two.", [("outside air temperature", "-2")]),
    ("Crosswind's four knots, humidity's fourteen percent.", "Crosswind max is ten.", [("crosswind speed", "10")]),
    ("Temperatures?", "X3s are 668 and 675.", [("x3 temperature", "668"), ("x3 temperature", "675")])])
def test_a_value_is_of_the_noun_that_opens_its_clause_or_of_what_it_was_just_told(before, line, found, tmp_path):
    assert [row[:2] for row in told(tmp_path, ("A", before), ("B", line))][-len(found):] == found


@pytest.mark.parametrize(("before", "line", "found"), [
    ("Temperature and sugar?", "36.8 and 7.4.", [("temperature", "36.8"), ("sugar", "7.4")]),
    ("Item five. Top speed.", "100. 110. 114, that's the governor.", [("top speed", "100"), ("top speed", "110"), ("top speed", "114")]),
    ("Pressure port is 4 bar.", "Exhausts. Port three eighty, starboard three ninety five.",
     [("port exhaust", "380"), ("starboard exhaust", "395")]),
    ("Go on.", "brake path 22 left 21 right", [("left brake path", "22"), ("right brake path", "21")]),
    ("Go on.", "Bank B's a full twenty eight fifty.", [("bank", "2850")])])
def test_what_is_asked_headed_or_told_apart_behind_its_value(before, line, found, tmp_path):
    assert [row[:2] for row in told(tmp_path, ("A", before), ("B", line))][-len(found):] == found


@pytest.mark.parametrize(("before", "line", "found"), [
    ("Go on.", "Moisture on the last tray was fifteen point two.", ("moisture tray", "15.2")),
    ("Heart rate's seventy one.", "As expected. Go to seventy.", ("none", "70")),
    ("Fork pressure's fourteen bar.", "It's slipping, I count fifteen.", ("fork pressure", "15"))])
def test_what_opens_a_clause_leads_and_what_nobody_can_order_is_not_ordered(before, line, found, tmp_path):
    assert told(tmp_path, ("A", before), ("B", line))[-1][:2] == found


def test_a_mark_that_somebody_gives_is_no_reading(tmp_path):
    assert told(tmp_path, ("A", "Boat speed's thirteen knots."), ("B", "The helm's a three."))[1:] == []
