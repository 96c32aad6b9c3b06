"""Finding the axes of a tooth: landmarks first, then neighbours, then shape."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCase
from firstbake.mesh import Surface
from firstbake.teeth.frame import Frame, Landmarks
from firstbake.teeth.margin import Margin, find_margin, margin_curve
from firstbake.teeth.shape_evidence import (
    Crown,
    across,
    arch_vote,
    axis_of_table,
    axis_to_edge,
    contact_sites,
    crown_part,
    labial_vote,
    mesiodistal_by_shape,
    unit,
)
from firstbake.teeth.sizes import usual_sizes
from firstbake.teeth.tooth import Tooth

Floats = NDArray[np.float64]
_ROUND = 0.1  # a back tooth whose usual outline is this near to round gives no sure direction (chosen here)


@dataclass(frozen=True, eq=False)
class _Found:
    """A direction, how it was found, and how far it can be trusted (unit 1)."""

    direction: Floats
    words: str
    trust: float


@dataclass(frozen=True, eq=False)
class _Start:
    """What the search begins with: margin, its middle, and the first guess of the axis."""

    margin: Margin | None
    centre_mm: Floats
    axis: Floats


def find_frame(
    tooth: Tooth,
    *,
    contour: Surface,
    core: Surface,
    neighbours: tuple[Surface, ...] = (),
    landmarks: Landmarks | None = None,
) -> Frame:
    """The tooth's own axes.

    landmarks : decide whatever they can (z from margin to incisal mid, x along the contacts); without
                them neighbours give x, and shape the rest
    returns   : confidence at least 0.8 when landmarks or neighbours decide, 0.5 to 0.8 for shape alone,
                below 0.5 when the axes are a guess (no margin)
    raises    : BadCase when landmarks contradict each other (two in one place)
    """
    landmarks = landmarks if landmarks is not None else Landmarks()
    start = _start(contour, core)
    z = _axis(tooth, contour, landmarks, start=start)
    crown = crown_part(contour, start.centre_mm, z.direction)
    x = _mesiodistal(tooth, contour, crown, start=start, z=z.direction, taps=landmarks, beside=neighbours)
    x = _signed(tooth, crown, x, start=start, z=z.direction, taps=landmarks, beside=neighbours)
    y = tooth.handed * np.cross(z.direction, x.direction)
    axes = np.vstack([x.direction, y, z.direction])
    confidence = min(z.trust, x.trust)
    words = z.words if x.words == z.words else f"{z.words}; {x.words}"
    return _measured(tooth, contour, start, axes=axes, method=words, confidence=confidence)


def _start(contour: Surface, core: Surface) -> _Start:
    """Margin and first axis; without a margin, the contour's long axis with the core nearer the neck."""
    margin = find_margin(contour, core)
    if margin is not None:
        return _Start(margin, margin.centre_mm, unit(margin.above_mm - margin.centre_mm))
    points = contour.vertices_mm
    middle = np.average(points, axis=0, weights=contour.vertex_areas_mm2 + 1e-12)
    weight = contour.vertex_areas_mm2 + 1e-12
    spread = np.einsum("i,ij,ik->jk", weight, points - middle, points - middle)
    axis = np.linalg.eigh(spread)[1][:, 2]
    toward = middle - core.vertices_mm.mean(axis=0)
    axis = axis if axis @ toward >= 0 else -axis
    low = ((points - middle) @ axis).min()
    return _Start(None, np.asarray(middle + low * axis), np.asarray(axis))


def _axis(tooth: Tooth, contour: Surface, taps: Landmarks, *, start: _Start) -> _Found:
    """z: from the margin's middle to the incisal mid, tapped or found."""
    if taps.incisal_mid_mm is not None:
        toward = np.array(taps.incisal_mid_mm) - start.centre_mm
        if np.linalg.norm(toward) < 0.5:
            raise BadCase("the landmark incisal_mid lies in the middle of the margin; tap it on the edge")
        return _Found(unit(toward), "landmarks", 0.95 if start.margin is not None else 0.6)
    if start.margin is None:
        return _Found(start.axis, "longest extent, no margin found", 0.3)
    crown = crown_part(contour, start.centre_mm, start.axis)
    if len(crown.points_mm) < 10:
        return _Found(start.axis, start.margin.words, 0.3)
    if tooth.is_front:
        axis = axis_to_edge(crown, start.centre_mm, start.axis)
        return _Found(axis, f"{start.margin.words} and edge", 0.85)
    return _Found(axis_of_table(crown, start.axis), f"{start.margin.words} and walls", 0.85)


