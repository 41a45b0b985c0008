"""Every reader of text, fed with made-up input by the million: it returns, or refuses in our own words.

    python tests/bench/fuzz_text.py [--runs 150000] [--only vtt] [--seed 1]

Uses atheris (coverage-guided) where it is installed, else random mutations of the examples. Each reader runs in a process of its own; an
exception that is not ours, a hang of 20 s or more than 2 GB ends it and is printed with the input. Prints a line a reader.
"""
import argparse
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

SLOW = {"talk": 15, "lexicon": 6, "session": 2, "cards": 2}
"""Readers that do more for each input get that part of the runs."""


def guided(name: str, runs: int, seed: int) -> None:
    """One reader under atheris; does not return."""
    import atheris

    with atheris.instrument_imports(include=["debrief"]):
        from text_targets import TARGETS
    target, examples = TARGETS[name]
    corpus = Path(tempfile.mkdtemp())
    for place, example in enumerate(examples):
        (corpus / str(place)).write_bytes(example)
    atheris.Setup([sys.argv[0], f"-runs={runs}", f"-seed={seed}", "-timeout=20", "-rss_limit_mb=2048", "-max_len=3000", "-verbosity=0",
                   "-print_final_stats=1", str(corpus)], target)
    atheris.Fuzz()


def mutated(name: str, runs: int, seed: int) -> None:
    """One reader under random mutations of its examples."""
    from text_targets import TARGETS

    target, examples = TARGETS[name]
    rng = random.Random(seed)
    odd = (b"\0", b"\xff", b"\xe2\x80\xae", b"=cmd|' /C calc'!A0", b"<script>", b"-->", b"'; DROP TABLE rows;--", b"9" * 400, b"[" * 500, b"\n\n", b"1e999")
    for _ in range(runs):
        data = bytearray(rng.choice(examples))
        for _ in range(rng.randint(1, 12)):
            at = rng.randrange(len(data) + 1)
            deed = rng.randrange(4)
            if deed == 0:
                data[at:at + rng.randint(1, 9)] = b""
            elif deed == 1:
                data[at:at] = rng.choice(odd)
            elif deed == 2:
                data[at:at] = data[rng.randrange(len(data) + 1):][:rng.randint(1, 40)]
            else:
                data[at:at + 1] = bytes([rng.randrange(256)])
        target(bytes(data))


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--runs", type=int, default=150_000)
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--only")
    given.add_argument("--inside")
    options = given.parse_args()
    if options.inside:
        (guided if options.only == "atheris" else mutated)(options.inside, options.runs, options.seed)
        return
    try:
        import atheris  # noqa: F401
        how = "atheris"
    except ImportError:
        how = "mutations"
    names = ("jsonl", "vtt", "srt", "ctm", "session", "lexicon", "cards", "search", "talk")
    for name in (options.only,) if options.only else names:
        runs, began = options.runs // SLOW.get(name, 1), time.monotonic()
        ended = subprocess.run([sys.executable, __file__, "--inside", name, "--only", how, "--runs", str(runs), "--seed", str(options.seed)],
                               capture_output=True, text=True, errors="replace", check=False)
        print(f"{name}: {runs} inputs ({how}, seed {options.seed}), exit code {ended.returncode}, {time.monotonic() - began:.0f} s", flush=True)
        if ended.returncode:
            print((ended.stdout + ended.stderr)[-3000:], flush=True)


if __name__ == "__main__":
    main()
