"""Windows to segments: the recogniser's words, placed on the recording's clock."""
from collections.abc import Callable, Iterator, Sequence
from typing import cast

from ..records.sound import Recording, Segment, Word
from .recogniser import NO_HINTS, BatchRecogniser, HeardSegment, Hints, Recogniser
from .windows import Window, window_sound


def hear_window(recogniser: Recogniser, recording: Recording, window: Window, hints: Hints = NO_HINTS) -> tuple[Segment, ...]:
    """Segments of one window, used and set aside. Ids ('r1.0.000012.03': window, then segment) are the same in every pass."""
    return _segments(recording, window, recogniser.hear(window_sound(recording, window), hints))


def hear_windows(recogniser: Recogniser, recording: Recording, windows: Sequence[Window], done: Callable[[Window], bool],
                 hints: Hints = NO_HINTS) -> Iterator[tuple[Window, tuple[Segment, ...] | None]]:
    """Every window in order with its segments, or None where it is done already; in batches where the recogniser gains by them.

    Batches are cut from all windows, done or not, so that a pass that goes on hears the same batches as one that was never stopped.
    """
    size = recogniser.batch if isinstance(recogniser, BatchRecogniser) else 1
    for first in range(0, len(windows), size):
        group = windows[first:first + size]
        missing = [not done(window) for window in group]
        heard: Sequence[tuple[HeardSegment, ...]] = ()
        if any(missing):
            sounds = [window_sound(recording, window) for window in group]
            many = size > 1 and isinstance(recogniser, BatchRecogniser)
            heard = cast(BatchRecogniser, recogniser).hear_many(sounds, hints) if many else [recogniser.hear(sounds[0], hints)]
        for index, window in enumerate(group):
            yield window, _segments(recording, window, heard[index]) if missing[index] else None


def _segments(recording: Recording, window: Window, heard: Sequence[HeardSegment]) -> tuple[Segment, ...]:
    return tuple(_segment(recording, window, index, segment) for index, segment in enumerate(heard))


def _segment(recording: Recording, window: Window, index: int, heard: HeardSegment) -> Segment:
    words = tuple(Word(word.text, window.place(word.start_s, max(word.start_s, word.end_s)), word.probability) for word in heard.words)
    spans = [word.span for word in words if word.span is not None]
    source = window.source
    return Segment(
        f"{source.recording}.{source.channel}.{window.index:06d}.{index:02d}", words, source, spans[0].hull(spans[-1]),
        recording.loops[source.channel] or None if source.channel < len(recording.loops) else None,
        mean_log_probability=heard.mean_log_probability, no_speech_probability=heard.no_speech_probability,
        compression_ratio=heard.compression_ratio, set_aside=heard.set_aside)
