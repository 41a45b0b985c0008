"""Windows to segments: the recogniser's words, placed on the recording's clock."""
from ..records.sound import Recording, Segment, Word
from .recogniser import NO_HINTS, HeardSegment, Hints, Recogniser
from .windows import Window, window_sound


def hear_window(recogniser: Recogniser, recording: Recording, window: Window, hints: Hints = NO_HINTS) -> tuple[Segment, ...]:
    """Segments of one window, used and set aside. Ids ('r1.0.000012.03': window, then segment) are the same in every pass."""
    heard = recogniser.hear(window_sound(recording, window), hints)
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
