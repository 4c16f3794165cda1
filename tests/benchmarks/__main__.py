"""Run every benchmark, or those named: ``python -m tests.benchmarks [NAME…]``."""

import runpy
import sys
from pathlib import Path

HERE = Path(__file__).parent


def main(names: list[str]) -> None:
    """Run the benchmarks one after the other, each in this process."""
    every = sorted(path.stem for path in HERE.glob("*.py") if not path.stem.startswith("_"))
    unknown = [name for name in names if name not in every]
    if unknown:
        raise SystemExit(f"no benchmark {', '.join(unknown)}; there are {', '.join(every)}")
    for name in names or every:
        print(f"== {name}")
        runpy.run_path(str(HERE / f"{name}.py"), run_name="__main__")


if __name__ == "__main__":
    main(sys.argv[1:])
