"""Teach the language model to read talks: which steps each utterance says, by what stands around it.

    pip install torch transformers
    python -m tests.bench.reader_teach FILE [SET ...]

FILE is written in the form that `companion.meaning.reader.fetched` reads. The sets are all those for tuning unless
others are named: to weigh what the reader tells (`tests.bench.rehearsal_fit`), one file is needed for each set, by a
reader that never saw that set. The model is the one of `companion models fetch reader`. It takes a quarter of an hour.

Only a small addition to each layer is learnt (LoRA, Hu et al. 2021), and what each step looks like. The talks are
varied each time they are read: cut into stretches elsewhere, utterances left out or moved, deeds turned into what
does not count, words lost, and words replaced by others that sound alike, as a dictation would.
"""

import argparse
import math
import random
import re
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import torch
import transformers
from safetensors.torch import load_file, save_file
from torch import Tensor, nn

from companion.meaning.reader.encoder import LAYERS, TAKEN_AFTER, WIDTH
from companion.meaning.reader.fetched import MODEL, VOCABULARY
from companion.meaning.reader.pieces import Pieces
from companion.meaning.reader.reader import LONGEST, SHARPNESS, STRETCH
from companion.models.catalogue import find, installed
from tests.bench.reader_sounds import Alike
from tests.bench.reader_unsaid import OFTEN, unsaid
from tests.rehearsals import FOLDER, TUNING, Spoken, Transcript, procedure, transcripts

RANK = 16
STRENGTH = 2.0
ROUNDS = 12
BATCH = 8
SPEED, HEAD_SPEED = 1.5e-3, 4e-3
UNLIKELY = -4.0
"""Odds of each step before anything is learnt."""
_MARKS = re.compile(r"[^\w\s']")
_MASK = 103
"""The vocabulary's piece for a word that is hidden."""


@dataclass(frozen=True)
class Lesson:
    """A stretch of a talk: its pieces, and where each utterance begins and ends in them, with its steps."""

    procedure: str
    pieces: tuple[int, ...]
    utterances: tuple[tuple[int, int, tuple[int, ...]], ...]


class Added(nn.Module):
    """A linear layer that stays as it is, and what is learnt beside it."""

    def __init__(self, inner: nn.Linear) -> None:
        super().__init__()
        self.inner = inner
        self.a = nn.Parameter(torch.randn(RANK, inner.in_features) / math.sqrt(inner.in_features))
        self.b = nn.Parameter(torch.zeros(inner.out_features, RANK))

    def forward(self, rows: Tensor) -> Tensor:
        grown: Tensor = self.inner(rows) + (rows @ self.a.T) @ self.b.T * STRENGTH
        return grown


class Pupil(nn.Module):
    def __init__(self, folder: Path) -> None:
        super().__init__()
        shape = transformers.BertConfig(
            hidden_size=WIDTH, num_hidden_layers=LAYERS, num_attention_heads=12, intermediate_size=4 * WIDTH
        )
        self.encoder = transformers.BertModel(shape, add_pooling_layer=False)
        given = load_file(folder / "model.safetensors")
        self.encoder.load_state_dict({k: v for k, v in given.items() if not k.startswith("pooler")}, strict=False)
        self.encoder.requires_grad_(False)
        for layer in self.encoder.encoder.layer:
            seen, out = layer.attention.self, layer.attention.output
            seen.query, seen.key, seen.value = Added(seen.query), Added(seen.key), Added(seen.value)
            out.dense = Added(out.dense)
            layer.intermediate.dense, layer.output.dense = Added(layer.intermediate.dense), Added(layer.output.dense)
        self.heads = nn.ModuleDict()
        for name in NAMES:
            head = nn.Linear(WIDTH * len(TAKEN_AFTER), len(procedure(name).steps))
            nn.init.constant_(head.bias, UNLIKELY)
            nn.init.normal_(head.weight, 0, 0.02)
            self.heads[name] = head
        self.normal = nn.LayerNorm(WIDTH, elementwise_affine=False)
        self.some = nn.Dropout(0.15)

    def forward(self, pieces: Tensor, there: Tensor, name: str) -> Tensor:
        states = self.encoder(input_ids=pieces, attention_mask=there, output_hidden_states=True).hidden_states
        rows = torch.cat([self.normal(states[layer]) for layer in TAKEN_AFTER], -1)
        odds: Tensor = self.heads[name](self.some(rows))
        return odds


