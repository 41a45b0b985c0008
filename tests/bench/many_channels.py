"""A file of many silent channels: what its account of speech and silence costs in one reading, and channel by channel.

    python tests/bench/many_channels.py [--channels 8] [--seconds 3600] [--rate 16000]

Prints seconds of the processor. Channel by channel is told from one channel, times their number. The file is WAV in a folder of the system's.
"""
import argparse
import tempfile
import time
import wave
from pathlib import Path

from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.speech_spans import account
from debrief.records.sound import Recording


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--channels", type=int, default=8)
    given.add_argument("--seconds", type=int, default=3600)
    given.add_argument("--rate", type=int, default=16_000)
    options = given.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "silent.wav"
        with wave.open(str(path), "wb") as file:
            file.setparams((options.channels, 2, options.rate, 0, "NONE", ""))
            for _ in range(options.seconds):
                file.writeframes(bytes(2 * options.channels * options.rate))
        info = probe(path)
        recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)
        told = []
        for channels in (range(options.channels), range(1)):
            began = time.process_time()
            account(recording, channels)
            told.append(time.process_time() - began)
    print(f"{options.channels} channels of {options.seconds} s: {told[0]:.1f} s in one reading, {told[1] * options.channels:.1f} s one by one")


if __name__ == "__main__":
    main()
