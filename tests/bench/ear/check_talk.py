"""Looks over what make_talk.py wrote: hours, kinds, voices, texts, and whether the decoded sound of every utterance lies where its line says.

    python check_talk.py OUT

make_talk.py leaves 20 ms before an utterance's first loud sample and 0.2 s of silence before that. 'out of place' counts utterances whose first
loud sample, after decoding, lies more than 20 ms early or 40 ms late (the codec drops faint beginnings) or whose surroundings are not silent. The
exit status is 1 when a text holds a figure or more than one utterance in a hundred is out of place.
"""
import json
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import numpy as np

RATE = 16_000


def misplaced(rows: list[dict[str, object]], sound: np.ndarray) -> int:
    count = 0
    for row in rows:
        start, samples = int(str(row["start"])), int(str(row["samples"]))
        part = np.abs(sound[start:start + samples])
        if len(part) < samples:
            count += 1
            continue
        peak = part.max()
        first = int(np.argmax(part > 0.015 * peak))
        around = np.concatenate([sound[start - RATE // 10:start - RATE // 50], sound[start + samples + RATE // 50:start + samples + RATE // 10]])
        count += not 0 <= first <= RATE * 3 // 50 or bool(np.sqrt(np.mean(around**2)) > 0.02 * peak)
    return count


def main() -> int:
    seconds: Counter[str] = Counter()
    utterances, wrong, figures, size = 0, 0, 0, 0
    lengths = []
    for path in sorted(Path(sys.argv[1]).glob("shard_*.jsonl")):
        rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
        ogg = path.with_suffix(".ogg")
        raw = subprocess.run(["ffmpeg", "-v", "error", "-i", str(ogg), "-f", "s16le", "-ar", str(RATE), "-ac", "1", "-"], check=True, capture_output=True)
        wrong += misplaced(rows, np.frombuffer(raw.stdout, np.int16).astype(np.float32) / 32768.0)
        size += ogg.stat().st_size + path.stat().st_size
        utterances += len(rows)
        for row in rows:
            figures += bool(re.search(r"\d", row["text"]))
            lengths.append(row["samples"] / RATE)
            engine, voice = row["voice"].split("-", 1)
            seconds[f"kind {row['kind']}"] += lengths[-1]
            seconds[f"engine {engine}"] += lengths[-1]
            plain = re.sub(r"-\d\.\d\d$", "", voice)
            seconds[f"voice {engine} {'any' if engine == 'espeak' else plain}"] += lengths[-1]
    total = sum(lengths)
    print(f"{total / 3600:.2f} h, {utterances} utterances, {size / 1e6:.1f} MB, out of place {wrong}, texts with figures {figures}")
    print("lengths: " + ", ".join(f"{part} % {np.percentile(lengths, part):.1f} s" for part in (5, 25, 50, 75, 95, 100)))
    for name, part in sorted(seconds.items()):
        print(f"{name}: {part / total:.3f}")
    return int(figures > 0 or wrong > utterances / 100)


if __name__ == "__main__":
    sys.exit(main())
