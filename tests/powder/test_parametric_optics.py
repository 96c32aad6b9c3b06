"""Optics from five numbers."""

import numpy as np
import pytest

from firstbake.errors import BadCard
from firstbake.powder import parametric_optics


def test_the_numbers_stand_where_the_form_says() -> None:
    # at 550 nm scattering is S550; at 400 nm the blue band is whole; at 530 nm the pink band is whole
    optics = parametric_optics(3.0, 0.9, 0.04, 1.1, kg_per_mm=0.2, source="invented for this test")
    at = {nm: int(np.flatnonzero(optics.wavelength_nm == nm)[0]) for nm in (400, 530, 550, 700)}
    assert optics.wavelength_nm[0] == 400
    assert optics.wavelength_nm[-1] == 700
    assert len(optics.wavelength_nm) == 31
    assert optics.scattering_per_mm[at[550]] == pytest.approx(3.0)
    assert optics.scattering_per_mm[at[400]] == pytest.approx(3.0 * (550 / 400) ** 0.9)
    assert optics.absorption_per_mm[at[400]] == pytest.approx(
        0.04 + 1.1 + 0.2 * np.exp(-0.5 * (130 / 45) ** 2)
    )
    assert optics.absorption_per_mm[at[530]] == pytest.approx(0.04 + 1.1 * np.exp(-130 / 60) + 0.2)
    assert not optics.scattering_per_mm.flags.writeable


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"s550_per_mm": -1.0}, "s550_per_mm"),
        ({"kb_per_mm": float("nan")}, "kb_per_mm"),
        ({"p": float("inf")}, "p is inf"),
        ({"index": 0.8}, "at least 1"),
        ({"status": "guessed"}, "guessed"),
        ({"source": " "}, "source"),
    ],
)
def test_wrong_numbers_are_refused_by_name(change: dict, sentence: str) -> None:
    numbers = {"s550_per_mm": 3.0, "p": 0.9, "k0_per_mm": 0.04, "kb_per_mm": 1.1, "source": "test", **change}
    with pytest.raises(BadCard, match=sentence):
        parametric_optics(**numbers)
