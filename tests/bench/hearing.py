"""How well each engine hears, side by side with two baselines: `python -m tests.bench.hearing [--full]`.

Speech is flite's (four voices) and human (Debian packages pocketsphinx-testdata, asterisk-core-sounds-en-wav where
installed), in quiet, an echo, babble of eight voices, speech-shaped noise and alarm tones. Shares come with 95 %
intervals. Every engine runs in a process of its own.
"""

import argparse
import json
import subprocess
import sys

from tests.bench.hearing_corpus import FEW_ROOMS, ROOMS, cases
from tests.bench.hearing_report import costs, faults, rates, reliability
from tests.bench.hearing_run import ENGINES, Outcome, run


def main() -> None:
    options = _options()
    rooms = tuple(options.room) or (ROOMS if options.full else FEW_ROOMS)
    size = options.size or (160 if options.full else 24)
    if options.fit:
        from tests.bench.hearing_fit import fit, gather

        evidence, truth = gather(rooms, size)
        print(f"{len(truth)} cases, {sum(truth)} of them said; coefficients: {fit(evidence, truth)}")
        return
    if options.child:
        run(options.child, cases(rooms, size, options.seed))
        return
    results: dict[str, list[Outcome]] = {}
    peaks: dict[str, float] = {}
    for engine in options.engine or ENGINES:
        results[engine], peaks[engine] = _in_child(engine, sys.argv[1:])
        if not results[engine]:
            del results[engine]
    print(rates(results, rooms), costs(results, peaks), sep="\n\n")
    for engine, outcomes in results.items():
        if any(outcome.probability > 0 for outcome in outcomes):
            print(f"\nReliability of {engine}, held-out half\n\n{reliability(outcomes)}")
        if options.faults:
            print(f"\nErrors of {engine}\n{faults(outcomes)}")


def _in_child(engine: str, arguments: list[str]) -> tuple[list[Outcome], float]:
    """The outcomes of one engine and its peak memory in megabytes; none when the engine is not there."""
    command = [sys.executable, "-m", "tests.bench.hearing", *arguments, "--child", engine]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=False)
    if done.returncode:
        return [], 0.0
    *lines, last = done.stdout.splitlines()
    return [Outcome(**json.loads(line)) for line in lines], float(json.loads(last)["peak_mb"])


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--full", action="store_true", help="all rooms and many more phrases (about an hour)")
    parser.add_argument("--room", action="append", default=[], choices=ROOMS, help="only these rooms")
    parser.add_argument("--size", type=int, default=0, help="phrases in each room")
    parser.add_argument("--seed", type=int, default=1, help="another draw of the cases")
    parser.add_argument("--engine", action="append", default=[], choices=ENGINES, help="only these engines")
    parser.add_argument("--faults", action="store_true", help="list the single errors")
    parser.add_argument("--fit", action="store_true", help="fit the scorer's calibration and print its coefficients")
    parser.add_argument("--child", default="", choices=["", *ENGINES], help=argparse.SUPPRESS)
    return parser.parse_args()


if __name__ == "__main__":
    main()
