"""Fit the calibration of the phrase scorer on the fitting half of the corpus."""

import numpy as np

from companion.hearing.decoys import decoys_for
from companion.hearing.scorer.audio import prepare
from companion.hearing.scorer.calibration import Evidence, features
from companion.hearing.scorer.engine import open_scorer
from companion.ports.recogniser import Expected
from tests.bench.hearing_corpus import cases
from tests.bench.hearing_run import scorer_folder

_RIDGE = 0.02


def gather(rooms: tuple[str, ...], size: int) -> tuple[list[Evidence], list[bool]]:
    """What was measured on each case of the fitting half, and whether the best phrase was said."""
    scorer = open_scorer(scorer_folder())
    evidence: list[Evidence] = []
    truth: list[bool] = []
    for case in cases(rooms, size):
        utterance = prepare(case.load())
        if not case.fitting or utterance.empty:
            continue
        scores = scorer.judge(scorer.encode(utterance), Expected(case.phrases, decoys_for(case.phrases)))
        best = next((found for found in scores.found if found.phrase in case.phrases), None)
        if best is not None:
            evidence.append(scorer.evidence(best, scores))
            truth.append(best.phrase == case.truth)
    scorer.close()
    return evidence, truth


def fit(evidence: list[Evidence], truth: list[bool]) -> list[float]:
    """Coefficients of the logistic regression of `truth` on the features, by Newton's method with a small ridge."""
    x = np.array([features(one) for one in evidence])
    y = np.array(truth, float)
    weights = np.zeros(x.shape[1])
    for _ in range(50):
        p = 1 / (1 + np.exp(-(x @ weights)))
        gradient = x.T @ (p - y) + _RIDGE * weights
        hessian = (x * (p * (1 - p))[:, None]).T @ x + _RIDGE * np.eye(x.shape[1])
        weights -= np.linalg.solve(hessian, gradient)
    return [round(float(w), 3) for w in weights]
