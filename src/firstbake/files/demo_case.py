"""The invented demo case, written as files a person could have made."""

from importlib import resources
from pathlib import Path

from firstbake.files.meshes import write_ply, write_stl
from firstbake.files.output import staged_folder
from firstbake.teeth import DemoCrown, demo_crown

POWDERS = ("demo-liner-1", "demo-dentine-3", "demo-enamel-2")

CASE = """\
# Invented demo case: no real person, no real product. All sizes, colours and powders are made up.
[case]
code = "DEMO-A"
tooth = "11"
demo = true
note = "Upper right central incisor beside the natural 21; zirconia core over a dark stump."

[meshes]
core = "core.stl"
contour = "contour.ply"
neighbours = ["mesial.stl", "distal.stl"]
opposing = ["opposing.stl"]
unit = "mm"

[core]
material = "zirconia-tinted"
wall_mm = 0.5

[target]                      # CIELAB, D65, 2 degrees
cervical = [74.5, 2.0, 18.0]
body = [75.2, 1.3, 16.3]
incisal = [72.0, 0.0, 9.5]
stump = [52.0, 6.0, 20.0]

{powders}
[landmarks]                   # taps on the meshes, mm
{landmarks}
"""


def write_demo(folder: Path) -> Path:
    """Write the demo case (meshes, cards, case.toml) into the folder. Returns the case file's path.

    raises : BadOutput when the place cannot be written to
    """
    crown = demo_crown()
    with staged_folder(folder) as stage:
        write_stl(stage / "core.stl", crown.core)
        write_ply(stage / "contour.ply", crown.contour)
        write_stl(stage / "mesial.stl", crown.mesial)
        write_stl(stage / "distal.stl", crown.distal)
        write_stl(stage / "opposing.stl", crown.opposing)
        (stage / "shelf" / "powders").mkdir(parents=True)
        for name in POWDERS:
            card = resources.files("firstbake").joinpath("shelf", "powders", f"{name}.toml").read_bytes()
            (stage / "shelf" / "powders" / f"{name}.toml").write_bytes(card)
        (stage / "case.toml").write_bytes(_case_text(crown).encode("utf-8"))
    return folder / "case.toml"


def _case_text(crown: DemoCrown) -> str:
    powders = "".join(f'[[powders]]\ncard = "{name}"\n\n' for name in POWDERS)
    points = {
        "incisal_mid": crown.landmarks.incisal_mid_mm,
        "mesial_contact": crown.landmarks.mesial_contact_mm,
        "distal_contact": crown.landmarks.distal_contact_mm,
        "labial_mid": crown.landmarks.labial_mid_mm,
    }
    lines = [
        f"{name} = [{', '.join(f'{value:.3f}' for value in point)}]"
        for name, point in points.items()
        if point is not None
    ]
    return CASE.format(powders=powders, landmarks="\n".join(lines))
