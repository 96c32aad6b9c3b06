"""The crowns that the rules are tried on, and how a fired crown is judged against its wanted contour."""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from rules_of_thumb import Place
from scipy.spatial import cKDTree

from firstbake.fem import Carrier, VeneerMesh, carrier_of, mesh_veneer
from firstbake.files import read_surface
from firstbake.green.sintered import STEP_MM
from firstbake.mesh import Floats, Probe, Surface, signed_distance
from firstbake.teeth import Frame, Landmarks, Tooth, demo_crown, find_frame

RIM_MM = 0.3  # the last strip at the margin is not judged: porcelain runs out there
_TOWARD_EDGE, _SIDEWAYS = 0.7, 0.5  # cosine and sine limits of what counts as edge and as side


@dataclass(frozen=True, eq=False)
class Crown:
    """One crown, meshed in its wanted shape.

    counted, edge, sides : (n,) contour vertices over porcelain and off the margin; those of them that look
                           toward the bite in the upper half; those that look sideways
    foot_mm              : (n, 3) nearest points of the core under the contour vertices
    """

    name: str
    frame: Frame
    contour: Surface
    core: Surface
    mesh: VeneerMesh
    carrier: Carrier
    counted: np.ndarray
    edge: np.ndarray
    sides: np.ndarray
    foot_mm: Floats

    @cached_property
    def place(self) -> Place:
        """Where the nodes of the mesh lie."""
        nodes = self.mesh.nodes_mm
        low = Probe(self.core).nearest(nodes)
        high = Probe(self.contour).nearest(nodes).distance_mm
        share = np.where(self.mesh.bonded, 0.0, low.distance_mm / np.maximum(low.distance_mm + high, 1e-9))
        if self.mesh.on_contour is not None:
            share[self.mesh.on_contour & ~self.mesh.bonded] = 1.0
        return Place(nodes, low.foot_mm, share)

    def shape_of(self, nodes_mm: Floats) -> Surface:
        """The contour carried along with the nodes of the mesh (n, 3) mm."""
        moves = self.carrier.displaced(nodes_mm - self.mesh.nodes_mm, film_growth=0.0)
        return self.contour.moved(self.contour.vertices_mm + moves)


@dataclass(frozen=True)
class Misfit:
    """Distances between fired surface and wanted contour by area, mm, greater than 0 where too much.

    most_mm : what 99 % of the area keeps below      edge_mm, sides_mm : means
    """

    most_mm: float
    rms_mm: float
    edge_mm: float
    sides_mm: float


def misfit(crown: Crown, fired: Surface) -> Misfit:
    """Judge a fired surface, vertex for vertex the contour."""
    off = deviations_mm(crown, fired)
    area = crown.contour.vertex_areas_mm2
    here = crown.counted
    order = np.argsort(np.abs(off[here]))
    reached = np.cumsum(area[here][order]) / area[here].sum()
    most = np.abs(off[here])[order][int(np.searchsorted(reached, 0.99))]
    return Misfit(
        float(most),
        float(np.sqrt(np.average(off[here] ** 2, weights=area[here]))),
        float(np.average(off[crown.edge], weights=area[crown.edge])),
        float(np.average(off[crown.sides], weights=area[crown.sides])),
    )


def deviations_mm(crown: Crown, fired: Surface) -> Floats:
    """(n,) misfit at each contour vertex, mm, greater than 0 where too much.

    The larger of two distances: from the fired vertex to the wanted contour, and from the wanted vertex to
    the fired surface. One alone is too kind to a thin edge, which has the other side of the tooth close by.
    """
    there = signed_distance(crown.contour, fired.vertices_mm).distance_mm
    back = -signed_distance(fired, crown.contour.vertices_mm).distance_mm
    return np.where(np.abs(back) > np.abs(there), back, there)


def crown_of(name: str, frame: Frame, *, contour: Surface, core: Surface) -> Crown:
    """Mesh a crown and find its edge and its sides."""
    mesh = mesh_veneer(contour, core, step_mm=STEP_MM)
    carrier = carrier_of(mesh, contour.vertices_mm)
    foot = Probe(core).nearest(contour.vertices_mm).foot_mm
    rim, _ = cKDTree(contour.vertices_mm[contour.loops[0]]).query(contour.vertices_mm)
    counted = (carrier.share > 0.99) & (carrier.thin < 0.01) & (rim > RIM_MM)
    rise = contour.vertex_normals @ frame.axes[2]
    edge = counted & (rise > _TOWARD_EDGE) & (frame.height_share(contour.vertices_mm) > 0.5)
    sides = counted & (np.abs(rise) < _SIDEWAYS)
    return Crown(name, frame, contour, core, mesh, carrier, counted, edge, sides, foot)


def demo() -> Crown:
    """The invented demo crown, as firstbake demo writes it."""
    made = demo_crown()
    frame = find_frame(
        made.tooth,
        contour=made.contour,
        core=made.core,
        neighbours=(made.mesial, made.distal),
        landmarks=made.landmarks,
    )
    return crown_of("demo crown, tooth 11", frame, contour=made.contour, core=made.core)


def real_tooth(folder: Path, number: str, beside: tuple[str, str]) -> Crown:
    """Natural enamel over dentine: the dentine stands for a core, the enamel for the wanted porcelain.

    folder : where the meshes of the credited source lie      beside : numbers of the neighbours
    raises : BadMesh when they cannot be read
    """

    def read(file: str, role: str) -> Surface:
        return read_surface(folder / file, unit="mm", role=role).surface

    contour = read(f"om_{number}_derived_target_outer_open.stl", "contour")
    core = read(f"om_{number}_derived_coping_proxy_open.stl", "core")
    frame = find_frame(
        Tooth(number),
        contour=contour,
        core=core,
        neighbours=tuple(read(f"om_{n}_enamel.stl", "neighbour") for n in beside),
        landmarks=Landmarks(),
    )
    return crown_of(f"real tooth {number}", frame, contour=contour, core=core)
