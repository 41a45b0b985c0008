"""A few seconds of a recording as a small file of their own, to lie inside a sheet."""
import io
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from ..timebase import HEARING_RATE_HZ, Span
from .recording import read_span

MIME = "audio/ogg"
_RATE_HZ = 48_000
_BIT_RATE = 16_000


def clip(path: Path, channel: int, span: Span) -> bytes:
    """The span as Ogg/Opus, mono, at 16 kbit/s. Raises RecordingError where the recording cannot be opened."""
    sound = read_span(path, channel, span)
    peak = float(np.max(np.abs(sound), initial=0.0))
    if 0 < peak < 0.5:
        sound = sound * np.float32(0.5 / peak)
    out = io.BytesIO()
    with av.open(out, "w", format="ogg") as container:
        stream = container.add_stream("libopus", rate=_RATE_HZ, layout="mono")
        stream.bit_rate = _BIT_RATE
        resampler = av.AudioResampler(format="s16", layout="mono", rate=_RATE_HZ, frame_size=960)
        frame = av.AudioFrame.from_ndarray((np.clip(sound, -1, 1) * 32767).astype(np.int16)[None], format="s16", layout="mono")
        frame.sample_rate = HEARING_RATE_HZ
        frame.time_base = Fraction(1, HEARING_RATE_HZ)
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            container.mux(stream.encode(piece))
        container.mux(stream.encode(None))
    return out.getvalue()
