"""How long the window takes to its first paint and to a usable list, beside a bare Qt window.

Run: python -m tests.bench.start [RUNS]. Both windows are started in turn in fresh processes,
offscreen, on the demo shop; medians and the ratio of medians are printed.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

_HERE = Path(__file__).resolve().parent
GOAL_PAINT, GOAL_LIST = 1.5, 3.0


def _run(script: str, *arguments: str) -> list[str]:
    environment = {
        **os.environ,
        "QT_QPA_PLATFORM": "offscreen",
        "FRAMEKEEPER_BENCH_STARTED": str(time.monotonic()),
    }
    done = subprocess.run(
        [sys.executable, str(_HERE / script), *arguments],
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    return done.stdout.split()


def main() -> int:
    """Print the table; return 1 if the first paint misses its goal or something heavy came first."""  # noqa: E501
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    from framekeeper.demo import open_copy

    shop = str(open_copy())
    bare: list[float] = []
    paint: list[float] = []
    usable: list[float] = []
    heavy: set[str] = set()
    _run("bare_window.py"), _run("our_window.py", shop)  # warm the disk for both
    for _ in range(runs):
        bare.append(float(_run("bare_window.py")[0]))
        first, loaded, full = _run("our_window.py", shop)
        paint.append(float(first))
        usable.append(float(full))
        heavy |= set(loaded.split(",")) - {"-"}
    peer = statistics.median(bare)
    lines = [
        f"bare window, first paint      median {peer * 1000:6.0f} ms  ({runs} runs)",
        f"Framekeeper, first paint      median {statistics.median(paint) * 1000:6.0f} ms  "
        f"ratio {statistics.median(paint) / peer:.2f}  goal {GOAL_PAINT}",
        f"Framekeeper, usable due list  median {statistics.median(usable) * 1000:6.0f} ms  "
        f"ratio {statistics.median(usable) / peer:.2f}  goal {GOAL_LIST}",
        f"heavy libraries before the first paint: {', '.join(sorted(heavy)) or 'none'}",
    ]
    sys.stdout.write("\n".join(lines) + "\n")
    return int(statistics.median(paint) / peer > GOAL_PAINT or bool(heavy))


if __name__ == "__main__":
    raise SystemExit(main())
