"""The phrase scorer as the ear: of the allowed phrases, which was said, or none?

An open recogniser is asked closed: the sound is encoded once, and the decoder then tells how likely each allowed
phrase and each decoy is, in every way it may be written. What the model would freely write gives the measure of "none
of these": a phrase that was really said is nearly as likely as anything else that could be.
"""

import re
import time
from collections import OrderedDict
from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from pathlib import Path
from threading import Lock

import numpy as np

from companion.errors import HearingError
from companion.hearing.decoy_tables import ENGLISH
from companion.hearing.scorer.audio import Utterance, frame_levels, prepare
from companion.hearing.scorer.calibration import ACCEPT, ACCEPT_NUMBER, ACCEPT_STRICT, UNCLEAR, Evidence, probability
from companion.hearing.scorer.lattice import Lattice
from companion.hearing.scorer.model import ScorerModel
from companion.hearing.scorer.search import LEAD, Found, Scores, Search
from companion.hearing.scorer.variants import digits_in, is_number
from companion.hearing.scorer.weights import Floats
from companion.hearing.scorer.wordings import more_said, parts_of, share_words, words_in
from companion.ports.recogniser import Expected, Hearing, Listening, Verdict
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.speech.language import tell

NAME = "scorer"
_KEPT_LATTICES = 32
_LONGEST_S = 30
_LATIN = re.compile(r"[a-zà-öø-ÿ'’]+", re.IGNORECASE)
_IDLE = frozenset(ENGLISH.fillers)
_DECOY_SAID = -3.0
"""Margin from which a decoy was really said, so that a near miss is asked about."""
_NOTHING = -30.0
"""Margin reported when no phrase came near enough to be scored to its end."""
_SURE_OF_WORDS = -0.6
"""Logarithm of a written token's chance, on average, from which free writing is told."""


@dataclass(frozen=True)
class Transcript:
    """Open dictation of one utterance."""

    text: str
    words: tuple[tuple[str, float], ...]
    """Each word as written and the logarithm of its chance, the sum over its tokens."""


