"""`python reader_teach.py BASE PAIRS OUT [--teacher FOLDER] [--hold-out NAMES ...]`: teaches the reader of meanings.

BASE is a folder with the published all-MiniLM-L6-v2, PAIRS what `reader_pairs` wrote, the teacher the published
all-mpnet-base-v2, five times as large: it learns first, and the reader then learns from what is right and from it
(Hinton et al. 2015). Both learn one number for two texts: the logarithm of the odds that the second says what the
first tells. OUT gets `reader.onnx` (8-bit), and the odds of what is only measured.

It needs `torch`, `transformers`, `tokenizers` and `onnxruntime` with `onnx`, and nothing of the project. An accelerator
makes it minutes instead of hours; seeds are fixed.
"""

import argparse
import copy
import json
import random
import time
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import torch
from tokenizers.implementations.bert_wordpiece import BertWordPieceTokenizer
from torch import nn
from transformers import BertConfig, BertModel, MPNetConfig, MPNetModel

LONGEST, MOST_SAID = 128, 96
PAIRS_AT_ONCE = 1024
MOST_ASKED = 7
"""Of a row, each time it is learnt from: the right one and some of the others."""
SMALL = {"hidden_size": 384, "num_hidden_layers": 6, "num_attention_heads": 12, "intermediate_size": 1536}

Row = dict[str, Any]


class Reader(nn.Module):
    """A published model with one number at its end."""

    def __init__(self, folder: Path, large: bool) -> None:
        super().__init__()
        from safetensors.torch import load_file

        weights = {k: v.float() for k, v in load_file(folder / "model.safetensors").items() if v.is_floating_point()}
        words = weights["embeddings.word_embeddings.weight"].shape[0]
        self.bert = (
            MPNetModel(MPNetConfig(vocab_size=words, max_position_embeddings=514), add_pooling_layer=False)
            if large
            else BertModel(BertConfig(vocab_size=words, **SMALL), add_pooling_layer=False)
        )
        missing, _ = self.bert.load_state_dict(weights, strict=False)
        assert not [name for name in missing if "position_ids" not in name], missing
        self.large = large
        self.drop = nn.Dropout(0.1)
        self.last = nn.Linear(self.bert.config.hidden_size, 1)
        nn.init.zeros_(self.last.bias)

    def forward(self, input_ids: Any, attention_mask: Any, token_type_ids: Any) -> Any:
        kinds = {} if self.large else {"token_type_ids": token_type_ids}
        states = self.bert(input_ids, attention_mask=attention_mask, **kinds).last_hidden_state
        return self.last(self.drop(states[:, 0]))[:, 0]


class Texts:
    """Texts as numbers of pieces, each cut once. The large model has the same pieces under other numbers."""

    def __init__(self, folder: Path, large: bool) -> None:
        self.large = large
        # the larger model's vocabulary is the smaller one's with signs of its own
        self._own = {line: n for n, line in enumerate((folder / "vocab.txt").read_text("utf-8").split("\n"))}
        signs = ("<s>", "</s>", "<unk>", "<pad>") if large else ("[CLS]", "[SEP]", "[UNK]", "[PAD]")
        self.begin, self.part, self.unknown, self.pad = (self._own[sign] for sign in signs)
        plain = folder / "plain.txt" if large else folder / "vocab.txt"
        self._cutter = BertWordPieceTokenizer(str(plain), lowercase=True)
        self._known: dict[str, Any] = {}

    def learn(self, texts: list[str]) -> None:
        new = list({text for text in texts if text not in self._known})
        for text, cut in zip(new, self._cutter.encode_batch(new, add_special_tokens=False), strict=True):
            self._known[text] = np.array([self._own.get(piece, self.unknown) for piece in cut.tokens], np.int64)

    def pair(self, told: str, said: str) -> tuple[Any, int]:
        """The numbers of both, and where the second begins."""
        words = self._known[said][:MOST_SAID]
        between = [self.part] * (2 if self.large else 1)
        first = self._known[told][: LONGEST - len(words) - 2 - len(between)]
        return np.concatenate(([self.begin], first, between, words, [self.part])), 1 + len(first) + len(between)

    def batch(self, pairs: list[tuple[Any, int]], device: str) -> dict[str, Any]:
        lengths = np.array([len(numbers) for numbers, _ in pairs])[:, None]
        places = np.arange(int(lengths.max()))[None]
        there = places < lengths
        ids = np.full(there.shape, self.pad, np.int64)
        ids[there] = np.concatenate([numbers for numbers, _ in pairs])
        kinds = there & (places >= np.array([second for _, second in pairs])[:, None])
        made = {"input_ids": ids, "attention_mask": there.astype(np.int64), "token_type_ids": kinds.astype(np.int64)}
        return {name: torch.from_numpy(each).to(device, non_blocking=True) for name, each in made.items()}


