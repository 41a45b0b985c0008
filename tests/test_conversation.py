"""Who speaks to whom: turns cut from recognised words, callsign forms, commentary, and the same talk on two channels."""
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from debrief.harvest.attribution import surely_attributed
from debrief.harvest.callsigns import CallBook, read_call
from debrief.harvest.commentary import public_score
from debrief.harvest.conversation import cut_turns
from debrief.harvest.joining import runs_of_one_station
from debrief.records.sound import Segment, Source, Word
from debrief.records.talk import Token, Turn
from debrief.session import Session
from debrief.timebase import RecordingClock, Span
from debrief.wording.correction import read_as

SESSION = Session.model_validate({
    "loops": [{"name": "Stage"}, {"name": "Roof"}],
    "stations": [
        {"name": "Caller", "role": "show conductor", "loops": ["Stage", "Roof"]},
        {"name": "Rigger Two", "aliases": ["Rigging"], "loops": ["Roof"]},
        {"name": "Rigger Five", "loops": ["Roof"]},
        {"name": "Lamps", "loops": ["Stage"]},
        {"name": "Host", "commentary": True},
    ]})


def spoken(*texts, gap_s=1.0, channel=0, start_s=0.0, loop=None, probability=0.9, **more):
    """Segments of recognised words, 0.3 s a word without pauses, gap_s between segments."""
    segments, at = [], start_s
    for i, text in enumerate(texts):
        words = []
        for word in text.split():
            words.append(Word(word, Span.of_seconds(at, at + 0.3), probability))
            at += 0.3
        segments.append(Segment(f"r1.{channel}.{i:06d}", tuple(words), Source("r1", channel), Span(words[0].span.start, words[-1].span.end),
                                loop, **more))
        at += gap_s
    return segments


def turns_of(segments, session=SESSION, clocks=None):
    return cut_turns(segments, {s.segment: read_as(s) for s in segments}, session, clocks)


def lines(*pairs, session=SESSION):
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in text.split()), Source("r1"), speaker=speaker, line_index=i)
                for i, (speaker, text) in enumerate(pairs)]
    return turns_of(segments, session)


def test_no_segments_no_turns():
    assert turns_of([]) == ()


def test_lines_with_speakers_stay_whole_and_name_their_grounds():
    turn, = lines(("Lamps", "Lamps are up. All of them."))
    assert (turn.station, turn.attribution[0], turn.line_index) == ("Lamps", "named in the transcript", 0)


def test_unknown_speakers_keep_the_code_of_the_transcript():
    turn, = lines(("X9", "Standing here."))
    assert turn.station == "X9"


def test_addressee_by_call_and_by_answer():
    first, second = lines(("Caller", "Lamps, Caller, are you ready?"), ("Lamps", "Ready here."))
    assert (first.addressee, second.addressee, second.answers) == ("Lamps", "Caller", 0)


@pytest.mark.parametrize(("text", "station"), [
    ("Lamps, Caller. Come in.", "Caller"),
    ("Caller, this is Lamps.", "Lamps"),
    ("Caller from Rigger Two, hook is on.", "Rigger Two"),
    ("Rigger Five is on the roof.", "Rigger Five"),
    ("Lamps here, going up.", "Lamps"),
    ("Rigger 2 has the rope.", "Rigger Two"),
    ("Rigging, no go, the rope is wet.", "Rigger Two"),
])
def test_what_the_forms_of_a_call_say_of_the_speaker(text, station):
    turn, = turns_of(spoken(text))
    assert turn.station == station
    assert turn.attribution


def test_numbers_in_callsigns_are_never_matched_by_likeness():
    turn, = turns_of(spoken("Riggers nine is on the roof."))
    assert turn.station is None


def test_nothing_said_about_the_speaker_leaves_it_unknown():
    turn, = turns_of(spoken("the rope is wet and heavy."))
    assert (turn.station, turn.attribution) == (None, ())


def test_the_station_that_was_called_answers_and_the_caller_acknowledges():
    turns = turns_of(spoken("Lamps, Caller, say your level.", "Sixty percent.", "Copy sixty."))
    assert [turn.station for turn in turns] == ["Caller", "Lamps", "Caller"]


def test_a_bare_call_is_parted_from_its_answer_inside_one_segment():
    segment = spoken("Lamps? Go.")[0]
    late = Word("Go.", Span.of_seconds(0.9, 1.2), 0.9)
    segment = Segment(segment.segment, (segment.words[0], late), segment.source, segment.span)
    assert [turn.text for turn in turns_of([segment])] == ["Lamps?", "Go."]