class PhraseScorer:
    """A `Recogniser`. Made by `open_scorer`."""

    name = NAME
    language = "en-US"

    def __init__(self, model: ScorerModel) -> None:
        self._model = model
        self._lattices: OrderedDict[tuple[str, ...], Lattice] = OrderedDict()
        self._lock = Lock()
        """Guards the kept networks: a decision begun ahead runs in another thread."""
        self._ahead = ThreadPoolExecutor(max_workers=1, thread_name_prefix="scorer")

    def unknown_words(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Words in other than Latin letters: the model was taught English, and spells any word of it."""
        words = dict.fromkeys(word for phrase in phrases for word in phrase.split(" "))
        return tuple(word for word in words if not _LATIN.fullmatch(word))

    def listen(self, expected: Expected) -> Listening:
        """Start on an utterance. Raises HearingError when nothing is expected."""
        if not expected.phrases:
            raise HearingError("nothing to listen for: at least one phrase is needed")
        return ScorerListening(self, expected)

    def dictate(self, samples: Samples) -> Transcript:
        """The open transcript of an utterance of at most 30 s."""
        utterance = prepare(samples)
        if utterance.empty:
            return Transcript("", ())
        sound = utterance.sound[: _LONGEST_S * SAMPLE_RATE]
        tokens = self._model.write(self._model.encode(sound), sound.size / SAMPLE_RATE)
        tokenizer = self._model.tokenizer
        groups: list[tuple[list[int], float]] = []
        for token, logp in tokens:
            if not groups or tokenizer.begins_word(token):
                groups.append(([], 0.0))
            groups[-1][0].append(token)
            groups[-1] = (groups[-1][0], groups[-1][1] + logp)
        words = tuple((tokenizer.decode(word), logp) for word, logp in groups)
        return Transcript(tokenizer.decode(token for token, _ in tokens), words)

    def close(self) -> None:
        """Let the worker thread end; waits for it."""
        self._ahead.shutdown(wait=True, cancel_futures=True)

    def lattice(self, expected: Expected) -> Lattice:
        """The network of the phrases and decoys, made once for each set."""
        parts = parts_of(expected.phrases)
        decoys = (decoy for decoy in expected.decoys if decoy not in _IDLE and decoy not in parts)
        key = tuple(dict.fromkeys((*expected.phrases, *decoys)))
        with self._lock:
            if key in self._lattices:
                self._lattices.move_to_end(key)
            else:
                self._lattices[key] = Lattice(key, self._model.tokenizer)
                if len(self._lattices) > _KEPT_LATTICES:
                    self._lattices.popitem(last=False)
            return self._lattices[key]

    def encode(self, utterance: Utterance) -> Floats:
        """The sound as the decoder takes it."""
        return self._model.encode(utterance.sound)

    def judge(self, encoded: Floats, expected: Expected) -> Scores:
        """How likely each phrase and decoy is."""
        return Search(self._model.weights, self.lattice(expected), encoded).run()

    def evidence(self, found: Found, scores: Scores) -> Evidence:
        """The measures of one of `scores.found` that the calibration is made of."""
        # Two phrases of the same writing ("zero point five", "nought point five") are one to the model: no rivals.
        rivals = (other.chance for other in scores.found if other.tokens != found.tokens)
        written, free = (words_in(self._model.tokenizer.decode(t)) for t in (found.tokens, scores.free_tokens))
        return Evidence(
            margin=found.chance - scores.free,
            lead=min(max(found.chance - max(rivals, default=-np.inf), -LEAD), LEAD),
            contained=more_said(written, free),
            alike=SequenceMatcher(None, "".join(written), "".join(free), autojunk=False).ratio(),
            words=len(found.phrase.split(" ")),
        )

    def _denial(self, found: Found, scores: Scores) -> str | None:
        """A word in the free writing that turns a meaning round and that the phrase lacks: then it never confirms,
        unless the phrase is the likelier of the two, as "nobody" is than "no, body"."""
        if found.chance > scores.free:
            return None
        free = words_in(self._model.tokenizer.decode(scores.free_tokens))
        # Said twice over it takes back nothing: "no, no known allergy" is no denial of "no known allergy".
        more = set(free) - set(words_in(found.phrase))
        return next((word for word in free if word in more and word in ENGLISH.denials), None)

    def _other_number(self, found: Found, scores: Scores) -> str | None:
        """What the model freely wrote, where that is likelier and tells another number. A part is no other."""
        if found.chance >= scores.free:
            return None
        said = digits_in(found.phrase.split(" "))
        free = self._model.tokenizer.decode(scores.free_tokens)
        digits = digits_in(words_in(free))
        rest = iter(said)
        if not said or all(digit in rest for digit in digits) or not digits.replace(said, ""):
            return None
        return free.strip(" .")

    def _written(self, encoded: Floats, seconds: float, scores: Scores) -> str:
        """What was freely written, to its end, where the model is sure of it."""
        tokens, chance = scores.free_tokens, scores.free
        if not scores.free_done:
            written = self._model.write(encoded, seconds)
            tokens, chance = tuple(token for token, _ in written), sum(logp for _, logp in written)
        sure = bool(tokens) and chance / len(tokens) >= _SURE_OF_WORDS
        return self._model.tokenizer.decode(tokens).strip() if sure else ""

    def start_ahead(self, samples: Samples, expected: Expected) -> "Future[Hearing]":
        return self._ahead.submit(self.decide, samples, expected)

    def decide(self, samples: Samples, expected: Expected) -> Hearing:
        """The verdict on one utterance."""
        began = time.perf_counter()

        def hearing(
            verdict: Verdict, phrase: str | None, nearest: str | None, margin: float, reason: str, chance: float = 0.0
        ) -> Hearing:
            more = ""
            if verdict != "accepted" and scores is not None:
                more = self._written(encoded, utterance.sound.size / SAMPLE_RATE, scores)
            return Hearing(verdict, phrase, nearest, margin, NAME, reason, time.perf_counter() - began, chance, more)

        utterance = prepare(samples)
        scores: Scores | None = None
        if utterance.empty:
            return hearing("silence", None, None, _NOTHING, tell("en", "no speech"))
        if utterance.sound.size > _LONGEST_S * SAMPLE_RATE:
            return hearing("other", None, None, _NOTHING, tell("en", "too long"))
        encoded = self.encode(utterance)
        scores = self.judge(encoded, expected)
        if not scores.found:
            return hearing("other", None, None, _NOTHING, tell("en", "none of the phrases"))
        top = scores.found[0]
        allowed = next((found for found in scores.found if found.phrase in expected.phrases), None)
        if allowed is None:
            close = top.chance - scores.free > _DECOY_SAID and share_words(top.phrase, expected.phrases)
            reason = tell("en", "sounded like", what=top.phrase)
            return hearing("unclear" if close else "other", None, top.phrase, top.chance - scores.free, reason)
        evidence = self.evidence(allowed, scores)
        chance = probability(evidence)
        if chance >= UNCLEAR and (denial := self._denial(allowed, scores)):
            reason = tell("en", "a denial in it", denial=denial)
            return hearing("unclear", None, top.phrase, evidence.margin, reason, chance)
        if chance >= UNCLEAR and (number := self._other_number(allowed, scores)):
            reason = tell("en", "sounded like", what=number)
            return hearing("unclear", None, top.phrase, evidence.margin, reason, chance)
        if allowed is top and chance >= _threshold(
            allowed.phrase, expected.strict and allowed.phrase not in expected.harmless
        ):
            return hearing("accepted", top.phrase, top.phrase, evidence.margin, "", chance)
        reason = tell("en", "not clear enough") if allowed is top else tell("en", "sounded like", what=top.phrase)
        if chance >= UNCLEAR:
            return hearing("unclear", None, top.phrase, evidence.margin, reason, chance)
        return hearing("other", None, top.phrase, evidence.margin, tell("en", "none of the phrases"), chance)


def _threshold(phrase: str, strict: bool) -> float:
    if strict:
        return ACCEPT_STRICT
    return ACCEPT_NUMBER if any(is_number(word) for word in phrase.split(" ")) else ACCEPT


class ScorerListening:
    """One utterance being heard; the decision may be started ahead when speech pauses."""

    def __init__(self, scorer: PhraseScorer, expected: Expected) -> None:
        self._scorer = scorer
        self._expected = expected
        self._blocks: list[Samples] = []
        self._ahead: tuple[int, Future[Hearing]] | None = None

    def feed(self, samples: Samples) -> None:
        if samples.size:
            self._blocks.append(samples)

    def prepare(self) -> None:
        """Speech has paused: begin to decide in a worker thread. `finish` uses the answer if only quiet followed."""
        samples = self._samples()
        if self._ahead is not None and self._only_quiet_since(samples, self._ahead[0]):
            return
        if self._ahead is not None:
            self._ahead[1].cancel()
        self._ahead = (samples.size, self._scorer.start_ahead(samples, self._expected))

    def ahead(self) -> "Future[Hearing] | None":
        """The decision begun in the last pause, if there was one."""
        return self._ahead[1] if self._ahead is not None else None

    def partial(self) -> str | None:
        """The phrase of a decision begun ahead, once it is there and holds."""
        if self._ahead is None or not self._ahead[1].done() or not self._holds(self._samples()):
            return None
        return self._ahead[1].result().phrase

    def finish(self) -> Hearing:
        began = time.perf_counter()
        samples = self._samples()
        if self._ahead is not None and self._holds(samples):
            heard = self._ahead[1].result()
        else:
            if self._ahead is not None:
                self._ahead[1].cancel()
            heard = self._scorer.decide(samples, self._expected)
        return replace(heard, decide_s=time.perf_counter() - began)

    def _samples(self) -> Samples:
        if len(self._blocks) != 1:
            self._blocks = [np.concatenate(self._blocks) if self._blocks else np.zeros(0, np.int16)]
        return self._blocks[0]

    def _holds(self, samples: Samples) -> bool:
        return self._ahead is not None and self._only_quiet_since(samples, self._ahead[0])

    def _only_quiet_since(self, samples: Samples, at: int) -> bool:
        """True when what came after sample `at` is nearer to the quiet than to the loud parts of what came before."""
        before, after = frame_levels(samples[:at]), frame_levels(samples[at:])
        if after.size == 0:
            return True
        quiet, loud = np.percentile(before, 10), np.percentile(before, 95)
        return bool(np.percentile(after, 90) < (quiet + loud) / 2)


def open_scorer(folder: Path) -> PhraseScorer:
    """Load the model in `folder`. Raises ModelError when it is not whole, HearingError without onnxruntime."""
    return PhraseScorer(ScorerModel(folder))
