"""Trains the radio ear: a low-rank adapter for Whisper base, on windows made while it trains.

    python train.py TALK MODEL OUT --minutes 8 [--part 0 1] [--way text|clear] [--resume] [--batch 96] [--rank 32] [--workers 15]

TALK: shard_NNN.ogg and .jsonl. MODEL: the folder of the plain weights in CTranslate2 form (model.bin, tokenizer.json), with faster-whisper's
FeatureExtractor().mel_filters saved as mel_filters.npy. OUT: adapter.npz (float32 factors), moments_1.npz and moments_2.npz (to go on from),
log.jsonl, report.json. --way clear: the encoder alone, see Clearing. --part: which part of the whole schedule this run is, so that two runs of
0 0.5 and 0.5 1 are one training. --taught: a pattern of the matrices that are taught. --kept-weight: how much the plain model's own opinion counts on
kept windows; --prose, --real, --clean: how much of the talk is prose, of recorded people, left clean. On a card in bfloat16; without one, for trying
it out, in float32.
"""
import argparse
import json
import multiprocessing
import os
import queue
import re
import shutil
import threading
import time
from pathlib import Path

import numpy as np
import torch
from radio_windows import SAMPLES, Maker, Shares, Window, load_talk, noise_bank
from tokenizers import Tokenizer
from torch.nn import functional as F
from whisper_torch import LogMel, Whisper, read_variables

START, PREVIOUS, NO_SPEECH, ENGLISH, TRANSCRIBE, NO_TIMES, END = 50258, 50361, 50362, 50259, 50359, 50363, 50257
MOST_HINT, MOST_TOKENS, SLOTS = 223, 440, 2
SPEECH_WEIGHT, TEXT_WEIGHT, PEAK_RATE = 0.05, 0.2, 1e-3


def tokens_of(window: Window, tokenizer: Tokenizer) -> tuple[list[int], int]:
    """Tokens as the recogniser puts them together, and where the text begins; the hint's front is cut first."""
    def ids(text: str) -> list[int]:
        return tokenizer.encode(" " + text.strip(), add_special_tokens=False).ids
    front = [PREVIOUS, *ids(window.hint)[-MOST_HINT:]] if window.hint else []
    front += [START, ENGLISH, TRANSCRIBE, NO_TIMES]
    text = ids(window.text) if window.text else []
    return [*front, *text, END][:MOST_TOKENS], len(front)


class Batches:
    """Worker processes that fill slots of one shared file with sound, and hand over the tokens."""

    def __init__(self, maker_of, tokenizer_file: str, batch: int, workers: int, scratch: Path) -> None:
        self.batch, path = batch, scratch / "slots.bin"
        self.slots = np.memmap(path, np.int16, "w+", shape=(workers * SLOTS, batch, 2, SAMPLES))
        context = multiprocessing.get_context("fork")
        self.ready = context.Queue()
        self.free = [context.Queue() for _ in range(workers)]
        self.processes = []
        for worker in range(workers):
            for slot in range(SLOTS):
                self.free[worker].put(worker * SLOTS + slot)
            process = context.Process(target=self._work, args=(maker_of, tokenizer_file, worker), daemon=True)
            process.start()
            self.processes.append(process)

    def _work(self, maker_of, tokenizer_file: str, worker: int) -> None:
        os.environ["TOKENIZERS_PARALLELISM"] = "false"
        maker, tokenizer = maker_of(worker), Tokenizer.from_file(tokenizer_file)
        while True:
            slot = self.free[worker].get()
            if slot is None:
                return
            lines = [put(maker.window(), self.slots[slot, index], tokenizer) for index in range(self.batch)]
            self.ready.put((worker, slot, lines))

    def go_ahead(self, device: torch.device) -> None:
        """Copy batches to the device behind the training's back, two ahead."""
        self.ahead: queue.Queue = queue.Queue(2)

        def carry() -> None:
            while True:
                worker, slot, lines = self.ready.get()
                sound = torch.from_numpy(np.array(self.slots[slot])).to(device)
                self.free[worker].put(slot)
                self.ahead.put((sound, lines))
        threading.Thread(target=carry, daemon=True).start()

    def next(self) -> tuple[torch.Tensor, list[tuple[list[int], int, int, bool]]]:
        return self.ahead.get(timeout=300)

    def close(self) -> None:
        for process in self.processes:
            process.terminate()


