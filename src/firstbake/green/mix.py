"""How much of each powder and liquid to put on the slab."""

import numpy as np

from firstbake.case import Case
from firstbake.errors import BadCase
from firstbake.green.allowance import extra_of
from firstbake.green.cutback import dentine_row
from firstbake.green.green import Mix
from firstbake.layering import Layers
from firstbake.mesh import Floats
from firstbake.powder import Powder


def mix_of(case: Case, layers: Layers) -> tuple[Mix, ...]:
    """Grams of each powder and millilitres of liquid, in building order.

    placed_g : (fired volume of the layer + its allowance) x fired density; firing keeps the mass, so it is
               the dry powder that must end in the green build
    lay_g    : what is laid on. Dentine is built to full contour before the cut-back, so the green volume of
               the layers outside it is laid in dentine too, and comes off again as cut_off_g
    powder_g : lay_g / (1 - slab waste): the waste is a share of what is mixed, not of what is laid
    raises   : BadCase when the slab waste is not at least 0 and less than 1
    """
    waste = case.allowances.slab_waste
    if not 0 <= waste < 1:
        raise BadCase(f"slab_waste is {waste}; write a share from 0 to less than 1")
    volumes = np.array([layer.volume_mm3 for layer in layers.layers]) + extra_of(case, layers).volumes_mm3
    laid = volumes + _cut_off_mm3(layers, volumes)
    rows = sorted(range(len(volumes)), key=lambda row: layers.layers[row].order)
    return tuple(
        weighed(layers.layers[row].powder, laid_mm3=laid[row], placed_mm3=volumes[row], waste=waste)
        for row in rows
    )


def _cut_off_mm3(layers: Layers, volumes_mm3: Floats) -> Floats:
    """(m,) fired volume of what is carved away again, by layer: dentine in the place of what lies outside."""
    off = np.zeros(len(volumes_mm3))
    if layers.cut_back is not None:
        row = dentine_row(layers)
        factors = np.array([layer.powder.volume_factor for layer in layers.layers])
        off[row] = (factors[row + 1 :] @ volumes_mm3[row + 1 :]) / factors[row]
    return off


def weighed(powder: Powder, *, laid_mm3: float, placed_mm3: float, waste: float) -> Mix:
    """What to weigh of one powder.

    laid_mm3, placed_mm3 : fired volume of what is laid on, and of that what ends in the build
    waste                : share of the mix that stays on the slab, at least 0 and less than 1
    """
    placed, laid = (v * 1e-3 * powder.fired_density_g_per_cm3 for v in (placed_mm3, laid_mm3))
    grams = laid / (1 - waste)
    price = powder.price_per_g
    return Mix(
        powder=powder.name,
        role=powder.role,
        placed_g=float(placed),
        powder_g=float(grams),
        liquid_ml=float(grams * powder.liquid_ml_per_g.value),
        cost=None if price is None else float(grams * price.value),
        currency=powder.currency,
        lay_g=float(laid),
        cut_off_g=float(laid - placed),
    )
