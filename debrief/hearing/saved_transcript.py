"""Saved transcripts as another way in: the same segments out.

Kinds, by the end of the file's name: JSON Lines (.jsonl, .json, .ndjson), WebVTT (.vtt; <v Name> is the speaker), SubRip (.srt;
"NAME: text" is a speaker where the name is in capitals) and CTM word lists (.ctm). Malformed lines are refused with their number.
"""
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from ..errors import TranscriptError
from ..records.sound import Segment, Source, Word
from .captions_in import read_srt, read_vtt
from .transcript_text import Where, cleaned, lines_of, plain_words, seconds, segment_id, span_of
from .word_lists_in import read_ctm

_EXAMPLE = 'each line is an object such as {"start_s": 1.5, "speaker": "CC", "text": "Go for it."}'


def read_transcript(path: Path, source: Source) -> tuple[Segment, ...]:
    """Segments of a saved transcript; its times are seconds of the recording that the source names. Raises TranscriptError."""
    readers: dict[str, Callable[[Path, Source], tuple[Segment, ...]]] = {
        ".jsonl": read_json_lines, ".json": read_json_lines, ".ndjson": read_json_lines, ".vtt": read_vtt, ".srt": read_srt,
        ".ctm": read_ctm}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise TranscriptError(f"no kind of transcript is called {path.suffix or 'nothing'!r}", str(path),
                              f"name it by what it holds: {', '.join(readers)}")
    segments = reader(path, source)
    if not segments:
        raise TranscriptError("the transcript holds no words", str(path), "check that it was saved whole")
    return segments


def read_json_lines(path: Path, source: Source) -> tuple[Segment, ...]:
    """JSON Lines: text, and t or start_s; optional end_s, speaker, loop, words [{word, start_s, end_s, probability}].

    line_index counts the lines that hold something, only where they carry a speaker and no words.
    """
    filled = ((where, line) for where, line in lines_of(path) if line.strip())
    return tuple(_segment(index, _object(line, where), source, where) for index, (where, line) in enumerate(filled))


def _object(line: str, where: Where) -> Mapping[str, Any]:
    try:
        row = json.loads(line)
    except json.JSONDecodeError as error:
        raise where.fault(f"not JSON: {error.msg}", _EXAMPLE) from None
    except (ValueError, RecursionError):  # a number of absurd length, or brackets thousands deep
        raise where.fault("JSON of absurd size or depth", _EXAMPLE) from None
    if not isinstance(row, dict):
        raise where.fault(f"{type(row).__name__}, not an object", _EXAMPLE)
    if not isinstance(row.get("text"), str):
        raise where.fault("no text" if row.get("text") is None else "text is not text", _EXAMPLE)
    return row


def _segment(index: int, row: Mapping[str, Any], source: Source, where: Where) -> Segment:
    start = row.get("t", row.get("start_s"))
    span = None
    if start is not None:
        start_s = seconds(start, "t" if "t" in row else "start_s", where)
        end = row.get("end_s")
        span = span_of(start_s, start_s if end is None else seconds(end, "end_s", where), where)
    words = _words(row.get("words"), where)
    placed = "speaker" in row and not row.get("words")
    return Segment(segment_id(source, index), words or plain_words(row["text"]), source, span, _name(row, "loop", where),
                   _name(row, "speaker", where), index if placed else None)


def _words(given: Any, where: Where) -> tuple[Word, ...]:
    if given is None:
        return ()
    if not isinstance(given, list):
        raise where.fault("words is no list", 'words are [{"word": "go", "start_s": 1.5, "end_s": 1.7}, ...]')
    return tuple(word for word in (_word(item, where) for item in given) if word.text)


def _word(item: Any, where: Where) -> Word:
    if not isinstance(item, dict) or not isinstance(item.get("word"), str):
        raise where.fault("one of its words is not an object with a word", 'words are [{"word": "go", "start_s": 1.5, "end_s": 1.7}, ...]')
    probability = item.get("probability")
    if probability is not None and (isinstance(probability, bool) or not isinstance(probability, int | float) or not 0 <= probability <= 1):
        raise where.fault(f"the probability of {item['word'][:40]!r} is no number from 0 to 1", "leave it out where it is not known")
    if item.get("start_s") is None:
        return Word(cleaned(item["word"]), None, probability)
    start_s = seconds(item["start_s"], "start_s", where)
    # Recognisers give words of no length, and now and then an end a hair before the start: such a word is a moment, not a fault.
    end_s = max(start_s, seconds(item.get("end_s", start_s), "end_s", where))
    return Word(cleaned(item["word"]), span_of(start_s, end_s, where), probability)


def _name(row: Mapping[str, Any], key: str, where: Where) -> str | None:
    given = row.get(key)
    if given is None:
        return None
    if not isinstance(given, str):
        raise where.fault(f"{key} is not text", f"write {key} as a name")
    return cleaned(given) or None
