"""How many states the rules of each procedure take to prove, and how many seconds of processor time.

Run: python -m tests.bench.proving [NAME ...]
"""

import sys
from pathlib import Path
from time import process_time

from companion.procedure.loading import load
from companion.procedure.proving import prove

FOLDER = Path(__file__).parents[2] / "procedures"


def main() -> None:
    """Print a line for each procedure named, or for all."""
    wanted = sys.argv[1:] or sorted(path.stem for path in FOLDER.glob("*.yaml"))
    for name in wanted:
        procedure = load(FOLDER / f"{name}.yaml").procedure
        began = process_time()
        proof = prove(procedure)
        broken = f", {len(proof.unproved)} not proved" if proof.unproved else ""
        rules, seconds = len(procedure.always), process_time() - began
        print(f"{name:24} {rules:3} rules {proof.states:8,} states {seconds:6.1f} s{broken}")


if __name__ == "__main__":
    main()
