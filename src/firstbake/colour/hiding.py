"""Will the stump show, and how much of a hiding coat covers it in the room there."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.colour.difference import PERCEPTIBLE_DELTA_E00, delta_e00
from firstbake.colour.ground import ORDINARY_STUMP, Ground, ground_of
from firstbake.colour.paths import Paths, labs_at
from firstbake.colour.recipe import MIDDLE_NM
from firstbake.errors import BadInput
from firstbake.powder import Powder

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

HIDING_ROLES = ("liner", "opaque", "opaque-dentine")

_GIVES_FIRST = ("dentine", "margin", *HIDING_ROLES)
_SCAN = 9
_HALVINGS = 8


def coat_of(case: Case) -> Powder | None:
    """The most scattering liner, opaque or opaque dentine of the case, or None without any."""
    coats = [powder for powder in case.powders if powder.role in HIDING_ROLES]
    return max(coats, key=_scattering, default=None)


def stump_differences(case: Case, paths: Paths) -> Floats:
    """(p,) CIEDE2000 between these layers over the ordered stump and over one of ordinary dentine.

    paths : over the core; 0 where no stump shines through or none was ordered
    """
    return _differences(paths, _ordinary(case, paths.geometry))


def least_hiding_mm(
    case: Case,
    layers_mm: tuple[tuple[Powder, float], ...],
    *,
    coat: Powder | None = None,
    limit: float = PERCEPTIBLE_DELTA_E00,
) -> float | None:
    """Least thickness, mm, of a hiding coat under these layers so that the stump does not show, or None.

    layers_mm : (powder, mm) from the core outward; their sum is the room, which stays
    coat      : the coat, or None for the most hiding one of the case
    limit     : CIEDE2000 between this stump and an ordinary one that counts as hidden; below 0.8 half of
                observers see no difference (Paravina et al. 2015, J Esthet Restor Dent 27 S1:S1)
    returns   : 0 where nothing is needed beyond what the layers hold of other powders; None where it cannot
                be hidden in this room with this coat
    raises    : BadInput when there is no coat
    """
    powders = tuple(powder for powder, _ in layers_mm)
    thickness = np.array([[mm for _, mm in layers_mm]])
    geometry = case.target.geometry
    found = least_hiding_at(case, powders, thickness, geometry=geometry, coat=coat, limit=limit)
    if coat is None and coat_of(case) is None and np.isnan(found[0]):
        raise BadInput("the case has no liner, opaque or opaque dentine that could hide the stump")
    return None if np.isnan(found[0]) else float(found[0])


def least_hiding_at(
    case: Case,
    powders: tuple[Powder, ...],
    thickness_mm: Floats,
    *,
    geometry: str,
    coat: Powder | None = None,
    limit: float = PERCEPTIBLE_DELTA_E00,
) -> Floats:
    """(p,) least_hiding_mm() at many points; NaN where it cannot be hidden.

    powders, thickness_mm : m, and (p, m) of each from the core outward
    method : the coat takes its room from dentine first and then from the layers outside, which keep the
             least dentine and enamel of the case where they have it; the least coat that hides is looked for
             from thin to thick in steps and then by halving, and is at least what its card calls the
             thinnest layer that works
    """
    ordinary = _ordinary(case, geometry)
    ground = ground_of(case, geometry=geometry)
    chosen = coat if coat is not None else coat_of(case)
    if chosen is None:
        bare = Paths(tuple(p.optics for p in powders), thickness_mm, ground, geometry)
        return np.where(_differences(bare, ordinary) < limit, 0.0, np.nan)
    names = [powder.name for powder in powders]
    if chosen.name not in names:
        powders = (chosen, *powders)
        thickness_mm = np.hstack([np.zeros((len(thickness_mm), 1)), thickness_mm])
        names.insert(0, chosen.name)
    place = names.index(chosen.name)
    optics = tuple(powder.optics for powder in powders)

    def hidden(coat_mm: Floats, which: Mask) -> Mask:
        given = _given(case, powders, thickness_mm[which], place=place, coat_mm=coat_mm)
        return np.asarray(_differences(Paths(optics, given, ground, geometry), ordinary) < limit)

    most = _most(case, powders, thickness_mm, place)
    found = _least(hidden, most)
    return np.where(found > 0, np.maximum(found, np.minimum(chosen.least_mm.value, most)), found)


def _least(hidden: Callable[[Floats, Mask], Mask], most: Floats) -> Floats:
    """(p,) least amount up to most at which hidden() holds, NaN where it does not."""
    low, high = np.zeros_like(most), np.full_like(most, np.nan)
    for step in np.linspace(0.0, 1.0, _SCAN):
        left = np.isnan(high)
        if not left.any():
            break
        amount = step * most[left]
        done = hidden(amount, left)
        at = np.flatnonzero(left)
        high[at[done]] = amount[done]
        low[at[~done]] = amount[~done]
    for _ in range(_HALVINGS):
        left = ~np.isnan(high) & (high > 0)
        if not left.any():
            break
        middle = 0.5 * (low[left] + high[left])
        done = hidden(middle, left)
        high[left] = np.where(done, middle, high[left])
        low[left] = np.where(done, low[left], middle)
    return high


def _most(case: Case, powders: tuple[Powder, ...], thickness_mm: Floats, place: int) -> Floats:
    """(p,) mm the coat may have at most: what it has and what the others can give."""
    return np.asarray(thickness_mm[:, place] + _spare(case, powders, thickness_mm, place).sum(axis=1))


def _spare(case: Case, powders: tuple[Powder, ...], thickness_mm: Floats, place: int) -> Floats:
    """(p, m) mm each layer can give: all but its share of the least dentine and the least enamel."""
    spare = np.zeros_like(thickness_mm)
    inner = np.array([powder.role in _GIVES_FIRST for powder in powders])
    inner[place] = False
    outer = np.array([powder.role not in _GIVES_FIRST for powder in powders])
    for group, least in ((inner, case.limits.least_dentine_mm), (outer, case.limits.least_enamel_mm)):
        whole = thickness_mm[:, group].sum(axis=1, keepdims=True)
        share = np.clip(1.0 - least / np.maximum(whole, 1e-9), 0.0, 1.0)
        spare[:, group] = share * thickness_mm[:, group]
    return spare


def _given(
    case: Case, powders: tuple[Powder, ...], thickness_mm: Floats, *, place: int, coat_mm: Floats
) -> Floats:
    """(p, m) the layers with the coat at coat_mm and the sum kept: dentine gives first, then the outside."""
    spare = _spare(case, powders, thickness_mm, place)
    inner = np.array([powder.role in _GIVES_FIRST for powder in powders])
    change = coat_mm - thickness_mm[:, place]
    result = thickness_mm.copy()
    need = np.maximum(change, 0.0)
    for group in (inner, ~inner):
        room = spare[:, group].sum(axis=1)
        taken = np.minimum(need, room)
        result[:, group] -= (taken / np.maximum(room, 1e-12))[:, None] * spare[:, group]
        need = need - taken
    others = np.flatnonzero(np.arange(len(powders)) != place)
    if len(others):
        dentine = others[np.flatnonzero(inner[others])[:1]]
        result[:, dentine[0] if len(dentine) else others[0]] += np.maximum(-change, 0.0)
    result[:, place] = coat_mm
    return np.maximum(result, 0.0)


def _differences(paths: Paths, ordinary: Ground | None) -> Floats:
    if ordinary is None:
        return np.zeros(len(paths.thickness_mm))
    return delta_e00(labs_at(paths), labs_at(replace(paths, ground=ordinary)))


def _ordinary(case: Case, geometry: str) -> Ground | None:
    """The ground over an ordinary stump; None where no stump shows through or none was ordered."""
    if case.core_material.optics is None or case.target.stump is None:
        return None
    return ground_of(case, geometry=geometry, stump=ORDINARY_STUMP)


def _scattering(powder: Powder) -> float:
    optics = powder.optics
    return float(np.interp(MIDDLE_NM, optics.wavelength_nm, optics.scattering_per_mm))
