"""Two powders packed differently: fired again on a new mesh, the dentine ends at the planned cut-back."""

from pathlib import Path

import numpy as np
import pytest
from conftest import made, powder

from firstbake.fem import LEAST_MM, carrier_of, fire, mesh_veneer
from firstbake.green import build_green
from firstbake.layering import layer_up
from firstbake.mesh import Probe, signed_distance
from firstbake.room import measure_room
from firstbake.teeth import Landmarks, Tooth, find_frame, generate_crown, usual_sizes

SHARED = Path(__file__).parents[2] / ".." / "shared" / "meshes" / "gpl-3.0_openmandible"
DENTINE, ENAMEL, END = 0.56, 0.64, 0.98
STEP_MM = 0.55  # not the step of the plan, so that no node falls on one of its own


def shapes(number):
    if number == "11":
        grown = generate_crown(Tooth("11"), usual_sizes(Tooth("11")), triangles=12_000)
        return grown.contour, grown.core, grown.landmarks
    files = [SHARED / f"om_{number}_derived_{k}_open.stl" for k in ("target_outer", "coping_proxy")]
    if not all(f.exists() for f in files):
        pytest.skip("shared tooth meshes are not here")
    from firstbake.files.meshes import read_surface

    contour, core = (
        read_surface(f, unit="mm", role=r).surface for f, r in zip(files, ("contour", "core"), strict=True)
    )
    return contour, core, Landmarks()


@pytest.mark.parametrize("number", ["11", "31"])
def test_the_interface_is_where_the_plan_wants_it_after_firing(number):
    contour, core, landmarks = shapes(number)
    kit = (powder("dentine", green=DENTINE, fired=END), powder("enamel", green=ENAMEL, fired=END))
    m = made(contour, core, kit, shares=(0.6, 0.4), number=number)
    frame = find_frame(m.case.tooth, contour=contour, core=core, neighbours=(), landmarks=landmarks)
    room = measure_room(m.case, frame)
    layers = layer_up(m.case, frame, room)
    green = build_green(m.case, room, layers=layers)
    assert green.model == "sintering, finite elements"

    mesh = mesh_veneer(green.contour, core, step_mm=STEP_MM, least_mm=LEAST_MM * END / 0.6)
    inner = mesh.nodes_mm[mesh.tets].mean(axis=1, keepdims=True)
    samples = (inner + 0.5 * (mesh.nodes_mm[mesh.tets] - inner)).reshape(-1, 3)
    under = (signed_distance(green.dentine_cut, samples).distance_mm < 0).reshape(-1, 4)
    done = fire(mesh, green_density=np.where(under, DENTINE, ENAMEL).mean(axis=1), end_density=END)

    cut = green.dentine_cut.vertices_mm
    fired = cut + carrier_of(mesh, cut).displaced(done.displacement_mm, film_growth=DENTINE / END - 1)
    off = Probe(layers.cut_back).nearest(fired).distance_mm
    assert np.sqrt(np.mean(off**2)) < 0.02