def odds_of(model: Reader, texts: Texts, rows: list[Row], device: str) -> list[list[float]]:
    """Of every pair, row by row."""
    model.eval()
    texts.learn([text for row in rows for text in (*row["asked"], row["said"])])
    pairs = [texts.pair(told, row["said"]) for row in rows for told in row["asked"]]
    order = sorted(range(len(pairs)), key=lambda n: len(pairs[n][0]))
    found = [0.0] * len(pairs)
    for at in range(0, len(order), 2048):
        part = order[at : at + 2048]
        with torch.no_grad(), torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
            out = model(**texts.batch([pairs[n] for n in part], device))
        for n, value in zip(part, out.float().tolist(), strict=True):
            found[n] = round(value, 3)
    told = iter(found)
    return [[next(told) for _ in row["asked"]] for row in rows]


def some(row: Row, chance: random.Random) -> Row:
    """A row with some of what was asked, whatever is right among it."""
    places = list(range(len(row["asked"])))
    likely = [n for n in places if row["target"][n] > 0.3]
    others = [n for n in places if n not in likely]
    kept = sorted([*likely, *chance.sample(others, max(0, min(len(others), MOST_ASKED - len(likely))))])
    return {**row, "asked": [row["asked"][n] for n in kept], "target": [row["target"][n] for n in kept]}


def batches(rows: list[Row], chance: random.Random) -> list[list[Row]]:
    """Rows of about the same length, some hundred pairs at a time, in a new order."""
    order = [some(row, chance) for row in rows]
    chance.shuffle(order)
    made: list[list[Row]] = []
    for at in range(0, len(order), 4000):
        part: list[Row] = []
        for row in sorted(order[at : at + 4000], key=lambda r: max(map(len, r["asked"])) + len(r["said"])):
            part.append(row)
            if sum(len(each["asked"]) for each in part) >= PAIRS_AT_ONCE:
                made.append(part)
                part = []
        if part:
            made.append(part)
    chance.shuffle(made)
    return made


def loss_of(odds: Any, target: Any, group: Any, one: Any) -> Any:
    """Each pair by itself; and, where just one of a row can be right, which of them."""
    alone = nn.functional.binary_cross_entropy_with_logits(odds, target)
    rows = int(one.shape[0])
    most = torch.full((rows,), -1e4, device=odds.device).scatter_reduce(0, group, odds.detach(), "amax")
    total = torch.zeros(rows, device=odds.device).index_add(0, group, torch.exp(odds - most[group]))
    every = torch.zeros(rows, device=odds.device).index_add(0, group, target).clamp(min=1e-6)
    among = torch.zeros(rows, device=odds.device).index_add(
        0, group, target / every[group] * (torch.log(total)[group] + most[group] - odds)
    )
    return 2 * alone + (among * one).sum() / one.sum().clamp(min=1)


def ahead(parts: list[list[Row]], texts: Texts, device: str) -> Iterator[tuple[list[Row], dict[str, Any]]]:
    """Each part with what the model is fed, made while the one before is learnt."""

    def made(part: list[Row]) -> dict[str, Any]:
        return texts.batch([texts.pair(told, row["said"]) for row in part for told in row["asked"]], device)

    with ThreadPoolExecutor(2) as pool:
        waiting: deque[Future[dict[str, Any]]] = deque()
        begun = 0
        for part in parts:
            while len(waiting) < 4 and begun < len(parts):
                waiting.append(pool.submit(made, parts[begun]))
                begun += 1
            yield part, waiting.popleft().result()


def teach(model: Reader, texts: Texts, rows: list[Row], device: str, epochs: int, rate: float, seed: int) -> Reader:
    """A reader that has learnt from `rows`: a slow mean of what it was on the way."""
    torch.manual_seed(seed)
    chance = random.Random(seed)
    model = model.to(device)
    texts.learn([text for row in rows for text in (*row["asked"], row["said"])])
    steps = epochs * len(batches(rows, random.Random(0)))
    optimiser = torch.optim.AdamW(model.parameters(), lr=rate, weight_decay=0.01)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, max_lr=rate, total_steps=steps + 50, pct_start=0.08)
    slow = copy.deepcopy(model)
    for epoch in range(epochs):
        began, total, n = time.time(), 0.0, 0
        model.train()
        for part, fed in ahead(batches(rows, chance), texts, device):
            target = torch.tensor([t for row in part for t in row["target"]], device=device)
            group = torch.tensor([n for n, row in enumerate(part) for _ in row["asked"]], device=device)
            one = torch.tensor([float(row["one"]) for row in part], device=device)
            with torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
                odds = model(**fed)
            loss = loss_of(odds.float(), target, group, one)
            optimiser.zero_grad()
            loss.backward()
            nn.utils.clip_grad_norm_(model.parameters(), 1.0)
            optimiser.step()
            schedule.step()
            with torch.no_grad():
                torch._foreach_lerp_(list(slow.parameters()), list(model.parameters()), 0.003)
            n += 1
            if n % 20 == 0:
                total += float(loss.detach())
        print(f"epoch {epoch + 1}/{epochs} loss {total / max(1, n // 20):.4f} {time.time() - began:.0f} s", flush=True)
    return slow


