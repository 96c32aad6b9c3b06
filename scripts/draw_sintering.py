"""Make the pictures and the tables of docs/sintering.md anew: fires every rule of thumb in the full model.

    python scripts/draw_sintering.py [--teeth FOLDER]

FOLDER holds the two real teeth that the page credits; they are no part of this project. About five minutes.
"""

import argparse
import sys
from pathlib import Path

from rules_of_thumb import END_DENSITY, GREEN_DENSITY
from sintering_cases import demo, real_tooth
from sintering_pictures import draw_all
from sintering_table import markdown, results_of

ROOT = Path(__file__).parents[1]
PAGE, PICTURES = ROOT / "docs" / "sintering.md", ROOT / "docs" / "pictures"
TEETH = ROOT / ".." / "shared" / "meshes" / "gpl-3.0_openmandible"
BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"


def draw(teeth: Path) -> None:
    """Fire, draw, print the tables and put them between the markers of the page."""
    if not teeth.is_dir():
        raise SystemExit(f"there is no folder {teeth} with the real teeth; name it with --teeth")
    crowns = [demo(), real_tooth(teeth, "31", ("41", "32")), real_tooth(teeth, "36", ("35", "37"))]
    results = [results_of(crown, _say) for crown in crowns]
    tables = "\n\n".join(markdown(result) for result in results)
    head = f"Green density {GREEN_DENSITY:.2f}, end density {END_DENSITY:.2f} of the solid, for all builds."
    sys.stdout.write(f"{head}\n\n{tables}\n")
    draw_all(results, PICTURES)
    text = PAGE.read_text("utf-8")
    before, rest = text.split(BEGIN)
    _, after = rest.split(END)
    PAGE.write_text(f"{before}{BEGIN}\n{head}\n\n{tables}\n{END}{after}", "utf-8")


def _say(what: str) -> None:
    sys.stderr.write(f"{what}\n")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--teeth", type=Path, default=TEETH, help="folder of the real teeth's meshes")
    draw(parser.parse_args().teeth)