def test_a_sentence_over_two_segments_is_one_turn():
    assert len(turns_of(spoken("the rope is wet and we will", "dry it with the blower.", gap_s=0.1))) == 1


def test_the_only_loop_of_a_station_that_names_itself_is_its_loop():
    assert turns_of(spoken("Rigger Five is on the roof."))[0].loop == "Roof"
    assert turns_of(spoken("the rope is wet."))[0].loop is None


def test_a_voice_lends_its_station_to_turns_without_a_name():
    named = spoken("Rigger Five is on the roof.", "Rigger Five has the rope.", gap_s=30, voice="v1")
    plain = spoken("going down the ladder slowly.", start_s=200.0, voice="v1")
    plain = [Segment("r1.0.000009", plain[0].words, plain[0].source, plain[0].span, voice="v1")]
    assert turns_of([*named, *plain])[-1].station == "Rigger Five"


def in_voices(*pairs, gap_s=1.2):
    """Turns of (voice, text), each behind the one before."""
    segments, at = [], 0.0
    for i, (voice, text) in enumerate(pairs):
        segments += [replace(segment, segment=f"r1.0.{i:06d}") for segment in spoken(text, start_s=at, voice=voice)]
        at = segments[-1].span.end_s + gap_s
    return turns_of(segments)


def test_a_voice_is_known_by_all_its_turns_together():
    """Two answers to calls and much talk that might be anybody's: no turn names its station."""
    chat = ("the slate is loose near me.", "it moves a little.", "there is moss under it.", "the gutter is full of leaves.", "a bird sits there.",
            "it looks at me.", "the paint peels.", "somebody left a bucket.")
    called = [("c", "Rigger Two, Caller, say your height."), ("a", "about nine metres of rope here."), ("c", "Lamps, Caller, how do they look?"),
              ("b", "the amber ones are half up.")]
    late, other = in_voices(*called, *called, *zip("abab" * 2, chat, strict=True), gap_s=3.0)[-2:]
    assert (late.station, other.station) == ("Rigger Two", "Lamps")
    late, other = in_voices(*called, *called, *((None, text) for text in chat), gap_s=3.0)[-2:]
    assert (late.station, other.station) != ("Rigger Two", "Lamps")


def test_a_station_that_says_how_it_stands_names_itself():
    running, = turns_of(spoken("Number eight is running. Lamps go."))
    assert running.station == "Lamps"
    asked, = turns_of(spoken("Number eight is running. Lamps go?"))
    assert asked.station != "Lamps"


def test_talk_to_the_public_is_kept_and_kept_apart():
    welcome, work = turns_of(spoken("Ladies and gentlemen, welcome to the open day. What you see there is the crew hanging four lamps.",
                                    "Lamps, Caller, say your level.", gap_s=4))
    assert (welcome.commentary, work.commentary) == (True, False)
    assert welcome.attribution == ("sounds like talk to the public",)


PUBLIC = "Welcome to the open day. Behind the glass you can see the riggers who are hanging a bridge."


def in_breaths(*texts, gap_s):
    """Segments that follow each other closely, each taken for another voice."""
    segments, at = [], 0.0
    for i, text in enumerate(texts):
        segments += [replace(segment, segment=f"r1.0.{i:06d}") for segment in spoken(text, start_s=at, voice=f"v{i}")]
        at = segments[-1].span.end_s + gap_s
    return [turn.commentary for turn in turns_of(segments)]


def test_a_piece_cut_off_in_the_middle_of_commentary_belongs_to_it():
    assert in_breaths(PUBLIC, "It weighs two tons.", "As you can see the crew is letting it down for the children.", gap_s=0.5) == [True, True, True]
    assert in_breaths(PUBLIC, "It weighs two tons.", gap_s=0.5) == [True, True]


def test_commentary_told_in_short_sentences_is_one():
    assert in_breaths("Ladies and gentlemen on the quay.", "The white crane is on its first lift.", "The driver will say how it feels.",
                      "A one is good and a ten means he stops.", gap_s=0.5) == [True] * 4


@pytest.mark.parametrize(("text", "public"), [
    ("Ladies and gentleme, in ten minutes the two spans of the bridge will rise.", True),
    ("This is launch control. We are waiting while the weather people look at the winds, and the rocket stands nineteen metres tall.", True),
    ("Launch control again. A boat has strayed into the danger area, and everybody is waiting for it to leave.", True),
    ("This is range control to sentry two, stand by.", False), ("Launch control copies, go ahead with your step.", False)])
