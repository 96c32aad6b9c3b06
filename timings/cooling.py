"""How long firing and stress of a whole crown take, and its last sum against a plain one in the same run.

Baseline: the same ten-node system solved to the same tolerance by SciPy's conjugate gradients with the
diagonal as preconditioner. Run on idle cores: python timings/cooling.py
"""

import time
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from scipy.sparse import diags_array
from scipy.sparse.linalg import cg

from firstbake.cooling import Crown, TenNode, cool_crown, descent_of, stress_MPa, with_core
from firstbake.crown import room_of_case
from firstbake.fem import mesh_veneer
from firstbake.files import read_case, write_demo
from firstbake.firing import body_powder, default_sequence, firing_report
from firstbake.layering import layer_up

STEPS_MM = (0.75, 0.6)
TOLERANCE = 1e-3


def crown_of(folder: Path, step_mm: float) -> Crown:
    """The demo's crown, its porcelain meshed at a step."""
    case = read_case(write_demo(folder / f"demo-{step_mm}")).case
    frame, room = room_of_case(case)
    layers = layer_up(case, frame, room)
    mesh = mesh_veneer(case.contour.surface, case.core.surface, step_mm=step_mm)
    return Crown(case, frame, room, layers, mesh)


def last_sum_s(crown: Crown) -> tuple[int, float, float]:
    """Ten-node nodes, and seconds for the elastic sum: ours, and the baseline."""
    walled = with_core(crown.mesh, crown.case.core_wall_mm)
    shear, bulk = (np.where(walled.core, c, v) for c, v in ((80.8e3, 27.9e3), (175e3, 40.5e3)))
    imposed = stress_MPa(np.where(walled.core, 0, 6e-4)[:, None, None] * np.eye(3), shear, bulk)
    body = TenNode(walled.nodes_mm, walled.tets, shear_MPa=shear, bulk_MPa=bulk)
    begin = time.perf_counter()
    body.displacement_mm(imposed, tolerance=TOLERANCE)
    ours = time.perf_counter() - begin
    right, matrix = body.system(imposed)
    begin = time.perf_counter()
    _, failed = cg(matrix, right, rtol=TOLERANCE, M=diags_array(1 / matrix.diagonal()), maxiter=20000)
    plain = time.perf_counter() - begin
    if failed:
        print("the baseline did not settle in 20,000 steps")
    return body.count, ours, plain


def main() -> None:
    with TemporaryDirectory() as folder:
        for step in STEPS_MM:
            crown = crown_of(Path(folder), step)
            nodes, ours, plain = last_sum_s(crown)
            print(
                f"lattice {step} mm, {nodes} nodes: last sum {ours:.2f} s, baseline {plain:.2f} s, "
                f"ratio {plain / ours:.1f}"
            )
            for name, way in (
                ("slow", descent_of(900.0, 30.0, 550.0)),
                ("bench", descent_of(900.0, None, None)),
            ):
                begin = time.perf_counter()
                veneered = crown.room.thickness_mm[crown.room.veneered]
                bakes = default_sequence(crown.case.core_material, crown.case.powders, veneered)
                firing_report(bakes, body_powder(crown.case.powders), thickness_mm=float(veneered.max()))
                cool_crown(crown, way)
                print(f"  firing and stress, {name}: {time.perf_counter() - begin:.1f} s")


if __name__ == "__main__":
    main()