def _mesiodistal(
    tooth: Tooth,
    contour: Surface,
    crown: Crown,
    *,
    start: _Start,
    z: Floats,
    taps: Landmarks,
    beside: tuple[Surface, ...],
) -> _Found:
    """x with its sign still open, except where taps give it."""
    mesial, distal = taps.mesial_contact_mm, taps.distal_contact_mm
    if mesial is not None or distal is not None:
        one = np.array(mesial) if mesial is not None else start.centre_mm
        other = np.array(distal) if distal is not None else start.centre_mm
        if np.linalg.norm(one - other) < 0.5:
            raise BadCase("the landmarks mesial_contact and distal_contact lie in one place; tap them again")
        return _Found(across(one - other, z), "landmarks", 0.95 if mesial and distal else 0.8)
    if taps.labial_mid_mm is not None:
        labial = across(np.array(taps.labial_mid_mm) - start.centre_mm, z)
        return _Found(tooth.handed * np.cross(labial, z), "labial landmark", 0.8)
    sites = contact_sites(contour, beside)
    if len(sites) >= 2:
        return _Found(across(sites[0] - sites[1], z), "contacts with both neighbours", 0.85)
    if len(crown.points_mm) < 10:
        return _Found(_any_across(z), "no shape to go by", 0.2)
    by_shape = mesiodistal_by_shape(tooth, crown, start.centre_mm, z)
    if len(sites) == 1:
        toward = across(sites[0] - start.centre_mm, z)
        by_shape = by_shape if by_shape @ toward > 0 else -by_shape
        if by_shape @ toward > 0.9 and tooth.is_front:
            toward = unit(toward + by_shape)
        return _Found(toward, "contact with one neighbour", 0.8)
    usual = usual_sizes(tooth)
    round_outline = abs(usual.mesiodistal_mm / usual.labiopalatal_mm - 1) < _ROUND
    return _Found(by_shape, "shape", 0.7 if tooth.is_front else 0.45 if round_outline else 0.55)


def _any_across(axis: Floats) -> Floats:
    """Some direction at right angles to an axis."""
    return across(np.eye(3)[int(np.abs(axis).argmin())], axis)


def _signed(
    tooth: Tooth,
    crown: Crown,
    x: _Found,
    *,
    start: _Start,
    z: Floats,
    taps: Landmarks,
    beside: tuple[Surface, ...],
) -> _Found:
    """x pointing mesially: taps say so, or the side that is labial by shape and arch does."""
    if taps.mesial_contact_mm or taps.distal_contact_mm:
        return x
    side = tooth.handed * np.cross(z, x.direction)
    if taps.labial_mid_mm is not None:
        labial = float((np.array(taps.labial_mid_mm) - start.centre_mm) @ side)
        return x if labial > 0 else _Found(-x.direction, x.words, x.trust)
    if len(crown.points_mm) < 10:
        return x
    middle = (crown.points_mm.max(axis=0) + crown.points_mm.min(axis=0)) / 2
    vote = labial_vote(tooth, crown, start.centre_mm, axis=z, side=side)
    vote += arch_vote(middle, beside, axis=z, side=side) * (1.0 if tooth.is_front else 0.1)
    trust = x.trust if abs(vote) > 0.15 else min(x.trust, 0.55 if start.margin is not None else 0.2)
    return _Found(x.direction if vote >= 0 else -x.direction, x.words, trust)


def _measured(
    tooth: Tooth, contour: Surface, start: _Start, *, axes: Floats, method: str, confidence: float
) -> Frame:
    """The frame with sizes and margin curve measured along its axes."""
    local = (contour.vertices_mm - start.centre_mm) @ axes.T
    if start.margin is None:
        azimuth, height = np.array([-np.pi / 2, np.pi / 2]), np.zeros(2)
    else:
        azimuth, height = margin_curve((start.margin.points_mm - start.centre_mm) @ axes.T)
    own = np.arctan2(local[:, 1], local[:, 0])
    crown = local[local[:, 2] >= np.interp(own, azimuth, height, period=2 * np.pi) - 0.05]
    crown = crown if len(crown) > 3 else local
    return Frame(
        tooth=tooth,
        origin_mm=start.centre_mm,
        axes=axes,
        height_mm=float(crown[:, 2].max()),
        width_mm=float(np.ptp(crown[:, 0])),
        depth_mm=float(np.ptp(crown[:, 1])),
        margin_azimuth_rad=azimuth,
        margin_z_mm=height,
        method=method,
        confidence=confidence,
    )
