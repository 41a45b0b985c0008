"""A few seconds of a recording as a small sound file that browsers play: Ogg with Opus."""
import io
from pathlib import Path

import av
import numpy as np

from ..records.sound import Recording, Source
from ..timebase import HEARING_RATE_HZ, Span
from .heard_files import check_heard
from .recogniser import Sound
from .recording import read_open

CLIP_BITS_PER_S = 24_000
LONGEST_CLIP_S = 60.0
_LOUD = 0.5
_MOST_GAIN = 10.0


def clip(recording: Recording, source: Source, span: Span, margin_s: float = 0.3) -> bytes:
    """The sound of a span with a little before and after, as Ogg/Opus; quiet sound is raised, at most tenfold. At most a minute.

    What is excluded or erased is silent in it. RecordingError where the file is not the recording that was heard."""
    check_heard(Path(recording.path), recording.sha256)
    margin = round(margin_s * HEARING_RATE_HZ)
    start = max(0, span.start - margin)
    end = min(span.end + margin, recording.duration or span.end + margin, start + round(LONGEST_CLIP_S * HEARING_RATE_HZ))
    return encode(read_open(recording, source.channel, Span(start, max(start, end))))


def levelled(sound: Sound) -> Sound:
    """Quiet sound raised, at most tenfold; loud sound as it is, within -1 to 1."""
    loudest = float(np.abs(sound).max()) if len(sound) else 0.0
    gain = min(_MOST_GAIN, _LOUD / loudest) if 0 < loudest < _LOUD else 1.0
    return np.clip(sound * gain, -1, 1).astype(np.float32)


def encode(sound: Sound) -> bytes:
    """16 kHz mono float32 as Ogg/Opus, quiet sound raised."""
    if not len(sound):  # an encoder takes no empty sound
        sound = np.zeros(HEARING_RATE_HZ // 50, np.float32)
    samples = levelled(sound)
    out = io.BytesIO()
    with av.open(out, "w", format="ogg") as container:
        stream = container.add_stream("libopus", rate=HEARING_RATE_HZ, layout="mono")
        stream.bit_rate = CLIP_BITS_PER_S
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray((samples * 32767).astype(np.int16))[None], format="s16", layout="mono")
        frame.sample_rate = HEARING_RATE_HZ
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    return out.getvalue()
