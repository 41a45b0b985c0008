"""Saved transcripts as another way in: JSON Lines, WebVTT, SubRip and CTM give the same segments as hearing does.

Formats: JSON Lines with `t` or `start_s`, `text`, optional `end_s`, `speaker`, `loop`, `words` (word, start_s, end_s, probability);
W3C WebVTT with <v Name> voice tags; SubRip with an optional 'NAME: ' before the text; CTM as the NIST scoring toolkit defines it
(file channel start duration word [confidence]). line_index is given only where the lines carry speakers and no words.
"""
import html
import json
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from ..errors import TranscriptError
from ..records.sound import Segment, Source, Word
from ..timebase import Span

MOST_BYTES = 512 * 1024 * 1024
LONGEST_LINE = 2_000_000
_CUE = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{2})[.,](\d{1,3})\s*-->\s*(?:(\d+):)?(\d{1,2}):(\d{2})[.,](\d{1,3})")
_VOICE = re.compile(r"<v(?:\.[^ >]*)?\s+([^>]*)>")
_TAG = re.compile(r"</?[a-z0-9.:]*[^>]*>", re.IGNORECASE)
_SAID_BY = re.compile(r"^([A-Z][\w .'-]{0,30}):\s+(?=\S)")


def read_transcript(path: Path, source: Source) -> tuple[Segment, ...]:
    """Segments of a saved transcript; its seconds are those of the recording that the source names.

    Raises TranscriptError with the line and the likely mistake.
    """
    text = _text_of(path)
    reader = _reader(path, text)
    lines = text.splitlines()
    longest = max(map(len, lines), default=0)
    if longest > LONGEST_LINE:
        raise TranscriptError(f"a line of {longest:,} characters", str(path), "is it a transcript? lines hold one utterance each")
    return tuple(reader(lines, path, source))


def _text_of(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise TranscriptError(f"larger than {MOST_BYTES >> 20} MiB", str(path), "split it, one transcript a recording")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise TranscriptError("not UTF-8 text", str(path), "save it as UTF-8; is it a transcript?") from error
    except OSError as error:
        raise TranscriptError(f"cannot be read: {error.strerror}", str(path), "check the name and the permissions") from error


Reader = Callable[[Sequence[str], Path, Source], Iterator[Segment]]


def _reader(path: Path, text: str) -> Reader:
    head = text.lstrip()[:2000]
    if head.startswith("WEBVTT"):
        return _cues
    if head.startswith("{"):
        return _json_lines
    if _CUE.search(head):
        return _cues
    if path.suffix.lower() == ".ctm" or re.match(r"(;;.*\n)*\S+\s+\S+\s+\d+(\.\d+)?\s+\d+(\.\d+)?\s+\S+", head):
        return _ctm
    if not head.strip():
        return lambda *_: iter(())
    raise TranscriptError("no known form of transcript", str(path), "give JSON Lines, WebVTT, SubRip or CTM")


def _name(source: Source, index: int) -> str:
    return f"{source.recording}.{source.channel}.{index:06d}"


def _json_lines(lines: Sequence[str], path: Path, source: Source) -> Iterator[Segment]:
    for index, line in enumerate(lines):
        if not line.strip():
            continue
        try:
            row = json.loads(line)
            if not isinstance(row, dict):
                raise TypeError("not an object")
            yield _json_segment(index, row, source)
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            raise TranscriptError(f"not a transcript line: {_plain(error)}", f"{path}, line {index + 1}",
                                  "each line is an object with text, and t or start_s in seconds") from error


def _plain(error: Exception) -> str:
    return f"{error} is missing" if isinstance(error, KeyError) else str(error)


def _json_segment(index: int, row: dict[str, Any], source: Source) -> Segment:
    start = row["t"] if "t" in row else row.get("start_s")
    end = row.get("end_s")
    span = None if start is None else Span.of_seconds(_seconds(start), max(_seconds(start), _seconds(end if end is not None else start)))
    given = row.get("words")
    words = tuple(_word(item) for item in given) if given else tuple(Word(text) for text in str(row["text"]).split())
    speaker, loop = row.get("speaker"), row.get("loop")
    counted = index if speaker is not None and not given else None
    return Segment(_name(source, index), words, source, span, str(loop) if loop is not None else None,
                   str(speaker) if speaker is not None else None, counted)


def _seconds(given: Any) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise TypeError(f"{given!r} is no number of seconds")
    if given < 0:
        raise ValueError(f"{given!r}: seconds count from the start of the recording")
    return float(given)


def _word(item: Any) -> Word:
    start = _seconds(item["start_s"])
    probability = item.get("probability")
    return Word(str(item["word"]).strip(), Span.of_seconds(start, max(start, _seconds(item["end_s"]))),
                None if probability is None else float(probability))


def _cues(lines: Sequence[str], path: Path, source: Source) -> Iterator[Segment]:
    """WebVTT and SubRip: a time line, then text up to an empty line."""
    index = count = 0
    while index < len(lines):
        if "-->" not in lines[index]:
            index += 1
            continue
        found = _CUE.match(lines[index].strip())
        if not found:
            raise TranscriptError("a time line that cannot be read", f"{path}, line {index + 1}", "write 00:00:11.000 --> 00:00:13.000")
        start, end = _cue_seconds(found.groups()[:4]), _cue_seconds(found.groups()[4:])
        if end < start:
            raise TranscriptError("a cue that ends before it begins", f"{path}, line {index + 1}", "are the two times swapped?")
        stop = next((i for i in range(index + 1, len(lines)) if not lines[i].strip()), len(lines))
        for speaker, text in _said(lines[index + 1:stop]):
            words = tuple(Word(word) for word in text.split())
            if words:
                yield Segment(_name(source, count), words, source, Span.of_seconds(start, end), None, speaker)
                count += 1
        index = stop


def _cue_seconds(parts: Sequence[str | None]) -> float:
    hours, minutes, seconds, thousandths = parts
    return int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0) + int((thousandths or "0").ljust(3, "0")) / 1000


