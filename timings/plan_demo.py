"""How long the demo plan takes, stage by stage, against reading its meshes alone (the baseline).

Run on idle cores: python timings/plan_demo.py
"""

import tempfile
import time
from itertools import pairwise
from pathlib import Path

from firstbake.crown import plan_crown
from firstbake.files import read_case, write_demo, write_plan


def main() -> None:
    """Print seconds for each stage and their ratio to reading."""
    marks: list[tuple[str, float, float]] = []

    def begin(stage: str) -> None:
        marks.append((stage, time.perf_counter(), time.process_time()))

    with tempfile.TemporaryDirectory() as folder:
        begin("write the demo case")
        case = write_demo(Path(folder) / "demo")
        loaded = read_case(case, progress=begin)
        plan = plan_crown(loaded.case, progress=begin)
        begin("sheet, meshes and pictures")
        write_plan(loaded, plan, Path(folder) / "out")
        begin("end")
    base = next(b[1] - a[1] for a, b in pairwise(marks) if a[0] == "reading meshes")
    print(f"{'stage':30} {'wall s':>8} {'cpu s':>8} {'times reading':>14}")
    for a, b in pairwise(marks):
        print(f"{a[0]:30} {b[1] - a[1]:8.2f} {b[2] - a[2]:8.2f} {(b[1] - a[1]) / base:14.1f}")
    print(f"{'plan, from reading on':30} {marks[-1][1] - marks[1][1]:8.2f}")


if __name__ == "__main__":
    main()
