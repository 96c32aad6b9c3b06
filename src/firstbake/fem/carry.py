"""Carrying points of any surface along with a mesh that moves."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from firstbake.fem.tetrahedra import Index, outer_faces, volumes_and_gradients
from firstbake.fem.veneer import VeneerMesh
from firstbake.mesh import Floats, Surface

_INSIDE = -1e-6  # least barycentric weight that counts as inside
_BLEND = 0.5  # of the least thickness, over which the film rule gives way to the mesh (chosen here)
_NEAR_END_MM = 1.0  # from the end of the mesh on porcelain is thicker than the film rule's (chosen here)
_FADE_MM = (
    0.15,
    0.35,
)  # distance from the mesh at which a point starts and ceases to be carried (chosen here)


@dataclass(frozen=True, eq=False)
class Carrier:
    """Where points of the wanted shape lie in the mesh.

    corners  : (p, 4) nodes          weights : (p, 4) barycentric, extrapolated a little outside the mesh
    share    : (p,) 1 for points in or at the mesh, 0 for points far off
    lift_mm  : (p, 3) from the core to the point, for points in porcelain too thin to mesh
    thin     : (p,) 1 where the film rule holds, 0 where the mesh does
    """

    corners: Index
    weights: Floats
    share: Floats
    lift_mm: Floats
    thin: Floats

    def displaced(self, displacement_mm: Floats, *, film_growth: float) -> Floats:
        """(p, 3) displacement of the points, mm.

        displacement_mm : (n, 3) of the mesh nodes
        film_growth     : thickness after over before, less 1, for porcelain too thin to mesh (the film rule:
                          end density over green density, less 1, when going back to green)
        """
        by_mesh = np.einsum("pa,pai->pi", self.weights, displacement_mm[self.corners])
        by_film = film_growth * self.lift_mm
        thin = self.thin[:, None]
        return np.asarray((1 - thin) * self.share[:, None] * by_mesh + thin * by_film)


def carrier_of(mesh: VeneerMesh, points_mm: Floats) -> Carrier:
    """Find (p, 3) points in the mesh.

    Points inside are placed in their tetrahedron; points outside go with the tetrahedron of the nearest outer
    face, extrapolated. Where the porcelain is thinner than mesh.least_mm the film rule is prepared instead.
    """
    faces, owner = outer_faces(mesh.tets)
    skin = Surface(mesh.nodes_mm, faces.astype(np.int32)).probe
    found = skin.nearest(points_mm)
    tets = owner[found.face]
    basis = _Basis(mesh)
    weights = basis.weights(tets, points_mm)
    outside = weights.min(axis=1) < _INSIDE
    lost = np.flatnonzero(outside & (found.distance_mm > 1e-6))
    inner, inner_weights, ok = _located(basis, points_mm[lost])
    tets[lost[ok]], weights[lost[ok]] = inner[ok], inner_weights[ok]
    away = np.zeros(len(points_mm))
    away[lost[~ok]] = found.distance_mm[lost[~ok]]
    share = np.clip((_FADE_MM[1] - away) / (_FADE_MM[1] - _FADE_MM[0]), 0.0, 1.0)
    weights = _calmed(weights, away)
    maybe_thin = away > 0
    if mesh.end_mm is not None:
        maybe_thin |= mesh.end_mm[mesh.tets[tets]].min(axis=1) < _NEAR_END_MM
    lift, thin = _films(mesh, points_mm, np.flatnonzero(maybe_thin))
    return Carrier(mesh.tets[tets], weights, share, lift, thin)


class _Basis:
    """Gradients of all tetrahedra, worked out once."""

    def __init__(self, mesh: VeneerMesh) -> None:
        self.gradients = volumes_and_gradients(mesh.nodes_mm, mesh.tets)[1]
        self.middles = mesh.nodes_mm[mesh.tets].mean(axis=1)

    def weights(self, tets: Index, points_mm: Floats) -> Floats:
        """(p, 4) barycentric weights of points in given tetrahedra."""
        away = points_mm - self.middles[tets]
        return np.asarray(0.25 + (self.gradients[tets] @ away[:, :, None])[:, :, 0])


def _located(basis: _Basis, points_mm: Floats) -> tuple[Index, Floats, np.ndarray]:
    """Tetrahedron and weights of each point, and whether it lies inside one."""
    if len(points_mm) == 0:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 4)), np.zeros(0, dtype=bool)
    count = min(24, len(basis.middles))
    _, near = cKDTree(basis.middles).query(points_mm, k=count)
    near = np.asarray(near).reshape(len(points_mm), count)
    best = np.full(len(points_mm), -np.inf)
    tets, weights = near[:, 0].copy(), np.zeros((len(points_mm), 4))
    for k in range(count):
        rows = np.flatnonzero(best < _INSIDE)
        if len(rows) == 0:
            break
        trial = basis.weights(near[rows, k], points_mm[rows])
        better = trial.min(axis=1) > best[rows]
        chosen = rows[better]
        best[chosen], tets[chosen] = trial.min(axis=1)[better], near[chosen, k]
        weights[chosen] = trial[better]
    return tets.astype(np.int64), weights, best >= _INSIDE


def _calmed(weights: Floats, away_mm: Floats) -> Floats:
    """Weights far outside their tetrahedron are pulled back to it: flat tetrahedra extrapolate wildly."""
    inside = np.clip(weights, 0.0, None)
    inside /= inside.sum(axis=1, keepdims=True)
    wild = np.clip(-weights.min(axis=1) / 0.5, 0.0, 1.0)[:, None]  # all the way back at a weight of -0.5
    return np.asarray(np.where(away_mm[:, None] > 0, (1 - wild) * weights + wild * inside, weights))


def _films(mesh: VeneerMesh, points_mm: Floats, rows: Index) -> tuple[Floats, Floats]:
    """Way from the core to each point, and share of the film rule there: 1 where porcelain is too thin to
    mesh, 0 from half as thick again on."""
    if mesh.core is None:
        return np.zeros_like(points_mm), np.zeros(len(points_mm))
    lift, thin = np.zeros_like(points_mm), np.zeros(len(points_mm))
    foot = mesh.core.probe.nearest(points_mm[rows])
    lift[rows] = points_mm[rows] - foot.foot_mm
    depth = 0.0 if mesh.contour is None else mesh.contour.probe.nearest(points_mm[rows]).distance_mm
    over = (foot.distance_mm + depth) / mesh.least_mm - 1
    thin[rows] = np.clip(1 - over / _BLEND, 0.0, 1.0)
    return lift, thin