def _said(lines: Sequence[str]) -> list[tuple[str | None, str]]:
    """Who says what in one cue: voice tags, else a name and a colon, else nobody."""
    text = " ".join(lines)
    pieces = _VOICE.split(text)
    said: list[tuple[str | None, str]] = [(None, pieces[0])] if pieces[0].strip() else []
    said += [(name.strip(), words) for name, words in zip(pieces[1::2], pieces[2::2], strict=True)]
    return [_named(name, html.unescape(_TAG.sub("", words)).strip()) for name, words in said]


def _named(name: str | None, text: str) -> tuple[str | None, str]:
    found = _SAID_BY.match(text) if name is None else None
    return (found.group(1), text[found.end():]) if found else (name, text)


def _ctm(lines: Sequence[str], path: Path, source: Source) -> Iterator[Segment]:
    """Words with times, gathered to segments at pauses of a second."""
    waiting: list[Word] = []
    count = 0
    for index, line in enumerate(lines):
        if not line.strip() or line.startswith(";;"):
            continue
        word = _ctm_word(line.split(), f"{path}, line {index + 1}")
        if waiting and waiting[-1].span and word.span and word.span.start_s - waiting[-1].span.end_s > 1:
            yield _of_words(waiting, source, count)
            waiting, count = [], count + 1
        waiting.append(word)
    if waiting:
        yield _of_words(waiting, source, count)


def _ctm_word(cells: Sequence[str], where: str) -> Word:
    try:
        start, length = float(cells[2]), float(cells[3])
        return Word(cells[4], Span.of_seconds(start, start + length), float(cells[5]) if len(cells) > 5 else None)
    except (IndexError, ValueError) as error:
        raise TranscriptError("not a CTM line", where, "write: file channel start duration word [confidence]") from error


def _of_words(words: Sequence[Word], source: Source, count: int) -> Segment:
    first, last = words[0].span, words[-1].span
    return Segment(_name(source, count), tuple(words), source, first.hull(last) if first and last else None)
