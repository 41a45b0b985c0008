"""The talk as captions with speakers: WebVTT (W3C), SubRip, and CTM word times (NIST SCTK).

Captions count seconds of session time, CTM those of each recording. Turns without times cannot be captioned; they are counted in a
note at the head of the WebVTT file. A turn that is only a copy of another loop's talk is left out.
"""
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from ..records.sound import Recording
from ..records.talk import Turn

SHORTEST_S = 0.2
_BREAKS = re.compile(r"\s+")
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\u2028\u2029]")


def _plain(text: str) -> str:
    """One line without control characters; a blank one would end the cue."""
    return _BREAKS.sub(" ", _CONTROLS.sub("\ufffd", text)).strip()


def _escaped(text: str) -> str:
    return _plain(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _stamp(seconds: float, point: str) -> str:
    milliseconds = max(0, round(seconds * 1000))
    return f"{milliseconds // 3_600_000:02d}:{milliseconds // 60_000 % 60:02d}:{milliseconds // 1000 % 60:02d}{point}{milliseconds % 1000:03d}"


def _cues(turns: Iterable[Turn]) -> list[tuple[float, float, Turn]]:
    """Turns that have a time and words, with start and end, in order; none shorter than SHORTEST_S."""
    cues = [(turn.start_s, max(turn.end_s or 0.0, turn.start_s + SHORTEST_S), turn) for turn in turns
            if turn.start_s is not None and turn.text.strip() and not turn.set_aside]
    return sorted(cues, key=lambda cue: (cue[0], cue[1], cue[2].index))


def speaker(turn: Turn) -> str:
    """Who speaks, else the loop, else nobody known."""
    return turn.station or (f"{turn.loop} loop" if turn.loop else "Unknown")


def webvtt(turns: Sequence[Turn], title: str = "") -> str:
    left_out = sum(1 for turn in turns if turn.start_s is None)
    head = f"WEBVTT{' ' + _plain(title).replace('-->', '->') if title.strip() else ''}\n\n"
    note = f"NOTE {left_out} turns have no time and are left out.\n\n" if left_out else ""
    return head + note + "".join(
        f"{_stamp(start, '.')} --> {_stamp(end, '.')}\n<v {_escaped(speaker(turn))}>{_escaped(turn.text)}</v>\n\n"
        for start, end, turn in _cues(turns))


def subrip(turns: Sequence[Turn]) -> str:
    return "".join(
        f"{position}\n{_stamp(start, ',')} --> {_stamp(end, ',')}\n{_plain(speaker(turn))}: {_plain(turn.text).replace('-->', '->')}\n\n"
        for position, (start, end, turn) in enumerate(_cues(turns), 1))


def ctm(turns: Sequence[Turn], recordings: Sequence[Recording] = ()) -> str:
    """Words as heard with their times: recording, channel from 1, start, length, word, confidence where known."""
    names = {item.recording: Path(item.path).stem for item in recordings}
    lines = sorted(_ctm_words(turns, names))
    return "".join(f"{name} {channel} {start:.3f} {length:.3f} {word}{confidence}\n" for name, channel, start, length, word, confidence in lines)


def _ctm_words(turns: Iterable[Turn], names: Mapping[str, str]) -> Iterable[tuple[str, int, float, float, str, str]]:
    for turn in turns:
        for token in turn.tokens:
            word = "_".join(_plain(token.heard).split())
            if turn.source is not None and token.span is not None and word:
                name = "_".join(_plain(names.get(turn.source.recording, turn.source.recording)).split())
                confidence = "" if token.probability is None else f" {token.probability:.3f}"
                yield name, turn.source.channel + 1, token.span.start_s, token.span.duration_s, word, confidence
