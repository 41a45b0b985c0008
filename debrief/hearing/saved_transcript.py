"""Saved transcripts as another way in: the same segments out."""
import json
from pathlib import Path

from ..errors import TranscriptError
from ..records.sound import Segment, Source, Word
from ..timebase import Span


def read_transcript(path: Path, source: Source) -> tuple[Segment, ...]:
    """Segments of a JSON Lines transcript; times are seconds of the recording the source names."""
    segments = []
    for index, line in enumerate(path.read_text(encoding="utf-8").splitlines()):
        try:
            segments.append(_segment(index, json.loads(line), source))
        except (ValueError, KeyError) as error:
            raise TranscriptError(f"not a transcript line: {error}", f"{path}, line {index + 1}",
                                  "each line is an object with text, and t or start_s") from error
    return tuple(segments)


def _segment(index: int, row: dict, source: Source) -> Segment:
    start_s = row.get("t", row.get("start_s"))
    end_s = row.get("end_s", start_s)
    words = tuple(Word(w["word"].strip(), Span.of_seconds(w["start_s"], max(w["start_s"], w["end_s"])), w.get("probability"))
                  for w in row.get("words", ())) or tuple(Word(text) for text in row["text"].split())
    return Segment(f"{source.recording}.{source.channel}.{index:06d}", words, source,
                   Span.of_seconds(start_s, max(start_s, end_s)) if start_s is not None else None,
                   row.get("loop"), row.get("speaker"),
                   index if "speaker" in row and "words" not in row else None)
