"""What every reader of saved transcripts shares: safe reading of lines, cleaned text, checked seconds, and the segment itself."""
import re
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from ..errors import TranscriptError
from ..records.sound import Segment, Source, Word
from ..timebase import Span
from .recording import ADDRESS

MOST_BYTES = 500_000_000
LONGEST_LINE = 1_000_000
MOST_SECONDS = 10_000_000.0
"""About 115 days: a time beyond it is no second of a recording."""
# Control characters and the marks that turn the direction of text have no place in talk and could hide what it says.
_UNWANTED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]")


@dataclass(frozen=True, slots=True)
class Where:
    """A line of a file, for messages and for words that lack a time."""

    path: Path
    line: int

    def fault(self, what: str, todo: str) -> TranscriptError:
        return TranscriptError(what, f"{self.path}, line {self.line}", todo)


def lines_of(path: Path) -> Iterator[tuple[Where, str]]:
    """Lines (without their ends) and where they stand, counted from 1. TranscriptError for what is no readable text file."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise TranscriptError("this is not a plain file", str(path), "name the file that holds the transcript")
        if found.st_size > MOST_BYTES:
            raise TranscriptError(f"the file has more than {MOST_BYTES // 1_000_000} MB", str(path), "is it a transcript? split it if so")
        with path.open(encoding="utf-8-sig", newline=None) as file:
            for number, line in enumerate(iter(lambda: file.readline(LONGEST_LINE + 1), ""), start=1):
                if len(line) > LONGEST_LINE:
                    raise TranscriptError(f"a line of more than {LONGEST_LINE:,} characters", f"{path}, line {number}",
                                          "is it a transcript? a line holds what was said in one go")
                yield Where(path, number), line.rstrip("\r\n")
    except FileNotFoundError:
        if ADDRESS.match(str(path)):
            raise TranscriptError("an address is not a transcript; nothing is fetched from a network", str(path), "save it as a file") from None
        raise TranscriptError("no such transcript", str(path), "check the name") from None
    except UnicodeDecodeError as error:
        raise TranscriptError(f"not UTF-8 text (byte {error.start})", str(path), "save the transcript as UTF-8") from error
    except OSError as error:
        raise TranscriptError(f"the transcript cannot be read: {error.strerror or error}", str(path), "check its permissions") from error


def cleaned(text: str) -> str:
    """Text without control and direction characters, white space as single spaces."""
    return " ".join(_UNWANTED.sub(" ", text).split())


def seconds(given: object, name: str, where: Where) -> float:
    """A time in seconds from a file: a finite number, not negative, not absurd."""
    if isinstance(given, bool) or not isinstance(given, int | float | str):
        raise where.fault(f"{name} is {type(given).__name__}, not seconds", f"write {name} as a number of seconds")
    try:
        value = float(given)
    except (ValueError, OverflowError):
        raise where.fault(f"{name} is {str(given)[:40]!r}, not seconds", f"write {name} as a number of seconds") from None
    if not isfinite(value) or not 0 <= value <= MOST_SECONDS:
        raise where.fault(f"{name} is {str(given)[:40]}: not a second of a recording",
                          "times count seconds from the start of the recording (are they a clock's, or milliseconds?)")
    return value


def span_of(start_s: float, end_s: float, where: Where) -> Span:
    """The span of two times; a fault when they are reversed."""
    if end_s < start_s:
        raise where.fault(f"it ends ({end_s:g} s) before it starts ({start_s:g} s)", "swap the two times")
    return Span.of_seconds(start_s, end_s)


def plain_words(text: str) -> tuple[Word, ...]:
    return tuple(Word(word) for word in cleaned(text).split())


def segment_id(source: Source, index: int) -> str:
    return f"{source.recording}.{source.channel}.{index:06d}"


def simple_segment(source: Source, index: int, words: Sequence[Word], span: Span, speaker: str | None) -> Segment:
    """A segment with a span, as caption files and word lists give it."""
    return Segment(segment_id(source, index), tuple(words), source, span, speaker=speaker or None)
