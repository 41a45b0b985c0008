"""Caption files in: WebVTT (W3C) and SubRip."""
import html
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ..errors import TranscriptError
from ..records.sound import Segment, Source
from ..timebase import Span
from .transcript_text import Where, cleaned, lines_of, plain_words, seconds, simple_segment, span_of

_TIME = r"(?:(\d{1,6}):)?(\d{1,2}):(\d{2})[.,](\d{3})"
_TIMING = re.compile(rf"^\s*{_TIME}\s+-->\s+{_TIME}(?:\s.*)?$")
_VOICE = re.compile(r"<v(?:\.[^\s>]*)?\s+([^>]{1,200})>")
_TAG = re.compile(r"<[^<>]{0,200}>")
_NAMED = re.compile(r"^([A-Z][A-Z0-9 ./_\-]{0,30}):\s+(?=\S)")


@dataclass(frozen=True, slots=True)
class _Cue:
    span: Span
    lines: tuple[str, ...]


def read_vtt(path: Path, source: Source) -> tuple[Segment, ...]:
    """WebVTT. A cue with several voice tags becomes a segment a voice, all with the cue's span."""
    lines = lines_of(path)
    head = next(lines, None)
    if head is None or not re.match(r"^WEBVTT(\s|$)", head[1]):
        raise TranscriptError("the file does not begin with WEBVTT", f"{path}, line 1", "is it SubRip? then name it .srt")
    spoken = [(cue.span, speaker, text) for cue in _cues(lines) for speaker, text in _voices(" ".join(cue.lines))]
    return _segments(spoken, source)


def read_srt(path: Path, source: Source) -> tuple[Segment, ...]:
    """SubRip. A line that begins with a name in capitals and a colon is taken as that speaker's."""
    spoken = []
    for cue in _cues(lines_of(path)):
        speaker, text = None, _TAG.sub("", " ".join(cue.lines))
        if named := _NAMED.match(text):
            speaker, text = named[1], text[named.end():]
        spoken.append((cue.span, speaker, text))
    return _segments(spoken, source)


def _segments(spoken: list[tuple[Span, str | None, str]], source: Source) -> tuple[Segment, ...]:
    heard = [(span, speaker, plain_words(text)) for span, speaker, text in spoken]
    return tuple(simple_segment(source, index, words, span, speaker)
                 for index, (span, speaker, words) in enumerate(item for item in heard if item[2]))


def _voices(text: str) -> Iterator[tuple[str | None, str]]:
    pieces = _VOICE.split(text)
    for speaker, said in zip([None, *pieces[1::2]], pieces[::2], strict=True):
        yield (cleaned(html.unescape(speaker)) if speaker else None), html.unescape(_TAG.sub("", said))


def _cues(lines: Iterator[tuple[Where, str]]) -> Iterator[_Cue]:
    """Cues: a timing line, then text up to an empty line. Numbers, notes, styles and regions before the timing are passed over."""
    span: Span | None = None
    text: list[str] = []
    for where, line in lines:
        if "-->" in line:
            if span is not None:
                raise where.fault("a time line inside a cue", "put an empty line before every cue")
            span = _timing(line, where)
        elif not line.strip():
            if span is not None:
                yield _Cue(span, tuple(text))
            span, text = None, []
        elif span is not None:
            text.append(line)
    if span is not None:
        yield _Cue(span, tuple(text))


def _timing(line: str, where: Where) -> Span:
    found = _TIMING.match(line[:1000])
    if not found:
        raise where.fault(f"not a time line: {line.strip()[:60]!r}", "times are written 00:11.000 --> 00:13.000")
    parts = found.groups(default="0")
    start_s, end_s = (seconds(int(h) * 3600 + int(m) * 60 + int(s) + int(ms) / 1000, "the time", where)
                      for h, m, s, ms in (parts[:4], parts[4:8]))
    return span_of(start_s, end_s, where)
