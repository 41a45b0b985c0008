"""Spoken numbers heard right, by value, and the harm of weighing: every number of the truth, digit strings composed.

    python tests/bench/values_heard.py SETS HEARD=NAME ... [--runs RUN=NAME ...]

SETS holds NAME.jsonl (t, end_s, text); HEARD is a transcript (a `text` each), in the order of time. A number is right where the alignment of the whole
with the fewest edits keeps it; false where one was heard that no number of the truth stands against. --runs: folders that `debrief run` wrote, to
tell of the answers of weighing: how many changed a value, and of those how many said, near their place, what was said (and what was heard before).
"""
import argparse
import json
from collections import Counter
from pathlib import Path

from rapidfuzz.distance import Levenshtein

from debrief.harvest.questions import value_of
from debrief.model_trial import counted
from debrief.store.opening import open_to_read

NEAR_S = 1.5


def numbers(truth: tuple[str, ...], heard: tuple[str, ...]) -> Counter[str]:
    """Numbers said, heard right, and false ones."""
    edits = Levenshtein.editops(truth, heard)
    touched = {edit.src_pos for edit in edits if edit.tag in ("replace", "delete")}
    made = {edit.dest_pos for edit in edits if edit.tag in ("replace", "insert")}
    said = [index for index, word in enumerate(truth) if word.startswith("#")]
    return Counter(said=len(said), right=sum(index not in touched for index in said),
                   false=sum(word.startswith("#") for index, word in enumerate(heard) if index in made))


def lines_of(sets: Path, name: str) -> list[dict]:
    return sorted(map(json.loads, (sets / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()), key=lambda line: line["t"])


def weighed(run: Path, lines: list[dict]) -> Counter[str]:
    """Questions asked, answers that changed a value, and whether the value before or after was said in the lines at that time."""
    found: Counter[str] = Counter()
    with open_to_read(run) as store:
        number = store.accepted_pass()
        asked = {question.question: question for question in store.questions(number)}
        for answer in store.answers(number):
            question = asked[answer.question]
            found["asked"] += 1
            found["numbers"] += len(value_of(question.heard).split())
            if answer.best is None or question.values[answer.best] == value_of(question.heard):
                continue
            found["changed"] += 1
            near = [line for line in lines if line["t"] - NEAR_S < question.span.end_s and line["end_s"] + NEAR_S > question.span.start_s]
            said = " ".join(value_of(line["text"]) for line in near)
            found["right before"] += value_of(question.heard) in said
            found["right after"] += question.values[answer.best] in said
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sets", type=Path)
    parser.add_argument("heard", nargs="*")
    parser.add_argument("--runs", nargs="*", default=[])
    given = parser.parse_args()
    total: Counter[str] = Counter()
    for pair in given.heard:
        file, _, name = pair.rpartition("=")
        truth = counted(" ".join(line["text"] for line in lines_of(given.sets, name)))
        total += numbers(truth, counted(" ".join(json.loads(line)["text"] for line in Path(file).read_text(encoding="utf-8").splitlines())))
    if total:
        print(f"{total['right']} of {total['said']} numbers right ({total['right'] / total['said']:.3f}), wrong {1 - total['right'] / total['said']:.3f}, "
              f"false {total['false']}")
    told = sum((weighed(Path(folder), lines_of(given.sets, name)) for folder, _, name in (pair.rpartition("=") for pair in given.runs)), Counter())
    if told:
        print(dict(told))


if __name__ == "__main__":
    main()
