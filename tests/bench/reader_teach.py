"""`python reader_teach.py BASE PAIRS OUT [--hold-out NAME,NAME ...]`: teaches the reader of meanings.

BASE is a folder with the published all-MiniLM-L6-v2, PAIRS what `reader_pairs` wrote. It learns one number for a pair of
texts: the logarithm of the odds that the second says what the first tells. OUT gets `reader.onnx` (8-bit) and the odds of
whatever is held out. It needs `torch`, `transformers` and `onnx`, which nothing else does, and nothing of the project. An
accelerator makes it minutes instead of hours; seeds are fixed.
"""

import argparse
import json
import math
import random
import time
from pathlib import Path
from typing import Any

import torch
from tokenizers.implementations import BertWordPieceTokenizer
from torch import nn
from transformers import BertConfig, BertModel

LONGEST = 128


class Reader(nn.Module):
    """The published model with one number at its end."""

    def __init__(self, base: Path) -> None:
        super().__init__()
        config = BertConfig(
            vocab_size=30522, hidden_size=384, num_hidden_layers=6, num_attention_heads=12, intermediate_size=1536
        )
        config._attn_implementation = "eager"
        self.bert = BertModel(config, add_pooling_layer=False)
        from safetensors.torch import load_file

        weights = {k: v.float() for k, v in load_file(base / "model.safetensors").items() if v.is_floating_point()}
        missing, _ = self.bert.load_state_dict(weights, strict=False)
        assert not [name for name in missing if "position_ids" not in name], missing
        self.drop = nn.Dropout(0.1)
        self.last = nn.Linear(config.hidden_size, 1)
        nn.init.zeros_(self.last.bias)

    def forward(self, input_ids: Any, attention_mask: Any, token_type_ids: Any) -> Any:
        states = self.bert(input_ids, attention_mask=attention_mask, token_type_ids=token_type_ids).last_hidden_state
        return self.last(self.drop(states[:, 0]))[:, 0]


class Taught:
    """Texts to pieces, batches to odds."""

    def __init__(self, base: Path, device: str) -> None:
        self.tokens = BertWordPieceTokenizer(str(base / "vocab.txt"), lowercase=True)
        self.tokens.enable_truncation(LONGEST, strategy="only_first")
        self.tokens.enable_padding()
        self.device = device

    def batch(self, first: list[str], second: list[str]) -> dict[str, Any]:
        made = self.tokens.encode_batch(list(zip(first, second, strict=True)))
        told = {
            "input_ids": [each.ids for each in made],
            "attention_mask": [each.attention_mask for each in made],
            "token_type_ids": [each.type_ids for each in made],
        }
        return {name: torch.tensor(rows, device=self.device) for name, rows in told.items()}

    @torch.no_grad()
    def odds(self, model: Reader, rows: list[dict[str, Any]]) -> list[list[float]]:
        """Of every pair, row by row."""
        model.eval()
        flat = [(asked, row["said"]) for row in rows for asked in row["asked"]]
        order = sorted(range(len(flat)), key=lambda n: len(flat[n][0]) + len(flat[n][1]))
        found = [0.0] * len(flat)
        for at in range(0, len(order), 1024):
            part = order[at : at + 1024]
            with torch.autocast(self.device, dtype=torch.bfloat16, enabled=self.device == "cuda"):
                out = model(**self.batch([flat[n][0] for n in part], [flat[n][1] for n in part]))
            for n, value in zip(part, out.float().tolist(), strict=True):
                found[n] = round(value, 3)
        told = iter(found)
        return [[next(told) for _ in row["asked"]] for row in rows]


def loss_of(odds: Any, right: Any, group: Any, one: Any) -> Any:
    """Each pair by itself, and among the pairs of a row where just one is right."""
    alone = nn.functional.binary_cross_entropy_with_logits(odds, right, reduction="mean")
    rows = int(group.max()) + 1
    most = torch.full((rows,), -1e4, device=odds.device).scatter_reduce(0, group, odds.detach(), "amax")
    total = torch.zeros(rows, device=odds.device).index_add(0, group, torch.exp(odds - most[group]))
    log_all = torch.log(total) + most
    chosen = torch.zeros(rows, device=odds.device).index_add(0, group, odds * right)
    among = ((log_all - chosen) * one).sum() / one.sum().clamp(min=1)
    return 2 * alone + among


