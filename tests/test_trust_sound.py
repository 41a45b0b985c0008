"""Damaged and odd sound: nothing hangs, everything is accounted for, and what is left keeps its true times. Long form: bench/damaged_sound_many.py."""
import wave
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from damaged_sound import FORMATS, RATE_HZ, covered, damaged, recording_of, told_times, tones, try_out, write_sound

from debrief.errors import RecordingError
from debrief.hearing.bit_reservoir import own_and_borrowed
from debrief.hearing.flac_heads import first_sample
from debrief.hearing.lost_frames import frame_bytes, sound_begins
from debrief.hearing.recording import probe, read_blocks, read_span
from debrief.hearing.speech_spans import account
from debrief.timebase import Span

WITHOUT_STAMPS = {"mp3": ("piece removed", "piece twice"), "wav": ("piece removed", "piece twice")}
"""Formats that say nowhere when a piece of sound was: what was taken out of them, or put in, cannot be told."""


@pytest.mark.parametrize("ending", sorted(FORMATS))
def test_damaged_files_are_read_or_refused_and_keep_their_times(tmp_path, ending):
    data = write_sound(tmp_path / f"whole.{ending}", tones()).read_bytes()
    found = try_out(tmp_path / f"damaged.{ending}", data, range(100, 121))
    assert found.wrong == []
    assert found.read >= 8
    for kind, times in found.times.items():
        assert times["slipped"] == 0 or kind in WITHOUT_STAMPS.get(ending, ()), kind


def held(path: Path) -> list[tuple[float, float, str, str]]:
    recording = recording_of(path)
    return [(round(item.span.start_s, 1), round(item.span.end_s, 1), item.held_as, item.why)
            for item in next(iter(account(recording, [0]).values()))]


@pytest.mark.parametrize("ending", ["flac", "ogg"])
def test_a_lost_beginning_is_named_and_moves_nothing(tmp_path, ending):
    path = write_sound(tmp_path / f"lost.{ending}", tones())
    data = bytearray(path.read_bytes())
    start = data.index(b"OggS", 60) if ending == "ogg" else 8_250  # the head of the first frame too
    data[start:start + 30_000] = bytes(30_000)
    path.write_bytes(data)
    assert told_times(path)["slipped"] == 0
    first = held(path)[0]
    assert first[0] == 0.0
    assert first[1] > 1.5
    assert first[2:] == ("unreadable", "the sound is damaged here")


def test_a_page_whose_head_is_damaged_is_lost_and_moves_nothing(tmp_path):
    """The stamp of the first page of sound says anything; its checksum says that it is not to be believed."""
    path = write_sound(tmp_path / "head.ogg", tones())
    data = bytearray(path.read_bytes())
    first = data.index(b"OggS", data.index(b"OpusTags"))
    data[first + 10] ^= 0x74
    path.write_bytes(data)
    times = told_times(path)
    assert (times["slipped"], times["right"] > 15) == (0, True)
    assert held(path)[0] == (0.0, 1.0, "unreadable", "the sound is damaged here")


def test_an_ogg_file_of_which_one_page_is_left_has_it_at_its_time(tmp_path):
    """Its end is damaged too, so that the container says no length."""
    path = write_sound(tmp_path / "whole.ogg", tones())
    path.write_bytes(damaged_pages(path.read_bytes(), all_but=3))
    assert told_times(path) == {"right": 3, "unclear": 1}


def damaged_pages(data: bytes, all_but: int) -> bytes:
    """Every page behind the two of the head has a bit of its sound flipped, save one (all_but: its number)."""
    changed = bytearray(data)
    for number, piece in list(enumerate(data.split(b"OggS")[1:]))[2:]:
        if number != all_but:
            changed[data.index(piece) + len(piece) - 1] ^= 1
    return bytes(changed)


def test_an_ogg_file_cut_out_of_a_longer_one_begins_at_zero_and_has_its_own_length(tmp_path):
    whole, cut = write_sound(tmp_path / "whole.ogg", tones()), tmp_path / "cut.ogg"
    with av.open(str(whole)) as source, av.open(str(cut), "w") as target:
        stream = target.add_stream_from_template(source.streams.audio[0])
        for packet in source.demux(audio=0):
            if packet.pts is not None and packet.pts * packet.time_base >= 3:
                packet.stream = stream
                target.mux(packet)
    assert probe(cut).duration_s == pytest.approx(5.0, abs=0.1)
    blocks = list(read_blocks(cut))
    assert (blocks[0].start, round(blocks[-1].end / 16_000)) == (0, 5)
    assert covered(cut) == ""


