"""How long ``knobmenu --help`` takes against importing argparse and attrs, in the same run. Goal: 1.5 times at most."""

import os
import subprocess
import sys
import time

ROUNDS = 15


def seconds(*words: str) -> float:
    """Return the least time that a command took."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    took = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        subprocess.run([sys.executable, *words], check=True, capture_output=True, env=environment)
        took.append(time.perf_counter() - start)
    return min(took)


def main() -> None:
    """Print both times and their ratio."""
    base = seconds("-c", "import argparse, attrs")
    own = seconds("-m", "knobmenu", "--help")
    print(f"import argparse, attrs {base * 1000:.1f} ms, knobmenu --help {own * 1000:.1f} ms")
    print(f"ratio {own / base:.2f} (goal 1.5 at most)")


if __name__ == "__main__":
    main()