def put(window: Window, slot: np.ndarray, tokenizer: Tokenizer) -> tuple[list[int], int, int, bool]:
    """Sound, and the clean sound, into a row; (tokens, where the text begins, samples, kept)."""
    length = min(len(window.sound), SAMPLES)
    for row, sound in enumerate((window.sound, window.clean)):
        slot[row, :length] = (np.clip(sound[:length], -1, 1) * 32767).astype(np.int16)
        slot[row, length:] = 0
    tokens, begins = tokens_of(window, tokenizer)
    return tokens, begins, length, window.kept


class Trainer:
    """Teaches every matrix the text."""

    taught, peak = "matrices", PEAK_RATE

    def __init__(self, asked: argparse.Namespace) -> None:
        self.device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
        torch.manual_seed(asked.seed)
        torch.backends.cuda.matmul.allow_tf32 = True
        variables = read_variables(asked.model / "model.bin")
        self.model = Whisper(variables, asked.rank).to(self.device)
        self.mel = LogMel(np.load(asked.model / "mel_filters.npy")).to(self.device)
        for name, part in self.model.named_parameters():
            part.requires_grad_(self.taught in name and re.search(asked.taught, name) is not None)
        self.factors = [part for part in self.model.parameters() if part.requires_grad]
        self.optimiser = torch.optim.AdamW(self.factors, lr=self.peak, betas=(0.9, 0.98), weight_decay=0.01)
        self.step, self.kept_weight = 0, asked.kept_weight

    def cast(self) -> torch.autocast:
        return torch.autocast(self.device.type, torch.bfloat16, enabled=self.device.type == "cuda")

    def rate(self, progress: float) -> float:
        """Warm-up over the first twentieth of the schedule, then a cosine to a fiftieth."""
        if progress < 0.05:
            return self.peak * max(0.02, progress / 0.05)
        return self.peak * (0.02 + 0.98 * 0.5 * (1 + np.cos(np.pi * min(1.0, (progress - 0.05) / 0.95))))

    def batch(self, sound: torch.Tensor, lines: list, masked: bool) -> dict[str, torch.Tensor]:
        longest = max(len(line[0]) for line in lines)
        tokens = torch.full((len(lines), longest), END)
        wanted = torch.zeros((len(lines), longest), dtype=torch.bool)
        for row, (ids, begins, _, _) in enumerate(lines):
            tokens[row, :len(ids)] = torch.tensor(ids)
            wanted[row, begins - 1:len(ids) - 1] = True
        lengths = torch.tensor([line[2] for line in lines])
        sound, lengths = sound.to(self.device), lengths.to(self.device)
        mel = self.mel(sound[:, 0].float() / 32768.0, lengths)
        if masked:
            mel = masks(mel)
        starts = torch.tensor([line[1] - 4 for line in lines])
        silent = torch.tensor([len(line[0]) == line[1] + 1 for line in lines])
        first = torch.where(silent, NO_SPEECH, ENGLISH)
        kept = torch.tensor([line[3] for line in lines])
        return {name: value.to(self.device) for name, value in
                {"mel": mel, "sound": sound, "lengths": lengths, "silent": silent, "tokens": tokens, "wanted": wanted, "starts": starts,
                 "first": first, "kept": kept}.items()}

    def loss(self, batch: dict[str, torch.Tensor]) -> tuple[torch.Tensor, dict[str, float]]:
        """Text and end; whether there is speech, in small part; on kept windows the plain model's opinion as well."""
        tokens, wanted, kept = batch["tokens"], batch["wanted"][:, :-1], batch["kept"]
        with self.cast():
            heard = self.model.encode(batch["mel"])
            states = self.model.decode(tokens[:, :-1], heard)
            scores = self.model.logits(states[wanted])
            told = self.model.logits(states[torch.arange(len(tokens), device=self.device), batch["starts"]])
        text = F.cross_entropy(scores, tokens[:, 1:][wanted])
        speech = F.cross_entropy(told, batch["first"])
        total = text + SPEECH_WEIGHT * speech
        parts = {"text": text.detach(), "speech": speech.detach()}
        if kept.any():
            self.model.set_scale(0.0)
            with torch.no_grad(), self.cast():
                plain = self.model.logits(self.model.decode(tokens[kept][:, :-1], self.model.encode(batch["mel"][kept]))[wanted[kept]])
            self.model.set_scale(1.0)
            mine = scores[kept[:, None].expand_as(wanted)[wanted]]
            apart = F.kl_div(mine.log_softmax(-1), plain.log_softmax(-1), reduction="batchmean", log_target=True)
            total = total + self.kept_weight * apart * len(mine) / len(scores)
            parts["apart"] = apart.detach()
        return total, parts

    def update(self, batch: dict[str, torch.Tensor], progress: float) -> dict[str, float]:
        for group in self.optimiser.param_groups:
            group["lr"] = self.rate(progress)
        total, parts = self.loss(batch)
        self.optimiser.zero_grad(set_to_none=True)
        total.backward()
        norm = torch.nn.utils.clip_grad_norm_(self.factors, 1.0)
        self.optimiser.step()
        self.step += 1
        return {**parts, "norm": norm}

    @torch.no_grad()
    def held_out(self, batches: list) -> dict[str, float]:
        every = [self.loss(self.batch(*batch, masked=False))[1] for batch in batches]
        return {name: float(np.mean([float(parts[name]) for parts in every if name in parts])) for name in every[0]}

    @torch.no_grad()
    def greedy(self, batch: dict[str, torch.Tensor], lines: list, most: int = 180) -> list[list[int]]:
        """Text tokens of every window, the best at each place; nothing at all may be heard."""
        out: list[list[int]] = [list(line[0][:line[1]]) for line in lines]
        begins = [line[1] for line in lines]
        open_rows = list(range(len(lines)))
        with self.cast():
            heard = self.model.encode(batch["mel"])
            for _ in range(most):
                if not open_rows:
                    break
                longest = max(len(out[row]) for row in open_rows)
                tokens = torch.full((len(open_rows), longest), END)
                for place, row in enumerate(open_rows):
                    tokens[place, :len(out[row])] = torch.tensor(out[row])
                last = torch.tensor([len(out[row]) - 1 for row in open_rows], device=self.device)
                states = self.model.decode(tokens.to(self.device), heard[open_rows])
                scores = self.model.logits(states[torch.arange(len(open_rows), device=self.device), last])
                scores[:, END + 1:] = -1e9
                best = scores.argmax(-1).tolist()
                for row, token in zip(open_rows, best, strict=True):
                    out[row].append(token)
                open_rows = [row for row, token in zip(open_rows, best, strict=True) if token != END and len(out[row]) < 446]
        return [[token for token in ids[begin:] if token != END] for ids, begin in zip(out, begins, strict=True)]

    def save(self, out: Path) -> None:
        names = [name for name, part in self.model.named_parameters() if part.requires_grad]
        np.savez(out / "adapter.npz", step=self.step, **{name: part.detach().float().cpu().numpy() for name, part in zip(names, self.factors, strict=True)})
        for number, key in enumerate(("exp_avg", "exp_avg_sq"), start=1):
            state = {name: self.optimiser.state[part][key].cpu().numpy()
                     for name, part in zip(names, self.factors, strict=True) if part in self.optimiser.state}
            np.savez(out / f"moments_{number}.npz", **state)

    def resume(self, out: Path) -> None:
        names = [name for name, part in self.model.named_parameters() if part.requires_grad]
        with np.load(out / "adapter.npz") as saved, np.load(out / "moments_1.npz") as first, np.load(out / "moments_2.npz") as second:
            self.step = int(saved["step"])
            for name, part in zip(names, self.factors, strict=True):
                part.data.copy_(torch.from_numpy(saved[name]))
                self.optimiser.state[part] = {"step": torch.tensor(float(self.step)), "exp_avg": torch.from_numpy(first[name]).to(self.device),
                                              "exp_avg_sq": torch.from_numpy(second[name]).to(self.device)}