def test_announcers_are_told_by_how_they_open(text, public):
    assert (public_score(text) >= 3) is public


def test_work_close_before_commentary_stays_work():
    assert in_breaths("Roger, copy, I have my mark, stand by.", "Ladies and gentlemen on the quay.", "The white crane is on its first lift.",
                      "The driver will say how it feels.", gap_s=0.5)[1:] == [True] * 3


def test_work_in_short_sentences_is_none():
    assert in_breaths("The driver can see the hook now.", "Load is two tons.", "The hook is going up, stand by.", gap_s=0.5) == [False] * 3


def test_an_answer_after_commentary_is_work():
    assert in_breaths(PUBLIC, "It weighs two tons.", gap_s=1.9) == [True, False]
    assert in_breaths(PUBLIC, "Caller, Rigger Two, two tons on.", PUBLIC, gap_s=0.5) == [True, False, True]


@pytest.mark.parametrize(("third", "apart"), [("The crew must stop at six metres.", True), ("Hook at six metres.", False)])
def test_the_voice_of_a_commentator_gives_no_row_where_the_words_agree(third, apart):
    segments = [segment for text, voice, at in ((PUBLIC, "v1", 0), ("Ladies and gentlemen, in front of you the crew is ready.", "v1", 20),
                                                (third, "v1", 40), ("Hook at six metres.", "v2", 60))
                for segment in spoken(text, voice=voice, start_s=at)]
    segments = [replace(segment, segment=f"r1.0.{i:06d}") for i, segment in enumerate(segments)]
    assert [turn.commentary for turn in turns_of(segments)] == [True, True, apart, False]


@pytest.mark.parametrize("text", ["Copy, main bank one nine five bar, holding.", "Step two alpha complete, going to step two bravo now.",
                                  "I can see the rope from here and it is clear of the sheave."])
def test_working_talk_is_no_commentary(text):
    assert public_score(text) < 3


def two_channels(clear, garbled, delay_s=0.0, other="r1"):
    first = spoken(clear, channel=0, loop="Stage", probability=0.9)
    second = [Segment(f"c.{s.segment}", s.words, Source(other, 1), s.span, "Roof")
              for s in spoken(garbled, channel=1, loop="Roof", start_s=delay_s, probability=0.5)]
    return turns_of(first + second)


def test_a_copy_on_the_other_channel_is_set_aside_with_its_reason():
    kept, copy = sorted(two_channels("the pressure is forty psi and holding", "the pressure is fort psi and hold"), key=lambda t: bool(t.set_aside))
    assert (kept.set_aside, copy.set_aside) == ("", "the same talk is heard more clearly on Stage")
    assert kept.loop is None


def test_the_loop_of_a_copy_is_told_by_the_station_it_names():
    kept = next(turn for turn in two_channels("Lamps, Caller, say your level now.", "Lamp, Caller, say your level.") if not turn.set_aside)
    assert kept.loop == "Stage"


def test_other_talk_at_the_same_time_is_no_copy():
    assert not any(turn.set_aside for turn in two_channels("the pressure is forty psi and holding", "we are going up with the long ladder"))


def test_the_same_words_much_later_are_no_copy():
    assert not any(turn.set_aside for turn in two_channels("pressure is forty psi", "pressure is forty psi", delay_s=20.0))


def test_turns_are_told_in_session_time():
    clocks = {"r1": RecordingClock(offset_s=10.0, rate=2.0)}
    turn, = turns_of(spoken("the rope is wet.", start_s=4.0), clocks=clocks)
    assert turn.start_s == pytest.approx(12.0)


WORDS = st.lists(st.sampled_from(["Lamps,", "Caller.", "go", "copy", "forty", "two", "rope?", "Rigger", "Host", "is", "welcome"]), min_size=1)


@given(st.lists(WORDS, min_size=1, max_size=6), st.floats(0.0, 3.0))
def test_every_word_stands_in_exactly_one_turn(texts, gap_s):
    segments = spoken(*(" ".join(words) for words in texts), gap_s=gap_s)
    turns = turns_of(segments)
    told = [(token.segment, token.word) for turn in turns for token in turn.tokens]
    assert sorted(told) == sorted((s.segment, i) for s in segments for i in range(len(s.words)))
    assert [turn.index for turn in turns] == list(range(len(turns)))


