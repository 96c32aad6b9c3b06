"""Materials for the firing tests, made here without any file."""

from collections.abc import Callable
from typing import Any

import pytest

from firstbake.powder import CoreMaterial, Figure, Powder, parametric_optics


def figure(value: float, unit: str = "1", low: float | None = None, high: float | None = None) -> Figure:
    return Figure(value, unit, "demo", "test", low, high)


@pytest.fixture
def powder() -> Callable[..., Powder]:
    def make(
        role: str, *, bake_degC: float | None = 905.0, expansion: float = 13.6, transition_degC: float = 585.0
    ) -> Powder:
        thermal = {
            "expansion_ppm_per_K": figure(expansion, "1e-6/K"),
            "glass_transition_degC": figure(transition_degC, "degC"),
        }
        if bake_degC is not None:
            thermal["first_bake_degC"] = figure(bake_degC, "degC", bake_degC - 10.0, bake_degC + 15.0)
        return Powder(
            name=f"my-{role}",
            role=role,
            demo=True,
            green_relative_density=figure(0.6),
            fired_relative_density=figure(0.97),
            solid_density_g_per_cm3=figure(2.45, "g/cm3"),
            optics=parametric_optics(3.0, 0.9, 0.04, 1.0),
            thermal=thermal,
            least_mm=figure(0.3, "mm"),
            liquid_ml_per_g=figure(0.27, "ml/g"),
        )

    return make


@pytest.fixture
def core() -> Callable[..., CoreMaterial]:
    def make(kind: str, *, expansion: float = 14.4, **more: Any) -> CoreMaterial:
        thermal = {"expansion_ppm_per_K": figure(expansion, "1e-6/K"), **more.pop("thermal", {})}
        return CoreMaterial(
            name=f"my-{kind}",
            kind=kind,
            demo=True,
            least_wall_mm=figure(0.3, "mm"),
            usual_wall_mm=figure(0.5, "mm"),
            most_unsupported_mm=figure(2.0, "mm"),
            thermal=thermal,
            optics=None,
            reflectance_nm=None,
            reflectance=None,
            **more,
        )

    return make
