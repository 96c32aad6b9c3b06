"""A small case on disk, written once, copied for each test."""

import shutil
from pathlib import Path

import pytest

from firstbake.files import write_ply, write_stl
from firstbake.teeth import Tooth, generate_crown, usual_sizes

CASE = """\
[case]
code = "TEST-1"
tooth = "11"
demo = true

[meshes]
core = "core.stl"
contour = "contour.ply"

[core]
material = "zirconia"

[target]
body = [75.2, 1.3, 16.3]
stump = [72.0, 4.0, 21.0]

[[powders]]
card = "demo-dentine-1"

[[powders]]
card = "demo-enamel-1"
"""


@pytest.fixture(scope="session")
def small_case_master(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("master")
    tooth = Tooth("11")
    crown = generate_crown(tooth, usual_sizes(tooth), triangles=5000)
    write_ply(folder / "contour.ply", crown.contour)
    write_stl(folder / "core.stl", crown.core)
    (folder / "case.toml").write_text(CASE, "utf-8")
    return folder


@pytest.fixture
def small_case(small_case_master, tmp_path) -> Path:
    """A folder of its own with case.toml, core.stl and contour.ply."""
    folder = tmp_path / "case"
    shutil.copytree(small_case_master, folder)
    return folder
