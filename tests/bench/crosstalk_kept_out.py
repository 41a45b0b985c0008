"""Talk of one loop that leaked onto another channel of the file: how much of it the run wrote there, and whether the loop's own words were kept.

    python tests/bench/crosstalk_kept_out.py RUN TRUTH [--plain HEARD=CHANNEL ...]

RUN is a folder that `debrief run` wrote; TRUTH holds phrases (start_s, end_s on the clock of the first file, loop, text). For each two channels of a
file: of the neighbour's words that were said while the channel's own loop was silent, the part that stands in the channel's used words at that time
(a word is looked for within 0.5 s of its phrase); and of the own loop's words the part that does. --plain: the same of other text of a channel.
"""
import argparse
import json
from collections import Counter, defaultdict
from pathlib import Path

from scoring import normal

from debrief.store.opening import open_to_read

AROUND_S = 0.5
Words = list[tuple[float, str]]


def used_words(run: Path) -> dict[tuple[str, str], Words]:
    """(second of the session, word) of each (recording, loop)."""
    found: dict[tuple[str, str], Words] = defaultdict(list)
    with open_to_read(run) as store:
        clocks = {recording.recording: recording.clock for recording in store.recordings()}
        for segment in store.segments(store.accepted_pass()):
            if not segment.set_aside and segment.loop:
                for word in segment.words:
                    if word.span:
                        at_s = clocks[segment.source.recording].to_session_s(word.span.start_s)
                        found[segment.source.recording, segment.loop] += [(at_s, part) for part in normal(word.text)]
    return found


def written(phrase: dict, words: Words) -> tuple[int, int]:
    """Words of a phrase, and how many of them stand in words at its time."""
    near = Counter(word for at, word in words if phrase["start_s"] - AROUND_S <= at <= phrase["end_s"] + AROUND_S)
    said = Counter(normal(phrase["text"]))
    return said.total(), (said & near).total()


def told(name: str, phrases: list[dict], own: str, other: str, words: Words) -> None:
    mine = [phrase for phrase in phrases if phrase["loop"] == own]
    alone = [phrase for phrase in phrases if phrase["loop"] == other and not any(
        phrase["start_s"] - 2 * AROUND_S < one["end_s"] and one["start_s"] < phrase["end_s"] + 2 * AROUND_S for one in mine)]
    leaked, kept = ([sum(column) for column in zip(*(written(phrase, words) for phrase in some), strict=True)] or [0, 0] for some in (alone, mine))
    print(f"{name}: of {leaked[0]} words of {other} alone {leaked[1]} written ({leaked[1] / max(1, leaked[0]):.3f}); "
          f"of {kept[0]} words of its own {kept[1]} ({kept[1] / max(1, kept[0]):.3f})")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("run", type=Path)
    parser.add_argument("truth", type=Path)
    parser.add_argument("--plain", nargs="*", default=[])
    given = parser.parse_args()
    phrases = [json.loads(line) for line in given.truth.read_text(encoding="utf-8").splitlines()]
    words = used_words(given.run)
    for recording, own in words:
        for other in (loop for place, loop in words if place == recording and loop != own):
            told(f"{own}, as run", phrases, own, other, words[recording, own])
            for file, _, name in (item.rpartition("=") for item in given.plain):
                if name == own:
                    lines = [json.loads(line) for line in Path(file).read_text(encoding="utf-8").splitlines()]
                    plain = [(word["start_s"], part) for line in lines for word in line["words"] for part in normal(word["word"])]
                    told(f"{own}, {Path(file).name}", phrases, own, other, plain)


if __name__ == "__main__":
    main()
