"""Windows and crosstalk, copies and clocks: pure functions, checked on made-up stretches and sound."""
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from debrief.hearing.copies import SharedPlace, fit_clock, level_pattern, likeness
from debrief.hearing.crosstalk import LeakReader
from debrief.hearing.windows import Window, WindowSettings, cut_windows
from debrief.records.sound import Source, Stretch
from debrief.timebase import RecordingClock, Span

SOURCE = Source("r1", 0)
S = 16_000


def stretches(*pairs: tuple[float, float]) -> list[Stretch]:
    return [Stretch(SOURCE, Span.of_seconds(a, b), "speech") for a, b in pairs]


def test_no_speech_gives_no_windows():
    assert cut_windows([Stretch(SOURCE, Span(0, 99), "no speech detected")]) == ()


def test_short_pauses_stay_long_ones_are_closed():
    [window] = cut_windows(stretches((1, 3), (3.5, 5), (60, 62)))
    assert window.pieces == (Span.of_seconds(1, 5), Span.of_seconds(60, 62))
    assert window.span == Span.of_seconds(1, 62)


def test_window_seconds_map_back_exactly():
    window = Window(0, SOURCE, (Span.of_seconds(10, 12), Span.of_seconds(100, 103)))
    assert window.place(0.5, 1.0) == Span.of_seconds(10.5, 11)
    assert window.place(2.0, 2.5) == Span.of_seconds(100, 100.5)
    assert window.place(1.9, 3.0) == Span.of_seconds(100, 101)  # over a closed pause: the longer side alone
    assert window.place(4.9, 9.0) == Span.of_seconds(102.9, 103)
    assert window.place(9.0, 9.0).end == 103 * S


@given(st.lists(st.tuples(st.floats(0.05, 80), st.floats(0, 50)), max_size=30))
@settings(max_examples=60)
def test_every_sample_of_speech_is_in_one_window_and_none_is_too_long(lengths):
    at, pairs = 0.0, []
    for length, pause in lengths:
        pairs.append((at, at + length))
        at += length + pause
    windows = cut_windows(stretches(*pairs))
    pieces = [piece for window in windows for piece in window.pieces]
    assert all(window.samples <= WindowSettings().longest_s * S for window in windows)
    assert all(a.end <= b.start for a, b in itertools.pairwise(pieces))
    held = np.zeros(round(at * S) + 2, bool)
    for piece in pieces:
        held[piece.start:piece.end] = True
    for a, b in pairs:
        assert held[Span.of_seconds(a, b).start:Span.of_seconds(a, b).end].all()
    assert windows == cut_windows(stretches(*pairs))


def test_stretches_far_apart_do_not_share_a_window():
    assert len(cut_windows(stretches((0, 1), (5000, 5001)), WindowSettings(apart_s=1800))) == 2


def _talk(seed: int, seconds: float) -> np.ndarray:
    rng = np.random.default_rng(seed)
    sound = rng.standard_normal(round(seconds * S))
    return (0.1 * sound * np.repeat(rng.random(round(seconds * 8)), S // 8)).astype(np.float32)


def test_a_neighbours_leak_is_found_and_own_talk_is_kept():
    rng = np.random.default_rng(3)
    one, two = _talk(1, 8), _talk(2, 8)
    one[4 * S:], two[:4 * S] = 0, 0
    noise = 0.001 * rng.standard_normal(8 * S).astype(np.float32)
    reader = LeakReader([0, 1])
    reader.feed(0, {0: one + 0.1 * two + noise, 1: two + 0.1 * one + noise})
    first, second = (reader.leaks(channel) for channel in (0, 1))
    step = 2048 / S
    assert not first[: int(3.8 / step)].any()
    assert not second[int(4.3 / step):].any()
    assert first[int(4.5 / step): int(7.5 / step)].mean() > 0.9
    assert second[int(0.5 / step): int(3.5 / step)].mean() > 0.9


def test_talk_at_the_same_time_on_both_channels_is_kept_on_both():
    one, two = _talk(1, 6), _talk(2, 6)
    reader = LeakReader([0, 1])
    reader.feed(0, {0: one + 0.1 * two, 1: 0.3 * two + 0.1 * one})
    assert reader.leaks(0).mean() < 0.1
    assert reader.leaks(1).mean() < 0.25


def test_a_pattern_is_found_where_it_lies_and_silence_is_like_nothing():
    sound = _talk(5, 10)
    curve = likeness(level_pattern(sound[3 * S:5 * S]), level_pattern(sound))
    assert np.argmax(curve) == 300
    assert curve.max() == pytest.approx(1.0, abs=0.01)
    assert not len(likeness(level_pattern(sound[:100]), level_pattern(sound)))


def places(offset_s: float, rate: float, times, delay_s: float = 0.0) -> list[SharedPlace]:
    return [SharedPlace(offset_s + time_s / rate + delay_s, time_s, 0.8) for time_s in times]


def test_offset_and_rate_come_from_the_line_most_places_share():
    chance = [SharedPlace(50.0, 20.0, 0.9), SharedPlace(400.0, 350.0, 0.9), SharedPlace(720.0, 610.0, 0.9)]
    clock = fit_clock([*places(39.6, 1.0005, (10, 100, 300, 700)), *chance], RecordingClock(41.0))
    assert clock is not None
    assert clock.offset_s == pytest.approx(39.6, abs=0.001)
    assert (clock.rate - 1.0005) * 1e6 == pytest.approx(0, abs=1)


def test_of_two_delays_the_shorter_is_nearer_to_the_truth():
    clock = fit_clock([*places(5.0, 1.0, (10, 200, 400, 600), 0.35), *places(5.0, 1.0, (50, 500), 0.02)], RecordingClock())
    assert clock is not None
    assert clock.offset_s == pytest.approx(5.02, abs=0.005)


def test_too_few_places_give_no_clock():
    assert fit_clock(places(5.0, 1.0, (10, 200)), RecordingClock()) is None
    assert fit_clock([], RecordingClock()) is None
