"""Stress and structure of every tetrahedron on the way down."""

from dataclasses import dataclass, field

import numpy as np

from firstbake.cooling.linear import EYE, LinearBody, deviator
from firstbake.cooling.setting import kept_share, relaxation_s, structure_after
from firstbake.cooling.solid import Solid
from firstbake.cooling.walled import Walled
from firstbake.fem import Flags, Index
from firstbake.mesh import Floats

_STARTS = 0.02  # share of the shear modulus from which on a step is worth a sum of stresses (chosen by trial)
_SET = 0.999  # share from which on nothing relaxes any more


@dataclass(frozen=True, eq=False)
class Filling:
    """Which material fills each tetrahedron.

    solids : the materials      of : (e,) row in solids
    """

    solids: tuple[Solid, ...]
    of: Index

    def value(self, name: str) -> Floats:
        """(e,) a value of the materials by name, as it stands on Solid."""
        return np.array([getattr(solid, name) for solid in self.solids], dtype=np.float64)[self.of]

    def heat_J_per_mm3K(self, degC: Floats) -> Floats:
        """(e,) heat capacity at temperatures (e,)."""
        found = np.empty(len(self.of))
        for row, solid in enumerate(self.solids):
            mine = self.of == row
            found[mine] = solid.heat_J_per_mm3K(degC[mine])
        return found

    @property
    def glassy(self) -> Flags:
        """(e,) tetrahedra that were melt."""
        return np.array([solid.viscosity is not None for solid in self.solids])[self.of]


@dataclass(eq=False)
class Remembered:
    """State of the tetrahedra, brought on step by step.

    strain, shear_MPa_stress : (e, 3, 3) total strain since the first stress, and deviatoric stress
    pressure_MPa             : (e,) mean stress
    swelling                 : (e,) free linear strain since the first stress
    structural_degC          : (e,)
    """

    body: LinearBody
    filling: Filling
    degC: Floats
    structural_degC: Floats = field(init=False)
    strain: Floats = field(init=False)
    sheared_MPa: Floats = field(init=False)
    pressure_MPa: Floats = field(init=False)
    swelling: Floats = field(init=False)
    begun: bool = False
    all_set: bool = False

    def __post_init__(self) -> None:
        count = len(self.degC)
        self.structural_degC = self.degC.copy()
        self.strain, self.sheared_MPa = np.zeros((count, 3, 3)), np.zeros((count, 3, 3))
        self.pressure_MPa, self.swelling = np.zeros(count), np.zeros(count)
        self._shear, self._bulk = self.filling.value("shear_MPa"), self.filling.value("bulk_MPa")
        self._solid = self.filling.value("expansion_ppm_per_K") * 1e-6
        self._extra = self._solid * (self.filling.value("liquid_ratio") - 1.0)
        self._glassy = self.filling.glassy

    def stepped(self, degC: Floats, step_s: float) -> bool:
        """Bring the state to temperatures (e,) a step later; True when stresses were summed."""
        relaxed = self._relaxation_s(0.5 * (self.degC + degC))
        left, share = kept_share(step_s, relaxed)
        structure = np.where(
            self._glassy, structure_after(self.structural_degC, (self.degC, degC), step_s, relaxed), degC
        )
        if not self.begun:
            if share[self._glassy].max() < _STARTS:
                self.degC, self.structural_degC = degC, structure
                return False
            self._begin()
        swelling = self._solid * (degC - self.degC) + self._extra * (structure - self.structural_degC)
        self._balance(swelling, left, share)
        self.degC, self.structural_degC = degC, structure
        return True

    def _begin(self) -> None:
        """The core counts its temperature from its mean, so that its own gradient is felt from the start."""
        core = ~self._glassy
        if core.any():
            volumes = self.body.volumes_mm3[core]
            self.degC = np.where(core, volumes @ self.degC[core] / volumes.sum(), self.degC)
        self.begun = True

    def _relaxation_s(self, degC: Floats) -> Floats:
        found = np.full(len(degC), np.inf)
        for row, solid in enumerate(self.filling.solids):
            if solid.viscosity is not None:
                mine = self.filling.of == row
                found[mine] = relaxation_s(
                    solid.viscosity, degC[mine], self.structural_degC[mine], shear_MPa=solid.shear_MPa
                )
        return found

    def _balance(self, swelling: Floats, left: Floats, share: Floats) -> None:
        set_now = bool((share[self._glassy] > _SET).all())
        if not (set_now and self.all_set):
            share = np.ones_like(share) if set_now else share
            self.body.factor(self._shear * share, self._bulk)
        elif self.all_set:
            share = np.ones_like(share)
        self.all_set = set_now
        kept = left[:, None, None] * self.sheared_MPa
        imposed = (3 * self._bulk * swelling - self.pressure_MPa)[:, None, None] * EYE - kept
        more = self.body.strain(self.body.displacement_mm(imposed))
        self.sheared_MPa = kept + 2 * (self._shear * share)[:, None, None] * deviator(more)
        self.pressure_MPa = self.pressure_MPa + self._bulk * (np.trace(more, axis1=1, axis2=2) - 3 * swelling)
        self.strain, self.swelling = self.strain + more, self.swelling + swelling

    @property
    def lasting(self) -> Floats:
        """(e, 3, 3) strain that flow and setting leave for good, over the even contraction of the core."""
        core = ~self._glassy
        even = float(self.swelling[core].mean()) if core.any() else 0.0
        flowed = deviator(self.strain) - self.sheared_MPa / (2 * self._shear)[:, None, None]
        return np.asarray(flowed + (self.swelling - even)[:, None, None] * EYE)

    @property
    def stress_MPa(self) -> Floats:
        """(e, 3, 3) stress now."""
        return np.asarray(self.sheared_MPa + self.pressure_MPa[:, None, None] * EYE)


def filled(walled: Walled, veneer: Solid, core: Solid) -> Filling:
    """One porcelain on one core."""
    return Filling((veneer, core), walled.core.astype(np.int64))