class Clearing(Trainer):
    """Teaches the encoder alone: of spoilt sound it is to make what the plain encoder makes of the clean one; no turn of phrase is learnt."""

    taught, peak = "matrices.encoder", 5e-4

    def loss(self, batch: dict[str, torch.Tensor]) -> tuple[torch.Tensor, dict[str, float]]:
        tokens, wanted, spoken = batch["tokens"], batch["wanted"][:, :-1], ~batch["silent"]
        before = self.model.matrices["encoder-conv1"].scale
        clean = self.mel(batch["sound"][:, 1].float() / 32768.0, batch["lengths"])
        self.model.set_scale(0.0)
        with torch.no_grad(), self.cast():
            aim = self.model.encode(clean)
            plain = self.model.logits(self.model.decode(tokens[:, :-1], aim)[wanted])
        self.model.set_scale(before)
        with self.cast():
            heard = self.model.encode(batch["mel"])
            scores = self.model.logits(self.model.decode(tokens[:, :-1], heard)[wanted])
        inside = (torch.arange(heard.shape[1], device=self.device)[None] < (batch["lengths"] // 320)[:, None]).float()
        apart = ((heard.float() - aim.float()) ** 2).sum(-1) / (aim.float() ** 2).sum(-1)
        picture = (apart * inside).sum() / inside.sum()
        text = F.cross_entropy(scores, tokens[:, 1:][wanted])
        sure = spoken[:, None].expand_as(wanted)[wanted]
        opinion = F.kl_div(scores[sure].log_softmax(-1), plain[sure].log_softmax(-1), reduction="batchmean", log_target=True)
        return opinion + TEXT_WEIGHT * text + picture, {"text": text.detach(), "opinion": opinion.detach(), "picture": picture.detach()}


def masks(mel: torch.Tensor) -> torch.Tensor:
    """A few narrow stripes of time and pitch wiped out, on three windows in ten."""
    for row in torch.nonzero(torch.rand(len(mel)) < 0.3).flatten().tolist():
        for axis, widest in ((1, 10), (2, 25), (2, 25)):
            width = int(torch.randint(1, widest, ()))
            start = int(torch.randint(0, mel.shape[axis] - width, ()))
            mel[row].narrow(axis - 1, start, width).zero_()
    return mel


def words_of(text: str) -> list[str]:
    return re.sub(r"[^a-z0-9']+", " ", text.lower().replace("-", " ")).split()


def distance(left: list[str], right: list[str]) -> int:
    row = list(range(len(right) + 1))
    for index, word in enumerate(left, start=1):
        before, row[0] = row[0], index
        for place, other in enumerate(right, start=1):
            before, row[place] = row[place], min(row[place] + 1, row[place - 1] + 1, before + (word != other))
    return row[-1]


def heard_words(trainer: Trainer, batches: list, tokenizer: Tokenizer) -> dict[str, object]:
    """Word error by greedy decoding, with a hint and without one, windows with sound kept plain and others; words where there are none."""
    counts: dict[str, list[int]] = {}
    shown: list[list[str]] = []
    for sound, lines in batches:
        batch = trainer.batch(sound, lines, masked=False)
        for (ids, begins, _, kept), found in zip(lines, trainer.greedy(batch, lines), strict=True):
            wanted, heard = tokenizer.decode(ids[begins:-1]), tokenizer.decode(found)
            names = ["empty"] if not wanted.strip() else ["all", "hint" if begins > 60 else "no hint", "kept" if kept else "radio"]
            for name in names:
                pair = counts.setdefault(name, [0, 0])
                pair[0] += distance(words_of(wanted), words_of(heard))
                pair[1] += max(1, len(words_of(wanted)))
            if len(shown) < 12:
                shown.append([wanted, heard])
    return {**{name: round(wrong / words, 4) for name, (wrong, words) in sorted(counts.items())}, "shown": shown}


def roomy() -> Path:
    """Memory that looks like a folder, where there is enough of it; slots are written over again and again."""
    memory = Path("/dev/shm")
    return memory if memory.is_dir() and shutil.disk_usage(memory).free > 16 * 2**30 else Path("/var/tmp")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name in ("talk", "model", "out"):
        parser.add_argument(name, type=Path)
    parser.add_argument("--minutes", type=float, default=8.0)
    parser.add_argument("--part", type=float, nargs=2, default=(0.0, 1.0))
    parser.add_argument("--way", choices=("text", "clear"), default="text")
    parser.add_argument("--resume", action="store_true")
    for name, default in (("--batch", 96), ("--rank", 32), ("--workers", 15), ("--seed", 1), ("--steps", 10**9), ("--tests", 200)):
        parser.add_argument(name, type=int, default=default)
    parser.add_argument("--taught", default="")
    for name, share in (("--kept-weight", 0.5), ("--prose", Shares.prose), ("--real", Shares.real), ("--clean", Shares.clean)):
        parser.add_argument(name, type=float, default=share)
    parser.add_argument("--scratch", type=Path, default=roomy())
    parser.add_argument("--scales", type=float, nargs="*", default=[0.0, 0.5, 0.75, 1.0])
    train(parser.parse_args())


def train(asked: argparse.Namespace) -> None:
    began = time.monotonic()
    asked.out.mkdir(parents=True, exist_ok=True)
    talk = load_talk(asked.talk, asked.scratch / "talk.int16", asked.workers)
    noises = noise_bank(3, count=40 if asked.steps > 100 else 6)
    tokenizer_file = str(asked.model / "tokenizer.json")
    tokenizer = Tokenizer.from_file(tokenizer_file)
    print(f"{len(talk.taught)} utterances taught, {len(talk.held_out)} held out with the voices {sorted(talk.apart)}; {time.monotonic() - began:.0f} s", flush=True)
    shares = Shares(asked.prose, asked.real, asked.clean)
    seed = asked.seed * 1000 + round(asked.part[0] * 97)
    batches = Batches(lambda worker: Maker(talk, talk.taught, noises, seed + worker, shares), tokenizer_file, asked.batch, asked.workers, asked.scratch)
    tests = tests_of(Maker(talk, talk.held_out, noises, 77), tokenizer, asked.tests, min(asked.batch, 50))
    trainer = (Clearing if asked.way == "clear" else Trainer)(asked)
    batches.go_ahead(trainer.device)
    if asked.resume:
        trainer.resume(asked.out)
    log = (asked.out / "log.jsonl").open("a", encoding="utf-8")

    def tell(kind: str, **what: object) -> None:
        line = json.dumps({"kind": kind, "step": trainer.step, "s": round(time.monotonic() - began, 1), **what})
        print(line[:1500], flush=True)
        log.write(line + "\n")
        log.flush()

    tell("held out", **trainer.held_out(tests))
    first, stop = time.monotonic(), asked.minutes * 60
    limit = trainer.step + asked.steps
    waited, last_test = 0.0, first
    try:
        while time.monotonic() - first < stop and trainer.step < limit:
            asked_at = time.monotonic()
            sound, lines = batches.next()
            waited += time.monotonic() - asked_at
            progress = asked.part[0] + (asked.part[1] - asked.part[0]) * (time.monotonic() - first) / stop
            parts = trainer.update(trainer.batch(sound, lines, masked=True), progress)
            if trainer.step % 25 == 0 or asked.steps < 100:
                tell("taught", **{name: round(float(value), 4) for name, value in parts.items()}, rate=round(trainer.rate(progress), 6), waited=round(waited, 1))
            if time.monotonic() - last_test > 75:
                last_test = time.monotonic()
                tell("held out", **trainer.held_out(tests))
                trainer.save(asked.out)
    finally:
        batches.close()
    trainer.save(asked.out)
    tell("held out", **trainer.held_out(tests))
    report = {}
    for scale in asked.scales:
        trainer.model.set_scale(scale)
        report[str(scale)] = heard_words(trainer, tests, tokenizer)
        tell("words", scale=scale, **{name: value for name, value in report[str(scale)].items() if name != "shown"})
        (asked.out / "report.json").write_text(json.dumps(report, indent=1), encoding="utf-8")
    if trainer.device.type == "cuda":
        tell("memory", GiB=round(torch.cuda.max_memory_allocated() / 2**30, 1))


def tests_of(maker: Maker, tokenizer: Tokenizer, count: int, batch: int) -> list:
    """Batches of windows that stay the same over a whole training."""
    found = []
    for _ in range(max(1, count // batch)):
        sound = np.zeros((min(batch, count), 2, SAMPLES), np.int16)
        lines = [put(maker.window(), sound[row], tokenizer) for row in range(len(sound))]
        found.append((torch.from_numpy(sound), lines))
    return found


if __name__ == "__main__":
    main()
