"""Powders mixed: shares by volume, and the optics of the mix with what a fired mixed tab taught."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour.optics_doubt import UNMEASURED_SHARE
from firstbake.colour.spectrum import grid_nm, on_grid
from firstbake.errors import BadInput
from firstbake.powder import Optics

Floats = NDArray[np.float64]

#: A correction factor beyond this says that the tab is not the mix that was named (chosen here).
LARGEST_FACTOR = 3.0
_LEAST_PER_MM = 1e-6


@dataclass(frozen=True, eq=False)
class MixCorrection:
    """What one fired mixed tab teaches about mixing these powders.

    names  : of the powders        share : volume share of each in the tab, together 1
    absorption_factor, scattering_factor : (31,) measured over straight sum, at that mix
    source : where it comes from
    """

    names: tuple[str, ...]
    share: tuple[float, ...]
    absorption_factor: Floats
    scattering_factor: Floats
    source: str


def volume_shares(mass_g: ArrayLike, density_g_per_cm3: ArrayLike) -> Floats:
    """(n,) share of the fired volume of each powder: (m / rho) over the sum of all.

    mass_g : (n,) at least 0, dry      density_g_per_cm3 : (n,) fired, more than 0
    raises : BadInput on a negative mass, a density of 0, or no mass at all
    """
    mass = np.asarray(mass_g, dtype=np.float64)
    density = np.asarray(density_g_per_cm3, dtype=np.float64)
    sound = np.isfinite(mass).all() and np.isfinite(density).all()
    if not sound or mass.shape != density.shape or (mass < 0).any() or (density <= 0).any():
        raise BadInput("a mix needs one mass of at least 0 g and one density over 0 g/cm3 for each powder")
    volume = mass / density
    if volume.sum() <= 0:
        raise BadInput("the mix has no mass; give the grams of each powder")
    return np.asarray(volume / volume.sum())


def mixed_optics(
    optics: Sequence[Optics],
    share: ArrayLike,
    *,
    names: Sequence[str] = (),
    corrections: Sequence[MixCorrection] = (),
) -> Optics:
    """Optics of a mix, 400 to 700 nm at 10 nm.

    optics, share : of n powders; share (n,) by fired volume, at least 0, together 1
    names         : of the powders, needed to find the corrections that belong to them
    corrections   : from fired mixed tabs
    formula : K = sum c K, S = sum c S (linear by volume, as found for pigmented elastomers: Ma, Johnston &
              Koran 1987, J Dent Res 66:1438). A corrected tab of shares t counts with the weight
              w = min(c / t) over its powders: that part of the mix can be made of the tab's own mix, the rest
              stays a straight sum. So w is 1 at the tab's mix, 0 for pure powders and the correction never
              grows beyond what was measured (chosen here). Of several tabs the one with the largest w counts
    doubt   : where all powders have standard deviations, theirs as squares, and 10 % of the part that no tab
              corrects for the straight sum itself (chosen here). A straight sum of measured powders is
              "fitted", not "measured"
    raises  : BadInput when shares and powders don't match
    """
    shares = np.asarray(share, dtype=np.float64)
    if shares.shape != (len(optics),) or not (shares >= 0).all() or abs(shares.sum() - 1) > 1e-6:
        raise BadInput("a mix needs one share of at least 0 for each powder, together 1")
    absorption = np.array([on_grid(o.wavelength_nm, o.absorption_per_mm, what="absorption") for o in optics])
    scattering = np.array([on_grid(o.wavelength_nm, o.scattering_per_mm, what="scattering") for o in optics])
    k, s = shares @ absorption, shares @ scattering
    weight, best = part_corrected(names, shares, corrections) if names else (0.0, None)
    source = "mixed by volume share from: " + "; ".join(dict.fromkeys(o.source for o in optics))
    if best is not None:
        rows = [list(names).index(name) for name in best.names]
        tab = np.array(best.share)
        k = k + weight * (best.absorption_factor - 1.0) * (tab @ absorption[rows])
        s = s + weight * (best.scattering_factor - 1.0) * (tab @ scattering[rows])
        source += f"; corrected by {best.source}"
    guessed = 1.0 - weight if np.count_nonzero(shares) > 1 else 0.0
    index = float(shares @ np.array([o.index for o in optics]))
    k, s = np.maximum(k, 0.0), np.maximum(s, 0.0)
    sds = (
        _mixed_sd([o.absorption_sd_per_mm for o in optics], optics, shares, UNMEASURED_SHARE * guessed * k),
        _mixed_sd([o.scattering_sd_per_mm for o in optics], optics, shares, UNMEASURED_SHARE * guessed * s),
    )
    return Optics(grid_nm(), k, s, index, _status(optics, guessed > 1e-9), source, *sds)


def correction_from_tab(
    measured: Optics,
    optics: Sequence[Optics],
    share: ArrayLike,
    *,
    names: Sequence[str],
) -> MixCorrection:
    """The correction that one fired mixed tab of known shares gives.

    measured : optics identified from the mixed tab      optics, share, names : of its powders
    raises   : BadInput when the tab lies so far from the straight sum that it can't be that mix
    """
    straight = mixed_optics(optics, share)
    k = on_grid(measured.wavelength_nm, measured.absorption_per_mm, what="absorption")
    s = on_grid(measured.wavelength_nm, measured.scattering_per_mm, what="scattering")
    factors = []
    for what, found, sum_of in (
        ("absorption", k, straight.absorption_per_mm),
        ("scattering", s, straight.scattering_per_mm),
    ):
        factor = np.where(sum_of > _LEAST_PER_MM, found / np.maximum(sum_of, _LEAST_PER_MM), 1.0)
        middle = float(np.median(factor))
        if not 1.0 / LARGEST_FACTOR <= middle <= LARGEST_FACTOR:
            raise BadInput(
                f"the mixed tab's {what} is {middle:.2g} times that of the straight sum; that is not this "
                "mix, check the powders and their grams"
            )
        factors.append(np.clip(factor, 1.0 / LARGEST_FACTOR, LARGEST_FACTOR))
    shares = tuple(float(v) for v in np.asarray(share, dtype=np.float64))
    return MixCorrection(tuple(names), shares, factors[0], factors[1], measured.source)


def part_corrected(
    names: Sequence[str], share: ArrayLike, corrections: Sequence[MixCorrection]
) -> tuple[float, MixCorrection | None]:
    """The correction that can make up most of a mix, and that part, 0 to 1; see mixed_optics()."""
    shares = dict(zip(names, np.asarray(share, dtype=np.float64).tolist(), strict=True))
    best: tuple[float, MixCorrection | None] = (0.0, None)
    for one in corrections:
        parts = [
            shares.get(name, 0.0) / part for name, part in zip(one.names, one.share, strict=True) if part > 0
        ]
        weight = min(parts, default=0.0)
        if weight > best[0]:
            best = (min(weight, 1.0), one)
    return best


def _mixed_sd(
    sds: Sequence[Floats | None], optics: Sequence[Optics], shares: Floats, of_sum: Floats
) -> Floats | None:
    """(31,) standard deviation of the sum, or None where a powder has none; of_sum : that of the law."""
    known = [
        on_grid(o.wavelength_nm, sd, what="a standard deviation")
        for o, sd in zip(optics, sds, strict=True)
        if sd is not None
    ]
    if len(known) < len(sds):
        return None
    return np.asarray(np.sqrt(((shares[:, None] * np.array(known)) ** 2).sum(axis=0) + of_sum**2))


def _status(optics: Sequence[Optics], guessed: bool) -> str:
    """A mix is "demo" as soon as one powder is, and "measured" where the powders and the mix are."""
    kinds = {o.status for o in optics}
    if "demo" in kinds:
        return "demo"
    return "fitted" if len(kinds) > 1 or (guessed and "measured" in kinds) else kinds.pop()
