"""Real teeth that nobody here made: each loads or is refused with a reason."""

from pathlib import Path

import numpy as np
import pytest

from firstbake.errors import BadMesh
from firstbake.files.meshes import read_surface
from firstbake.mesh import overlap_volume, volume_between

SHARED = Path(__file__).parents[2] / ".." / "shared" / "meshes"
TEETH = sorted(SHARED.glob("*/*.stl"))
pytestmark = pytest.mark.skipif(not TEETH, reason="the shared meshes are not here")


def find(name: str) -> Path:
    return next(SHARED.glob(f"*/{name}"))


@pytest.mark.parametrize("path", TEETH, ids=lambda p: p.name)
def test_every_single_tooth_loads_in_mm(path: Path) -> None:
    found = read_surface(path, role="core")
    assert found.unit == "mm"
    assert found.surface.volume_mm3 > 0
    assert len(found.surface.loops) == (1 if "open" in path.name else 0)


def test_volumes_agree_with_the_published_table() -> None:
    # volumes in mm3 from the table beside the meshes
    for name, volume in {
        "om_36_enamel": 221.8,
        "om_31_dentin": 204.8,
        "dundee_46": 1038.8,
        "dundee_11": 585.0,
    }.items():
        assert read_surface(find(name + ".stl"), role="contour").surface.volume_mm3 == pytest.approx(
            volume, abs=0.06
        )


@pytest.mark.parametrize("tooth", ["33", "43"])
def test_the_inside_out_shell_is_dropped_and_said(tooth: str) -> None:
    found = read_surface(find(f"dundee_{tooth}.stl"), role="contour")
    assert [r.sentence for r in found.repairs] == [
        f"dundee_{tooth}.stl: 1 inside-out shell of 388 faces was dropped"
    ]
    assert found.surface.volume_mm3 == pytest.approx(464.3 + 1.5, abs=0.1)


def test_a_row_loads_as_a_neighbour_and_is_refused_as_a_crown() -> None:
    path = find("dundee_lower_row_unsegmented.ply")
    found = read_surface(path, role="neighbour")
    assert len(found.surface.faces) == 29460 - 2 * 388
    assert "2 inside-out shells" in found.repairs[0].sentence
    with pytest.raises(BadMesh, match="no tooth has this size"):
        read_surface(path, role="contour")


def test_the_viewer_scene_is_refused_with_a_reason() -> None:
    with pytest.raises(BadMesh, match="export the single tooth as STL or PLY"):
        read_surface(find("dundee_original_units.glb"), role="neighbour")


def test_overlapping_neighbours_load_and_overlap() -> None:
    a, b = (read_surface(find(f"dundee_{n}.stl"), role="neighbour").surface for n in ("46", "47"))
    assert 0 < overlap_volume(a, b) < 5


def test_both_kinds_of_stl_give_the_same_tooth() -> None:
    ours, text = (
        read_surface(find(n), role="contour") for n in ("om_36_enamel.stl", "om_36_enamel_ascii_original.stl")
    )
    assert ours.surface.volume_mm3 == pytest.approx(text.surface.volume_mm3, rel=1e-6)
    assert ours.digest != text.digest


@pytest.mark.parametrize("tooth", ["31", "36"])
def test_volume_between_the_open_derived_surfaces_is_the_enamel_solid(tooth: str) -> None:
    outer = read_surface(find(f"om_{tooth}_derived_target_outer_open.stl"), role="contour").surface
    inner = read_surface(find(f"om_{tooth}_derived_coping_proxy_open.stl"), role="core").surface
    solid = read_surface(find(f"om_{tooth}_enamel.stl"), role="contour").surface.volume_mm3
    assert volume_between(outer, inner) == pytest.approx(solid, rel=0.03)


@pytest.mark.parametrize("name", ["om_31_enamel.stl", "om_36_derived_target_outer_open.stl"])
def test_a_dirty_copy_is_healed_to_the_same_volume(tmp_path: Path, name: str) -> None:
    clean = read_surface(find(name), role="contour").surface
    rng = np.random.default_rng(11)
    faces = clean.faces.copy()
    flipped = rng.random(len(faces)) < 0.3
    faces[flipped] = faces[flipped][:, ::-1]
    faces = np.vstack([faces, faces[rng.integers(0, len(faces), 200)]])
    rows = np.zeros(len(faces), dtype=[("n", "<f4", 3), ("c", "<f4", (3, 3)), ("s", "<u2")])
    rows["c"] = clean.vertices_mm[faces]
    path = tmp_path / "dirty.stl"
    path.write_bytes(b" " * 80 + len(faces).to_bytes(4, "little") + rows.tobytes())
    healed = read_surface(path, role="contour")
    assert healed.surface.volume_mm3 == pytest.approx(clean.volume_mm3, rel=1e-9)
    assert sum("turned" in r.sentence for r in healed.repairs) == 1