def teach(base: Path, rows: list[dict[str, Any]], device: str, epochs: int, seed: int) -> tuple[Reader, Taught]:
    """A reader that has learnt from `rows`."""
    torch.manual_seed(seed)
    chance = random.Random(seed)
    model, taught = Reader(base).to(device), Taught(base, device)
    optimiser = torch.optim.AdamW(model.parameters(), lr=1e-4, weight_decay=0.01)
    size = 48
    steps = epochs * math.ceil(len(rows) / size)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, max_lr=1.2e-4, total_steps=steps + 1, pct_start=0.1)
    for epoch in range(epochs):
        began, total = time.time(), 0.0
        model.train()
        order = list(rows)
        chance.shuffle(order)
        chunk = size * 50
        order = [
            row
            for at in range(0, len(order), chunk)
            for row in sorted(order[at : at + chunk], key=lambda r: len(r["asked"]))
        ]
        batches = [order[at : at + size] for at in range(0, len(order), size)]
        chance.shuffle(batches)
        for part in batches:
            first = [asked for row in part for asked in row["asked"]]
            second = [row["said"] for row in part for _ in row["asked"]]
            right = torch.tensor([float(r) for row in part for r in row["right"]], device=device)
            group = torch.tensor([n for n, row in enumerate(part) for _ in row["asked"]], device=device)
            one = torch.tensor([float(row["one"] and sum(row["right"]) == 1) for row in part], device=device)
            with torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
                odds = model(**taught.batch(first, second))
            loss = loss_of(odds.float(), right * 0.98 + 0.01, group, one)
            optimiser.zero_grad()
            loss.backward()
            nn.utils.clip_grad_norm_(model.parameters(), 1.0)
            optimiser.step()
            schedule.step()
            total += float(loss)
        print(f"epoch {epoch + 1}/{epochs} loss {total / len(batches):.4f} {time.time() - began:.0f} s", flush=True)
    return model, taught


def write_out(model: Reader, taught: Taught, out: Path) -> None:
    """The model as ONNX with 8-bit weights."""
    from onnxruntime.quantization import QuantType, quantize_dynamic

    model = model.to("cpu").float().eval()
    taught.device = "cpu"
    example = taught.batch(["What is it? [done] all done", "And then? [not yet]"], ["it is done", "no"])
    names = ["input_ids", "attention_mask", "token_type_ids"]
    whole = out / "whole.onnx"
    torch.onnx.export(
        model,
        tuple(example[name] for name in names),
        str(whole),
        input_names=names,
        output_names=["odds"],
        dynamic_axes={**{name: {0: "pairs", 1: "pieces"} for name in names}, "odds": {0: "pairs"}},
        opset_version=17,
        dynamo=False,
    )
    quantize_dynamic(
        str(whole), str(out / "reader.onnx"), weight_type=QuantType.QInt8, per_channel=True, reduce_range=True
    )
    whole.unlink()


def main() -> None:
    """Teach once with everything, or once for each group held out."""
    told = argparse.ArgumentParser()
    told.add_argument("base", type=Path)
    told.add_argument("pairs", type=Path)
    told.add_argument("out", type=Path)
    told.add_argument("--epochs", type=int, default=4)
    told.add_argument("--seed", type=int, default=1)
    told.add_argument("--hold-out", action="append", default=[], help="names of procedures or `writer:NAME`, by commas")
    told.add_argument("--also", type=Path, help="more pairs, never learnt from, whose odds are written too")
    args = told.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    rows = [json.loads(line) for line in args.pairs.read_text(encoding="utf-8").splitlines()]
    also = [json.loads(line) for line in args.also.read_text(encoding="utf-8").splitlines()] if args.also else []
    for held in args.hold_out or [""]:
        names = set(held.split(",")) - {""}
        kept = [row for row in rows if row["procedure"] not in names and f"writer:{row['writer']}" not in names]
        print(f"held out: {held or 'nothing'}; {len(kept)} of {len(rows)} rows, {device}", flush=True)
        model, taught = teach(args.base, kept, device, args.epochs, args.seed)
        apart = [row for row in rows if row["procedure"] in names or f"writer:{row['writer']}" in names]
        name = re_name(held)
        for kind, part in (("held", apart), ("also", also)):
            if part:
                lines = (json.dumps({"n": n, "odds": odds}) for n, odds in enumerate(taught.odds(model, part)))
                (args.out / f"{kind}-{name}.jsonl").write_text("\n".join(lines), encoding="utf-8")
        if not names:
            write_out(model, taught, args.out)


def re_name(held: str) -> str:
    """A name for files."""
    return "".join(letter if letter.isalnum() else "-" for letter in held)[:60] or "all"


if __name__ == "__main__":
    main()
