"""CTM word lists in (NIST scoring format): `recording channel start duration word [confidence]`, one word a line, `;;` comments."""
from pathlib import Path

from ..records.sound import Segment, Source, Word
from .transcript_text import Where, cleaned, lines_of, seconds, simple_segment, span_of

_PAUSE_S = 1.0
_MOST_WORDS = 200


def read_ctm(path: Path, source: Source) -> tuple[Segment, ...]:
    """Words of a CTM file, cut into segments at pauses over a second, at another recording or channel, and after 200 words."""
    groups: list[list[Word]] = []
    last_key, last_end = ("", ""), 0
    for where, line in lines_of(path):
        if not line.strip() or line.lstrip().startswith(";;"):
            continue
        key, word = _word(line.split(), where)
        assert word.span is not None
        if key != last_key or word.span.start - last_end > _PAUSE_S * 16_000 or len(groups[-1]) >= _MOST_WORDS:
            groups.append([])
        if word.text:
            groups[-1].append(word)
        last_key, last_end = key, word.span.end
    filled = [group for group in groups if group]
    return tuple(simple_segment(source, index, group, _hull(group), None) for index, group in enumerate(filled))


def _word(fields: list[str], where: Where) -> tuple[tuple[str, str], Word]:
    if len(fields) < 5:
        raise where.fault(f"{len(fields)} fields", "a line is: recording channel start duration word [confidence]")
    start_s, length_s = seconds(fields[2], "the start", where), seconds(fields[3], "the duration", where)
    probability = seconds(fields[5], "the confidence", where) if len(fields) > 5 and fields[5] != "NA" else None
    if probability is not None and probability > 1:
        raise where.fault(f"the confidence is {fields[5]}", "it is a number from 0 to 1, or left out")
    return (fields[0], fields[1]), Word(cleaned(fields[4]), span_of(start_s, start_s + length_s, where), probability)


def _hull(words: list[Word]):
    spans = [word.span for word in words if word.span is not None]
    return spans[0].hull(max(spans, key=lambda span: span.end))