def test_a_segment_that_was_set_aside_makes_no_turn():
    segment = spoken("noise noise")[0]
    aside = Segment(segment.segment, segment.words, segment.source, segment.span, set_aside="repetition")
    assert turns_of([aside]) == ()
    assert isinstance(read_as(aside)[0], Token)


def test_a_word_that_stands_again_and_again_where_calls_stand_is_learned_for_the_name_it_sounds_like():
    turns = turns_of(spoken("Lance, how bright are they?", "Lance, say again.", "Lance, thank you."))
    assert [turn.addressee for turn in turns[:2]] == ["Lamps", "Lamps"]


@pytest.mark.parametrize("texts", [("Lance, how bright are they?",), ("Ropes, slowly.", "Ropes, faster.", "Ropes, stop.")])
def test_no_name_is_learned_from_one_place_or_from_words_that_sound_like_none(texts):
    assert all(turn.addressee is None for turn in turns_of(spoken(*texts)))


def test_a_guess_at_the_speaker_says_so_and_how_likely_it_is():
    turns = turns_of(spoken("Lamps?", "Up and steady.", "Rigger Five?", "On the roof.", "Lamps, go to fifty percent."))
    assert turns[0].station == "Caller"
    assert "%" in turns[0].attribution[-1]
    assert surely_attributed(turns[0]) == ("weak" not in turns[0].attribution[-1])


def test_where_only_commas_were_written_a_comma_may_end_a_turn():
    quiet = "the rope goes over the beam and round the post and back, " * 9
    segments = spoken(quiet.strip(), "copy", gap_s=0.45)
    assert [turn.text for turn in turns_of(segments)][-1] == "copy"


def runs(*pieces):
    """Which of these pieces, each (text, station, seconds since the one before, grounds), are told as one turn."""
    turns, at = [], 0.0
    for index, (text, station, gap_s, *grounds) in enumerate(pieces):
        segment, = spoken(text, start_s=at + gap_s)
        at = segment.span.end_s
        turns.append(Turn(index, tuple(read_as(segment)), station, None, None, segment.span.start_s, at, source=segment.source, span=segment.span,
                          attribution=tuple(grounds)))
    return runs_of_one_station(turns, [read_call(turn.tokens, CallBook.of(SESSION)) for turn in turns])


BETTER = ("The left lamp is better already.", "Lamps", 0)


def test_what_one_station_says_in_several_breaths_is_one_turn():
    assert runs(BETTER, ("One out of ten.", "Lamps", 0.7), ("The right one is dark.", "Lamps", 0.9)) == [[0, 1, 2]]


@pytest.mark.parametrize("second", [
    ("One out of ten.", "Caller", 0.7),
    ("One out of ten.", None, 0.7),
    ("One out of ten.", "Lamps", 1.4),
    ("One out of ten.", "Lamps", 0.7, "Lamps is likeliest (81%, weak)"),
    ("One out of ten.", "Lamps", 0.7, "named in the transcript"),
    ("Roger, one out of ten.", "Lamps", 0.7),
    ("Rigger Two, one out of ten.", "Lamps", 0.7),
])
def test_another_station_a_guess_a_pause_an_acknowledgement_and_a_call_begin_a_turn(second):
    assert runs(BETTER, second) == [[0], [1]]


def test_a_question_waits_for_an_answer_and_figures_told_again_are_read_back():
    assert runs(("Seven five on the left.", "Lamps", 0), ("Seven five.", "Lamps", 0.7)) == [[0], [1]]
    assert runs(("How is the left lamp?", "Lamps", 0), ("One out of ten.", "Lamps", 0.7)) == [[0], [1]]


def test_an_answer_said_alone_again_and_again_is_no_station_that_it_sounds_like():
    book = CallBook.of(Session.model_validate({"stations": [{"name": "Rider"}, {"name": "Drive"}]}))
    lines = [read_as(segment) for segment in spoken("Ready. Pulse is steady.", "Ready. Lead is back.", "Ready. We wait for you.")]
    assert all(("ready",) not in learnt.names for learnt in (book.learning(lines),))


def test_talk_of_what_listeners_hear_around_them_is_talk_to_the_public():
    assert public_score("And that hum you make out in the hall is the pump. Last year the same job took twice as long.") >= 3
    assert public_score("That valve you closed in the hall leaks, Rigger Two.", True) < 3
