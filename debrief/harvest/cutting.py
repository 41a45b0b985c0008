"""Where one stretch of speech ends and the next begins, in recognised words of one channel.

A recogniser cuts by its own lights: one segment may hold a question and its answer, and one sentence may lie in two segments.
Here words of a channel are joined in time order and cut again: at pauses, sooner where a call, a question or an acknowledgement
stands at the border, later inside a list of numbers or a sentence. Voices, where segments carry them, move the limits.
"""
from collections.abc import Sequence
from dataclasses import dataclass

from ..records.sound import Segment
from ..records.talk import Token
from .callsigns import CallBook, plain_word

PAUSE_S = 0.6
"""Silence that ends a turn where the recogniser cut as well; other borders need more or less (see _limit_s)."""
_SAME_VOICE_S, _OTHER_VOICE_S = 1.5, 0.2
_WORDS_A_SENTENCE = 80
_ACKNOWLEDGES = frozenset("roger copy copied wilco".split())
_DENIES = frozenset("no negative correction".split())
"""Who puts a value right often says it twice ('negative, fifteen, one five')."""
_ORDERS = frozenset({("card",), ("step",), ("all",)})
_ANSWERS = frozenset("roger copy copied wilco affirm affirmative negative go ready thanks thank yes no loud wait understood okay".split())


@dataclass(frozen=True, slots=True)
class Spoken:
    """One word with what its segment knows of it."""

    token: Token
    segment: Segment
    start_s: float
    end_s: float


def spoken_words(segment: Segment, tokens: Sequence[Token]) -> list[Spoken]:
    """The words of a segment that has times for all of them."""
    return [Spoken(token, segment, token.span.start_s, token.span.end_s) for token in tokens if token.span is not None]


def cut_channel(words: Sequence[Spoken], book: CallBook) -> list[list[Spoken]]:
    """The words of one channel, in order, as runs of one speaker each."""
    words = sorted(words, key=lambda word: word.start_s)
    runs: list[list[Spoken]] = []
    plain = [plain_word(word.token) for word in words]
    ends = _sentence_ends(words)
    for index, word in enumerate(words):
        if not runs or _ends_before(words, plain, index, (len(runs[-1]), ends), book):
            runs.append([])
        runs[-1].append(word)
    return [part for run in runs for part in _at_values_told_again(run)]


def _at_values_told_again(run: list[Spoken]) -> list[list[Spoken]]:
    """A run cut before a sentence that holds nothing but figures told just before, or the end of the sentence before: another station reads them back."""
    plain = [plain_word(word.token) for word in run]
    starts = [0, *(i + 1 for i, word in enumerate(run[:-1]) if word.token.ends_sentence)]
    sentences = [plain[start:stop] for start, stop in zip(starts, [*starts[1:], len(run)], strict=True)]
    figures = [_figures(words) for words in sentences]
    cuts = [starts[i] for i in range(1, len(starts)) if sentences[i - 1][0] not in _DENIES
            and _told_again(sentences[i], sentences[i - 1], figures[max(0, i - 2):i + 1])]
    return [run[start:stop] for start, stop in zip([0, *cuts], [*cuts, len(run)], strict=True)]


def told_again(tokens: Sequence[Token], before: Sequence[Token]) -> bool:
    """Whether these words are nothing but figures, or a phrase, that stand in the words before: then another station reads them back."""
    words, earlier = [plain_word(token) for token in tokens], [plain_word(token) for token in before]
    return _told_again(words, earlier, [_figures(earlier), _figures(words)])


def _figures(words: Sequence[str]) -> str:
    """The digits that stand in the words, one behind the other."""
    return "".join(char for word in words for char in word if char.isdigit())


def _told_again(words: Sequence[str], before: Sequence[str], figures: Sequence[str]) -> bool:
    """Figures alone that stand in what was said before, or a phrase of three words and more whose words all stand in the sentence before."""
    if not figures[-1] or figures[-1] not in "".join(figures[:-1]):
        return False
    alone = len(figures[-1]) > 1 and all(any(char.isdigit() for char in word) or word == "and" for word in words)
    return alone or len(words) > 2 and set(words) <= set(before)


def _sentence_ends(words: Sequence[Spoken]) -> list[bool]:
    """Whether a sentence may end behind each word: at full stops, or at commas where the recogniser wrote nothing else for minutes."""
    commas_only = sum(word.token.ends_sentence for word in words) * _WORDS_A_SENTENCE < len(words) and len(words) > _WORDS_A_SENTENCE
    return [word.token.ends_sentence or commas_only and word.token.ends_clause for word in words]


def _ends_before(words: Sequence[Spoken], plain: Sequence[str], index: int, run: tuple[int, Sequence[bool]], book: CallBook) -> bool:
    before, after = words[index - 1], words[index]
    return after.start_s - before.end_s > _limit_s(words, plain, index, run, book)


def _limit_s(words: Sequence[Spoken], plain: Sequence[str], index: int, run: tuple[int, Sequence[bool]], book: CallBook) -> float:
    """The pause that would end the turn before this word. run: how many words the turn holds, and where sentences may end."""
    before, after = words[index - 1], words[index]
    length, closed = run[0], run[1][index - 1]
    voices = before.segment.voice, after.segment.voice
    if all(voices) and before.segment is not after.segment:
        return _SAME_VOICE_S if voices[0] == voices[1] else _OTHER_VOICE_S
    if _is_bare_call(plain[index - length:index], book):
        goes_on = not closed or book.at(plain[index:index + book.longest], 0)
        return 0.7 if goes_on else 0.3
    if plain[index] in _ACKNOWLEDGES and length <= 4 and _counts(before.token, plain[index - 1]):
        return 0.8
    if plain[index] in _ACKNOWLEDGES or tuple(plain[index:index + 2]) == ("say", "again"):
        return 0.25 if before.token.ends_clause else PAUSE_S
    if _counts(before.token, plain[index - 1]) and _counts(after.token, plain[index]) and not closed:
        return 0.9 if before.segment is not after.segment else 1.2
    if closed and not before.token.ends_sentence and tuple(plain[index:index + 1]) in _ORDERS:
        return 0.35
    if closed and (before.token.text.rstrip().endswith("?") or plain[index] in _ANSWERS):
        return 0.45
    if before.token.ends_clause and book.at(plain[index:index + book.longest], 0):
        return 0.35 if closed else 0.5
    return PAUSE_S if before.segment is not after.segment else 0.8


def _is_bare_call(plain: Sequence[str], book: CallBook) -> bool:
    """'Yellow?', 'And Gas?': nothing but a name, which waits for an answer."""
    if not 0 < len(plain) <= book.longest + 1:
        return False
    mention = book.at(plain, 0) or (book.at(plain, 1) if plain[0] in {"and", "okay"} else None)
    return mention is not None and mention.end == len(plain)


def _counts(token: Token, plain: str) -> bool:
    return any(char.isdigit() for char in plain) or token.norm in _TENS


_TENS = frozenset("thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty "
                  "ninety hundred thousand half point".split())
