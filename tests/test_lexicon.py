"""Packs: loaded, checked, all faults at once with file and line."""
from pathlib import Path

import pytest

from debrief.errors import LexiconError
from debrief.wording.lexicon import load_lexicon, own_packs, packs_for
from debrief.wording.pack_lines import PackLines
from debrief.wording.soundalike import pronounce_words

GOOD = '''pack.name = "ferry"
pack.about = "Words of a ferry crossing."
sources.common = "common practice, no source"
parts = [
  { term = "bow visor", source = "common", sound_alikes = ["bough visor"] },
  { term = "ramp", source = "common", say = ["R AE M P"] },
]
frames = [
  { frame = "{parameter} is {value}", kind = "readouts", source = "common" },
]
'''


def write(folder: Path, text: str, name: str = "ferry.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def faults_of(path: Path) -> list[str]:
    with pytest.raises(LexiconError) as caught:
        load_lexicon((path,))
    return [str(fault) for fault in caught.value.faults]


def test_own_packs_load_and_every_term_has_a_source_and_a_pronunciation():
    lexicon = load_lexicon()
    assert set(lexicon.packs) == {"core", "suit_trial", "flight_test", "diving", "spaceflight_history"}
    assert len(lexicon.terms) > 300
    for term in lexicon.terms:
        assert term.source, term.term
        assert term.line, term.term
        assert term.say or pronounce_words(term.term.replace("-", " ").split()), term.term


@pytest.mark.outside
def test_spelling_alphabet_is_that_of_icao_annex_10():
    """ICAO Annex 10 vol. II, 5.2.1.3: Alfa to Zulu, from memory of the published table."""
    said = ("Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo Sierra "
            "Tango Uniform Victor Whiskey X-ray Yankee Zulu").split()
    assert [term.term for term in load_lexicon().of_kind("letters")] == said


def test_a_good_pack_loads_with_lines(tmp_path):
    lexicon = load_lexicon((write(tmp_path, GOOD),))
    assert [(term.term, term.line, term.pack) for term in lexicon.terms] == [("bow visor", 5, "ferry"), ("ramp", 6, "ferry")]
    assert lexicon.terms[1].say == (("R", "AE", "M", "P"),)
    assert lexicon.frames_of("readouts") == ("{parameter} is {value}",)
    assert lexicon.by_form["bow visor"][0].source == "common practice, no source"


def test_an_empty_pack_has_no_terms(tmp_path):
    assert load_lexicon((write(tmp_path, 'pack.name = "none"\npack.about = "Nothing yet."\n'),)).terms == ()


def test_all_faults_of_all_files_are_told_at_once_with_file_and_line(tmp_path):
    one = write(tmp_path, GOOD.replace("sound_alikes", "soundalikes").replace('"R AE M P"', '"R QQ M P"'))
    two = write(tmp_path, GOOD.replace("{value}", "{valeu}").replace('"ferry"', '"ferry2"'), "two.toml")
    with pytest.raises(LexiconError) as caught:
        load_lexicon((one, two))
    assert str(caught.value) == (
        "2 faults in the lexicon\n"
        "  line 5 ferry.toml parts[0].soundalikes: unknown key 'soundalikes' (did you mean 'sound_alikes'?)\n"
        "  line 9 two.toml frames[0]: no such slot: {valeu} (did you mean {value}?)\n"
        "  What to do: mend those lines; the grammar stands at the top of core.toml")


@pytest.mark.parametrize(("change", "fault"), [
    (('term = "ramp", source = "common"', 'term = "ramp", source = "comon"'),
     "line 6 ferry.toml parts[1]: source 'comon' does not stand under [sources] (did you mean 'common'?)"),
    (('term = "ramp", source = "common"', 'term = "ramp"'), "line 6 ferry.toml parts[1].source: 'source' is missing"),
    (('"R AE M P"', '"R QQ M P"'),
     "line 6 ferry.toml parts[1]: no such sound: QQ (write ARPAbet without stress marks, as in 'N UW M OW')"),
    (('term = "ramp"', 'term = "Bow visor"'),
     "line 6 ferry.toml parts[1]: 'Bow visor' stands twice among parts (put all its forms into one entry)"),
    (('"bough visor"', '"bow visor"'),
     "line 5 ferry.toml parts[0]: 'bow visor' is both a form and a sound-alike (a sound-alike is what a recogniser writes wrongly)"),
    (('"bough visor"', '"bow for"'),
     "line 5 ferry.toml parts[0]: a sound-alike holds 'for', which counts as a number word (no correction may read or write numbers)"),
    (('term = "ramp", source', 'term = "ramp", unit = "m", source'),
     "line 6 ferry.toml parts[1]: parts have no unit or dimension (only parameters and units do)"),
    (('kind = "readouts"', 'kind = "readings"'),
     "line 9 ferry.toml frames[0]: no such kind of row: 'readings' (one of clock_calls, polls, ratings, readbacks, readouts, steps)"),
    (("parts = [", "part = ["), "line 4 ferry.toml part: unknown key 'part' (did you mean 'parts'?)"),
    (('pack.about = "Words of a ferry crossing."\n', ""), "line 1 ferry.toml pack.about: 'about' is missing"),
    (("frames = [", "frames = "), "line 8 ferry.toml: not valid TOML: Invalid value"),
])
def test_each_fault_is_named(tmp_path, change, fault):
    assert change[0] in GOOD
    assert fault in faults_of(write(tmp_path, GOOD.replace(*change)))


def test_two_packs_of_one_name_and_files_that_cannot_be_read(tmp_path):
    one, two = write(tmp_path, GOOD), write(tmp_path, GOOD, "again.toml")
    with pytest.raises(LexiconError, match="a second pack named 'ferry'"):
        load_lexicon((one, two))
    with pytest.raises(LexiconError, match="cannot be read: No such file"):
        load_lexicon((tmp_path / "gone.toml",))
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe")
    with pytest.raises(LexiconError, match="not UTF-8 text"):
        load_lexicon((bad,))


def test_which_packs_are_read(tmp_path):
    assert packs_for() == tuple(path.resolve() for path in [own_packs()["core"], *[p for n, p in own_packs().items() if n != "core"]])
    (tmp_path / "lexicon").mkdir()
    mine, named = write(tmp_path / "lexicon", GOOD), write(tmp_path, GOOD, "named.toml")
    assert packs_for(("diving", "named.toml"), tmp_path) == (
        own_packs()["core"].resolve(), own_packs()["diving"].resolve(), named.resolve(), mine.resolve())
    with pytest.raises(LexiconError, match=r"no pack or file 'divng' \(did you mean 'diving'\?\)"):
        packs_for(("divng",), tmp_path)


def test_lines_of_tables_lists_and_keys():
    lines = PackLines('a.b = 1\n[t]\nx = 2\n[[l]]\ny = 3\n[[l]]\n')
    places = (("a", "b"), ("t",), ("t", "x"), ("l", 0, "y"), ("l", 1), ("l", 1, "none"), ("gone",))
    assert [lines.of(place) for place in places] == [1, 2, 3, 5, 6, 6, None]


def test_a_lexicons_digest_tells_packs_apart_and_not_where_they_lie(tmp_path):
    core = own_packs()["core"]
    copy = tmp_path / "core.toml"
    copy.write_bytes(core.read_bytes())
    assert load_lexicon((core,)).digest == load_lexicon((copy,)).digest
    assert load_lexicon((core,)).digest != load_lexicon(tuple(own_packs().values())).digest