def test_a_hole_in_an_mp3_is_as_long_as_the_bytes_that_are_gone(tmp_path):
    path = write_sound(tmp_path / "hole.mp3", tones())
    data = bytearray(path.read_bytes())
    data[len(data) // 4:len(data) // 2] = bytes(len(data) // 2 - len(data) // 4)
    path.write_bytes(data)
    times = told_times(path)
    assert times["slipped"] == 0
    assert times["right"] > 12
    lost = sum(end - start for start, end, state, _ in held(path) if state == "unreadable")
    assert lost == pytest.approx(2.0, abs=0.3)


@pytest.mark.parametrize(("seed", "what"), [
    (227, "frames behind a hole that borrow bits from lost ones"), (947, "the same"), (1438, "a head in noise that claims seventeen frames' bytes")])
def test_what_follows_a_hole_in_an_mp3_is_sound_at_its_time_or_left_out(tmp_path, seed, what):
    path = write_sound(tmp_path / "whole.mp3", tones())
    kind, data = damaged(path.read_bytes(), seed)
    assert kind in ("noise", "zeros"), what
    path.write_bytes(data)
    times = told_times(path)
    assert times["slipped"] == 0
    assert times["right"] > 11


@pytest.mark.parametrize(("frame", "told"), [
    ("fff338c4b2040000", (13, 178)), ("fffb90c4ff800000", (21, 511)), ("fffa900001007f80", (38, 255)), ("fff121f8e0980000", None), ("fff3", None)])
def test_a_frame_of_layer_iii_says_what_it_borrows(frame, told):
    """Side information and main_data_begin as ISO/IEC 11172-3 (2.4.1.7) and 13818-3 lay them out."""
    assert own_and_borrowed(bytes.fromhex(frame)) == told


def test_a_flac_frame_before_a_hole_keeps_its_place(tmp_path):
    """The demuxer gives it the stamp of the frame behind the hole; its own head says better."""
    path = write_sound(tmp_path / "hole.flac", tones())
    data = bytearray(path.read_bytes())
    first = data.index(b"\xff\xf8", 8_000)
    data[first + 2_000:first + 22_000] = bytes(20_000)
    path.write_bytes(data)
    blocks = list(read_blocks(path))
    assert (blocks[0].start, blocks[0].end < 16_000, told_times(path)["slipped"]) == (0, True, 0)


@pytest.mark.parametrize("at", [0, 4_000])
def test_the_beginning_of_a_flac_told_twice_moves_nothing(tmp_path, at):
    """A piece that holds the head and the first frames stands in it again; at: where in the sound."""
    path = write_sound(tmp_path / "twice.flac", tones())
    data = path.read_bytes()
    first = data.index(b"\xff\xf8", 8_000)
    path.write_bytes(data[:first + 12_000 + at] + data[100:first + 12_000] + data[first + 12_000 + at:])
    times = told_times(path)
    assert (times["slipped"], times["right"] > 18) == (0, True)


def test_two_flac_files_one_behind_the_other_go_on_counting(tmp_path):
    data = write_sound(tmp_path / "one.flac", tones(4)).read_bytes()
    (tmp_path / "both.flac").write_bytes(data + data)
    assert round(list(read_blocks(tmp_path / "both.flac"))[-1].end / RATE_HZ) == 8


@pytest.mark.parametrize(("head", "sample"), [
    ("fff869180000bf0358fd", 0), ("fff869180000be0358fd", None), ("fff835082500", None), ("fffb90640000", None), ("ff", None)])
def test_a_flac_frames_head_says_where_it_belongs(head, sample):
    """The first is the frame of RFC 9639, appendix D.1 (its bytes from memory; their own CRC-8 holds)."""
    assert first_sample(bytes.fromhex(head), 4096) == sample


def _zeros(data: bytearray, first: int) -> None:
    data[first:first + 6_000] = bytes(6_000)


def _noise(data: bytearray, first: int) -> None:
    data[first:first + 6_000] = np.random.default_rng(1).bytes(6_000)


def _longer_tag(data: bytearray, _: int) -> None:
    data[8] = 20  # 2 560 bytes that the tag before the sound now claims


@pytest.mark.parametrize("damage", [_zeros, _noise, _longer_tag])
def test_a_lost_beginning_of_an_mp3_moves_nothing(tmp_path, damage):
    path = write_sound(tmp_path / "lost.mp3", tones())
    data = bytearray(path.read_bytes())
    assert data[:3] == b"ID3"
    damage(data, data.index(b"Info") + 200)
    path.write_bytes(data)
    times = told_times(path)
    assert (times["slipped"], times["right"] > 12) == (0, True)


FRAME = bytes.fromhex("fff338c4") + bytes(104)  # MPEG 2, 24 kbit/s, 16 kHz: 72 * 24000 / 16000
TAG = b"ID3\x04\x00\x00\x00\x00\x00\x40" + b"p" * 64


@pytest.mark.parametrize(("before", "begins"), [
    (b"", 0), (TAG, 74), (TAG + TAG, 148), (TAG + bytes(50), 124), (TAG + b"?" * 50, 74), (TAG + FRAME[:36] + b"Info" + bytes(68), 182),
    (TAG + FRAME[:36] + b"Info" + bytes(68) + bytes(500), 182), (b"ID3\x04\x00\x00\x00\x00\x04\x66" + b"p" * 64 + FRAME * 5, 74),
    (b"APETAGEX" + bytes(4) + (40).to_bytes(4, "little") + bytes(16) + b"q" * 40, 72)])
def test_where_the_sound_of_an_mp3_began(before, begins):
    """What a tag holds is none, the frame that tells of the file is none, zeros behind a tag are its padding."""
    assert sound_begins(before, b"\xff\xf3") == begins


@pytest.mark.parametrize(("head", "length"), [
    ("fffb90640000", 417), ("fff360640000", 156), ("fff1508002bffc", 21), ("fffb00640000", None), ("000000000000", None), ("fffb90", None)])
def test_a_frames_head_says_how_long_it_is(head, length):
    """By the standards' formula: MPEG 1, 128 kbit/s, 44.1 kHz: 144 * 128000 / 44100; MPEG 2, 48 kbit/s, 22.05 kHz: 72 * 48000 / 22050; ADTS: 13 bits."""
    assert frame_bytes(bytes.fromhex(head)) == length


def wav(path: Path, sound: np.ndarray, rate_hz: int = RATE_HZ, stated_bytes: int | None = None) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setparams((np.atleast_2d(sound).shape[0], 2, rate_hz, 0, "NONE", ""))
        file.writeframes((np.atleast_2d(sound).T * 32_767).astype("<i2").tobytes())
    if stated_bytes is not None:
        data = bytearray(path.read_bytes())
        data[40:44], data[4:8] = stated_bytes.to_bytes(4, "little"), min(stated_bytes + 36, 0xFFFFFFFF).to_bytes(4, "little")
        path.write_bytes(data)
    return path


@pytest.mark.parametrize("stated", [0, 64_000, 0xFFFFFFFF, 0x7FFFFFF0])
def test_a_wrong_length_in_the_head_of_a_wav_loses_no_sound_that_can_be_read(tmp_path, stated):
    path = wav(tmp_path / "odd.wav", tones(), stated_bytes=stated)
    times = told_times(path)
    assert times["slipped"] == 0
    assert times["right"] >= (6 if stated == 64_000 else 24)
    assert covered(path) == ""


@pytest.mark.parametrize("rate_hz", [1, 999, 2_063_613_568])
def test_a_rate_that_no_recorder_writes_is_refused(tmp_path, rate_hz):
    path = wav(tmp_path / "odd.wav", tones())
    data = bytearray(path.read_bytes())
    data[24:28] = rate_hz.to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(RecordingError) as refusal:
        probe(path)
    assert str(refusal.value) == (f"{path}: the head of the file is damaged: it says {rate_hz:,} samples a second\n"
                                  "  What to do: copy it again from the recorder")


def test_a_wav_whose_head_contradicts_itself_is_refused_and_an_odd_true_rate_is_not(tmp_path):
    path = wav(tmp_path / "odd.wav", tones(2))
    data = bytearray(path.read_bytes())
    data[24:28] = (49_792).to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(RecordingError) as refusal:
        probe(path)
    assert str(refusal.value) == (f"{path}: the head of the file is damaged: it says 49,792 samples a second, and so many bytes a second as 16,000 samples "
                                  "would take\n  What to do: copy it again from the recorder, or mend its head: every time hangs on it")
    data[28:32] = (2 * 49_792).to_bytes(4, "little")
    path.write_bytes(data)
    assert probe(path).rate_hz == 49_792
    data[24:28] = (44_100).to_bytes(4, "little")  # a usual rate is believed: recorders exist that write the other number badly
    path.write_bytes(data)
    assert probe(path).rate_hz == 44_100


def test_a_file_cut_short_names_what_is_missing(tmp_path):
    path = wav(tmp_path / "short.wav", tones())
    path.write_bytes(path.read_bytes()[:44 + 5 * 32_000])
    assert told_times(path)["right"] >= 15
    assert covered(path) == ""


@pytest.mark.parametrize("ending", ["wav", "flac", "mp3", "m4a", "ogg"])
def test_one_second_is_enough_for_a_file(tmp_path, ending):
    path = write_sound(tmp_path / f"one.{ending}", tones(1))
    assert covered(path) == ""
    assert recording_of(path).duration == pytest.approx(16_000, abs=2_000)


def test_a_direct_current_moves_no_stretch_and_a_silent_channel_speaks_not(tmp_path):
    from debrief.demo_files import demo_folder

    talk = read_span(demo_folder() / "line_and_cabin.opus", 0, Span.of_seconds(100, 130))
    plain, lifted = wav(tmp_path / "plain.wav", talk * 0.5), wav(tmp_path / "lifted.wav", talk * 0.5 + 0.3)
    speech = [[(start, end) for start, end, state, _ in held(path) if state == "speech"] for path in (plain, lifted)]
    assert speech[0]
    shared = sum(max(0.0, min(b, d) - max(a, c)) for a, b in speech[0] for c, d in speech[1])
    assert shared > 0.8 * max(sum(b - a for a, b in one) for one in speech)
    both = recording_of(wav(tmp_path / "two.wav", np.stack([talk, np.zeros_like(talk)])))
    accounts = account(both)
    assert {item.held_as for item in accounts[next(s for s in accounts if s.channel == 1)]} == {"no speech detected"}
    assert "speech" in {item.held_as for item in accounts[next(s for s in accounts if s.channel == 0)]}


@pytest.mark.parametrize("ending", ["m4a", "flac"])
def test_eight_channels_in_one_stream_are_told_apart(tmp_path, ending):
    path, sound = tmp_path / f"eight.{ending}", np.stack([tones(2) * (k + 1) / 8 for k in range(8)])
    with av.open(str(path), "w") as out:
        stream = out.add_stream(FORMATS[ending], rate=RATE_HZ, layout="7.1")
        resampler = av.AudioResampler(format=stream.codec_context.format, layout="7.1", rate=RATE_HZ, frame_size=1024)
        frame = av.AudioFrame(format="flt", layout="7.1", samples=sound.shape[1])
        frame.planes[0].update(np.ascontiguousarray(sound.T))
        frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, 0, Fraction(1, RATE_HZ)
        for piece in (*resampler.resample(frame), *resampler.resample(None)):
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    loudest = [float(np.abs(read_span(path, channel, Span(1600, 30_000))).max()) for channel in range(8)]
    for channel in (0, 1, 2, 4, 5, 6, 7):  # the fourth is for low tones alone in this layout
        assert loudest[channel] == pytest.approx((channel + 1) / 16, abs=0.03)


def test_a_rate_that_changes_on_the_way_keeps_its_times(tmp_path):
    """Two Ogg/FLAC streams of other rates, one behind the other in one file (RFC 3533 lets streams follow each other)."""
    halves = [tones()[:4 * RATE_HZ], np.interp(np.arange(4 * 48_000) / 48_000, np.arange(4 * RATE_HZ) / RATE_HZ, tones()[4 * RATE_HZ:]).astype(np.float32)]
    data = b""
    for place, (rate_hz, half) in enumerate(zip((RATE_HZ, 48_000), halves, strict=True)):
        path = tmp_path / f"{place}.ogg"
        data += write_sound(path, half, rate_hz).read_bytes()
    (tmp_path / "both.ogg").write_bytes(data)
    times = told_times(tmp_path / "both.ogg")
    assert times["slipped"] == 0
    assert times["right"] >= 20


@pytest.mark.parametrize("content", [b"", b"RIFF", b"RIFF\xff\xff\xff\xffWAVE", b"ID3", b"OggS" * 100, b"\x00" * 5000, b"fLaC" + b"\xff" * 200])
def test_what_is_no_sound_is_refused_with_a_message(tmp_path, content):
    (tmp_path / "odd.wav").write_bytes(content)
    with pytest.raises(RecordingError) as refusal:
        probe(tmp_path / "odd.wav")
    assert str(refusal.value).startswith(f"{tmp_path / 'odd.wav'}: ")
    assert "What to do: " in str(refusal.value)