NAMES = ("subcutaneous-insulin", "capillary-glucose", "vaccine-deltoid")


class School:
    """The talks, and how they are varied."""

    def __init__(self, talks: Sequence[Transcript], pieces: Pieces, chance: random.Random) -> None:
        self._talks, self._pieces, self._chance = talks, pieces, chance
        written = {word for t in talks for said in t.said for word in re.findall(r"[a-z]+", said.text.lower())}
        self._alike = Alike(written, (word for word in pieces.known if word.isalpha()))

    def lessons(self) -> list[list[Lesson]]:
        """All talks once, varied, in batches of about the same length, in any order."""
        made = [lesson for talk in self._talks for lesson in self._cut(talk)]
        batches = []
        for name in NAMES:
            own = [lesson for lesson in made if lesson.procedure == name]
            own.sort(key=lambda lesson: len(lesson.pieces) + self._chance.random() * 20)
            batches += [own[n : n + BATCH] for n in range(0, len(own), BATCH)]
        self._chance.shuffle(batches)
        return batches

    def _cut(self, talk: Transcript) -> Iterator[Lesson]:
        place = {step.id: n for n, step in enumerate(procedure(talk.procedure).steps)}
        kept = [said for said in talk.said if self._chance.random() > 0.12]
        if self._chance.random() < 0.3:
            self._move(talk.procedure, kept)
        misheard = self._chance.random() < 0.35
        limit = self._chance.choice([STRETCH // 4, STRETCH // 2, STRETCH, STRETCH])
        pieces: list[int] = [self._pieces.begin]
        utterances: list[tuple[int, int, tuple[int, ...]]] = []
        for said in kept:
            turned = len(said.steps) == 1 and self._chance.random() < OFTEN
            own = self._varied(unsaid(said.text, self._chance) if turned else said.text, misheard)
            if utterances and len(pieces) + len(own) + 1 > limit:
                yield Lesson(talk.procedure, tuple(pieces), tuple(utterances))
                pieces, utterances = [self._pieces.begin], []
            steps = () if turned else tuple(place[step] for step in said.steps)
            utterances.append((len(pieces), len(pieces) + len(own), steps))
            pieces += [*own, self._pieces.part]
        if utterances:
            yield Lesson(talk.procedure, tuple(pieces), tuple(utterances))

    def _move(self, name: str, said: list[Spoken]) -> None:
        """A few utterances change places; not those that only what stands around them tells from others."""
        free = [n for n, each in enumerate(said) if each.steps and alike(name).isdisjoint(each.steps)]
        for n in self._chance.sample(free, min(len(free), self._chance.randint(1, 4))):
            each = said.pop(n)
            said.insert(max(0, n + self._chance.randint(-12, 12)), each)

    def _varied(self, text: str, misheard: bool) -> list[int]:
        chance = self._chance
        text = self._alike.misheard(text, chance) if misheard else text
        text = _MARKS.sub(" ", text) if chance.random() < 0.4 else text
        whole = [piece.number for piece in self._pieces.of(text)][:LONGEST]
        some = [_MASK if chance.random() < 0.06 else piece for piece in whole if chance.random() > 0.04]
        return some or [self._pieces.unknown]


@cache
def alike(name: str) -> frozenset[str]:
    """Steps said in much the same words as another one: `=` in their ideas, or ids that begin alike ("label-...")."""
    steps = procedure(name).steps
    others = {step.id: {way[1:] for way in step.ideas if way.startswith("=")} for step in steps}
    begins = Counter(step.id.split("-")[0] for step in steps)
    same = {step.id for step in steps if others[step.id] or begins[step.id.split("-")[0]] > 1}
    return frozenset(same).union(*others.values())


def wrongness(pupil: Pupil, batch: Sequence[Lesson]) -> Tensor:
    """Cross entropy of every step in every utterance, a mean over the utterances."""
    longest = max(len(lesson.pieces) for lesson in batch)
    pieces = torch.zeros(len(batch), longest, dtype=torch.long)
    there = torch.zeros(len(batch), longest, dtype=torch.long)
    for n, lesson in enumerate(batch):
        pieces[n, : len(lesson.pieces)] = torch.tensor(lesson.pieces)
        there[n, : len(lesson.pieces)] = 1
    with torch.autocast("cpu", torch.bfloat16):
        rows = pupil(pieces, there, batch[0].procedure).float()
    odds, right = [], []
    for n, lesson in enumerate(batch):
        for begin, end, steps in lesson.utterances:
            odds.append(torch.logsumexp(rows[n, begin:end] * SHARPNESS, 0) / SHARPNESS)
            due = torch.zeros(rows.shape[-1])
            due[list(steps)] = 1
            right.append(due)
    lost: Tensor = nn.functional.binary_cross_entropy_with_logits(
        torch.stack(odds), torch.stack(right), reduction="sum"
    )
    return lost / len(odds)


def teach(talks: Sequence[Transcript], folder: Path, rounds: int = ROUNDS) -> Pupil:
    torch.manual_seed(0)
    pupil = Pupil(folder)
    school = School(talks, Pieces.load(folder / VOCABULARY), random.Random(0))
    added = [each for name, each in pupil.named_parameters() if each.requires_grad and not name.startswith("heads")]
    speeds = [SPEED, HEAD_SPEED]
    learner = torch.optim.AdamW(
        [{"params": added, "lr": SPEED}, {"params": pupil.heads.parameters(), "lr": HEAD_SPEED}], weight_decay=0.01
    )
    pace = None
    for number in range(rounds):
        pupil.train()
        begun, lost = time.perf_counter(), 0.0
        batches = school.lessons()
        if pace is None:
            total = int(len(batches) * rounds * 1.15)
            pace = torch.optim.lr_scheduler.OneCycleLR(learner, speeds, total_steps=total, pct_start=0.15)
        for batch in batches:
            wrong = wrongness(pupil, batch)
            learner.zero_grad()
            wrong.backward()
            nn.utils.clip_grad_norm_(pupil.parameters(), 1.0)
            learner.step()
            pace.step()
            lost += float(wrong.detach())
        print(f"round {number + 1}: {lost / len(batches):.3f}, {time.perf_counter() - begun:.0f} s", flush=True)
    pupil.eval()
    return pupil


def keep(pupil: Pupil, path: Path) -> None:
    """What was learnt, in 16 bits."""
    arrays = {}
    for name, each in pupil.named_parameters():
        if not each.requires_grad:
            continue
        plain = each.detach().clone()
        if name.startswith("heads."):
            arrays[f"head.{name.removeprefix('heads.')}"] = plain.half()
        elif name.endswith(".b"):
            arrays[name.removeprefix("encoder.")] = (plain * STRENGTH).half()
        else:
            arrays[name.removeprefix("encoder.")] = plain.half()
    save_file(arrays, path, {name: " ".join(step.id for step in procedure(name).steps) for name in NAMES})


def main() -> None:
    parser = argparse.ArgumentParser(description="Teach the language model to read talks.")
    parser.add_argument("file", type=Path)
    parser.add_argument("sets", nargs="*", default=list(TUNING))
    given = parser.parse_args()
    folder = installed(find(MODEL))
    if folder is None:
        raise SystemExit(f"fetch the model first: companion models fetch {MODEL}")
    talks = [each for name in given.sets for each in transcripts(FOLDER / name)]
    keep(teach(talks, folder), given.file)


if __name__ == "__main__":
    main()
