"""From the command to the first prompt, and the most memory a session takes: `python -m tests.bench.startup`.

The baseline is a Python that only imports what the embedded engine itself needs.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 7
SHORT = Path(__file__).parent.parent / "data" / "short.yaml"
BASELINE = [sys.executable, "-c", "import pocketsphinx, numpy; print(1)"]
GUIDE = [sys.executable, "-u", "-m", "companion", "guide"]
DEMO = [sys.executable, "-m", "companion", "demo"]


def to_line(command: list[str], wanted: str, env: dict[str, str]) -> float:
    """Seconds until a line with `wanted` in it is printed."""
    began = time.perf_counter()
    with subprocess.Popen(command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        for line in process.stdout:
            if wanted in line:
                took = time.perf_counter() - began
                process.kill()
                return took
    raise SystemExit(f"{' '.join(command)} never printed {wanted!r}")


def main() -> None:
    with tempfile.TemporaryDirectory() as home:
        env = {**os.environ, "COMPANION_HOME": home}
        rows = []
        for name, command, wanted in (
            ("python, numpy and pocketsphinx imported", BASELINE, "1"),
            ("guide, short drill", [*GUIDE, str(SHORT), "--engine", "pocketsphinx"], "staff tag"),
            ("guide, subcutaneous insulin", [*GUIDE, "subcutaneous-insulin", "--engine", "pocketsphinx"], "staff tag"),
            ("demo", DEMO, "staff tag"),
        ):
            rows.append((name, [to_line(command, wanted, env) for _ in range(ROUNDS)]))
        base = statistics.median(rows[0][1])
        print(f"{'to the first prompt':42} {'median s':>9} {'worst s':>9} {'ratio':>7}")
        for name, times in rows:
            print(f"{name:42} {statistics.median(times):9.2f} {max(times):9.2f} {statistics.median(times) / base:7.1f}")
        began = time.perf_counter()
        subprocess.run(DEMO, env=env, stdout=subprocess.DEVNULL, check=True)
        took = time.perf_counter() - began
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1000
        print(f"whole demo: {took:.1f} s, peak memory {peak:.0f} MB")


if __name__ == "__main__":
    main()
