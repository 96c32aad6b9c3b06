"""Rules of thumb for building larger than wanted, as moves of the nodes of one meshed veneer."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu

from firstbake.errors import BadSum
from firstbake.fem import Body, fire
from firstbake.fem.body import MOST_TURNED, turned_share
from firstbake.fem.tetrahedra import volumes_and_gradients, volumes_mm3
from firstbake.fem.unfold import unfolded
from firstbake.mesh import Floats

GREEN_DENSITY, END_DENSITY = 0.60, 0.98  # free shrinkage 15.1 %, film 38.8 %: the order of a dental porcelain


@dataclass(frozen=True, eq=False)
class Place:
    """Where the nodes of a meshed veneer (or any points) lie.

    points_mm : (n, 3) mm      foot_mm : (n, 3) nearest points of the core, mm
    share     : (n,) height over the core as a share of the whole thickness there, 1 on the wanted contour
    """

    points_mm: Floats
    foot_mm: Floats
    share: Floats


def whole_scaled(place: Place, *, factor: float, centre_mm: Floats) -> Floats:
    """(n, 3) moves when the whole contour is scaled about a point, mm.

    The core cannot grow, so the move is whole on the contour and fades to nothing on the core.
    """
    moves = (factor - 1) * (place.points_mm - centre_mm)
    return np.asarray(place.share[:, None] * moves)


def thickness_scaled(place: Place, *, factor: float) -> Floats:
    """(n, 3) moves when each point goes to `factor` times its height over the nearest point of the core."""
    return np.asarray((factor - 1) * (place.points_mm - place.foot_mm))


@dataclass(frozen=True, eq=False)
class Build:
    """Green nodes (n, 3) mm, and how many elements the moves had turned over before they were evened out."""

    nodes_mm: Floats
    turned: int


def built(body: Body, moves_mm: Floats) -> Build:
    """The green body whose outer nodes make the given moves and whose inner nodes follow evenly.

    Inside, the move is the one without sources (Laplace); it does not change the shape. Bonded nodes stay.
    raises : BadSum when elements stay turned over, that is, when the rule folds the surface
    """
    outer = np.zeros(len(body.nodes_mm), dtype=bool)
    outer[np.unique(body.faces)] = True
    moves = np.where((outer & ~body.bonded)[:, None], moves_mm, 0.0)
    moves = _evenly_inside(body, moves, outer)
    nodes = body.nodes_mm + moves
    turned = int((volumes_mm3(nodes, body.tets) <= 0).sum())
    if turned:
        nodes = unfolded(body.nodes_mm, nodes, body.tets, outer, least=0.02)
    if turned_share(volumes_mm3(nodes, body.tets)) > MOST_TURNED:
        raise BadSum("the rule folds the build over itself")
    return Build(nodes, turned)


def fired_nodes(body: Body, green_mm: Floats, *, green_density: float = GREEN_DENSITY) -> Floats:
    """(n, 3) places of the nodes after the full model has fired green nodes (n, 3), mm."""
    done = fire(body.moved(green_mm), green_density=green_density, end_density=END_DENSITY, steps=4)
    return done.nodes_mm


def _evenly_inside(body: Body, moves: Floats, outer: np.ndarray) -> Floats:
    volumes, gradients = volumes_and_gradients(body.nodes_mm, body.tets)
    cells = np.einsum("e,eai,ebi->eab", volumes, gradients, gradients)
    rows, columns = np.repeat(body.tets, 4, axis=1).ravel(), np.tile(body.tets, (1, 4)).ravel()
    count = len(body.nodes_mm)
    matrix = coo_array((cells.ravel(), (rows, columns)), shape=(count, count)).tocsr()
    inner = np.flatnonzero(~outer)
    if len(inner) == 0:
        return moves
    pull = -(matrix[inner][:, np.flatnonzero(outer)] @ moves[outer])
    moves = moves.copy()
    moves[inner] = splu(matrix[inner][:, inner].tocsc()).solve(pull)
    return moves