def write_out(model: Reader, texts: Texts, out: Path) -> None:
    """The model as ONNX with 8-bit weights."""
    from onnxruntime.quantization import QuantType, quantize_dynamic

    model = model.to("cpu").float().eval()
    model.bert.set_attn_implementation("eager")
    texts.learn(["What is it? [done] all done", "it is done", "no"])
    told = "What is it? [done] all done"
    example = texts.batch([texts.pair(told, "it is done"), texts.pair(told, "no")], "cpu")
    names = list(example)
    whole = out / "whole.onnx"
    torch.onnx.export(
        model,
        tuple(example.values()),
        str(whole),
        input_names=names,
        output_names=["odds"],
        dynamic_axes={**{name: {0: "pairs", 1: "pieces"} for name in names}, "odds": {0: "pairs"}},
        opset_version=17,
        dynamo=False,
    )
    small = str(out / "reader.onnx")
    quantize_dynamic(str(whole), small, weight_type=QuantType.QInt8, per_channel=True, reduce_range=True)
    whole.unlink()


def targets(rows: list[Row], told: list[list[float]] | None) -> list[Row]:
    """What to learn of each row: what is right, softened a little; half of it the teacher's where there is one."""
    made = []
    for n, row in enumerate(rows):
        right = row["right"]
        taught = None if told is None else [1 / (1 + 2.718281828 ** -max(-12.0, min(12.0, odd))) for odd in told[n]]
        if right is None:
            if taught is not None:
                made.append({**row, "target": taught})
            continue
        plain = [r * 0.98 + 0.01 for r in right]
        made.append(
            {**row, "target": plain if taught is None else [(p + t) / 2 for p, t in zip(plain, taught, strict=True)]}
        )
    return made


def main() -> None:
    """Teach once for each group held out; an empty one is everything."""
    told = argparse.ArgumentParser()
    told.add_argument("base", type=Path)
    told.add_argument("pairs", type=Path)
    told.add_argument("out", type=Path)
    told.add_argument("--teacher", type=Path)
    told.add_argument("--epochs", type=int, default=5)
    told.add_argument("--teacher-epochs", type=int, default=3)
    told.add_argument("--seed", type=int, default=1)
    told.add_argument("--hold-out", action="append", default=[], help="procedures, by commas; `all` for none")
    told.add_argument("--also", type=Path, help="more rows, never learnt from, whose odds are written too")
    args = told.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cuda.matmul.allow_tf32 = True
    rows = [json.loads(line) for line in args.pairs.read_text(encoding="utf-8").splitlines()]
    also = [json.loads(line) for line in args.also.read_text(encoding="utf-8").splitlines()] if args.also else []
    for held in args.hold_out or ["all"]:
        names = set(held.split(",")) - {"all"}
        kept = [row for row in rows if row["procedure"] not in names]
        print(f"held out: {held}; {len(kept)} of {len(rows)} rows, {device}", flush=True)
        said = None
        if args.teacher and not names:
            large, its_texts = Reader(args.teacher, True), Texts(args.teacher, True)
            large = teach(large, its_texts, targets(kept, None), device, args.teacher_epochs, 4e-5, args.seed)
            said = odds_of(large, its_texts, kept, device)
            asked = [(n, row) for n, row in enumerate(also) if row["one"]]
            write_odds(args.out / "teacher.jsonl", asked, large, its_texts, device)
            del large
        texts = Texts(args.base, False)
        model = teach(Reader(args.base, False), texts, targets(kept, said), device, args.epochs, 2e-4, args.seed)
        apart = [(n, row) for n, row in enumerate(also) if not names or row["procedure"] in names]
        write_odds(args.out / f"{held.partition(',')[0]}.jsonl", apart, model, texts, device)
        if not names:
            write_out(model, texts, args.out)


def write_odds(path: Path, rows: list[tuple[int, Row]], model: Reader, texts: Texts, device: str) -> None:
    """The odds of rows, each with its number among those that are only measured."""
    odds = odds_of(model, texts, [row for _, row in rows], device)
    path.write_text("\n".join(json.dumps([n, *each]) for (n, _), each in zip(rows, odds, strict=True)), "utf-8")


if __name__ == "__main__":
    main()
