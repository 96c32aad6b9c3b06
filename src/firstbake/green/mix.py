"""How much of each powder and liquid to put on the slab."""

import numpy as np

from firstbake.case import Case
from firstbake.errors import BadCase
from firstbake.green.allowance import extra_of
from firstbake.green.cutback import dentine_row
from firstbake.green.green import Mix
from firstbake.layering import Layers
from firstbake.mesh import Floats


def mix_of(case: Case, layers: Layers) -> tuple[Mix, ...]:
    """Grams of each powder and millilitres of liquid, in building order.

    placed_g  : (fired volume of the layer + its allowance) x fired density; firing keeps the mass, so it is
                the dry powder that must end in the green build
    lay_g     : what is laid on. With a cut-back the dentine is built to full contour first, so it also fills
                the green volume of all that lies outside it; else the same as placed_g
    cut_off_g : lay_g less placed_g
    powder_g  : lay_g / (1 - slab waste): the waste is a share of what is mixed, not of what is laid on
    raises    : BadCase when the slab waste is not at least 0 and less than 1
    """
    waste = case.allowances.slab_waste
    if not 0 <= waste < 1:
        raise BadCase(f"slab_waste is {waste}; write a share from 0 to less than 1")
    fired = np.array([la.volume_mm3 for la in layers.layers]) + extra_of(case, layers).volumes_mm3
    density = np.array([la.powder.fired_density_g_per_cm3 for la in layers.layers])
    placed = fired * 1e-3 * density
    laid = _laid_mm3(layers, fired) * 1e-3 * density
    mixes = []
    for row in sorted(range(len(fired)), key=lambda k: layers.layers[k].order):
        powder = layers.layers[row].powder
        grams = float(laid[row]) / (1 - waste)
        price = powder.price_per_g
        mixes.append(
            Mix(
                powder=powder.name,
                role=powder.role,
                placed_g=float(placed[row]),
                powder_g=grams,
                liquid_ml=grams * powder.liquid_ml_per_g.value,
                cost=None if price is None else grams * price.value,
                currency=powder.currency,
                lay_g=float(laid[row]),
                cut_off_g=float(laid[row] - placed[row]),
            )
        )
    return tuple(mixes)


def _laid_mm3(layers: Layers, fired_mm3: Floats) -> Floats:
    """(m,) fired volume of what is laid on of each powder, mm3; green volumes fill the same green contour.

    A layer of fired volume V outside the dentine takes V f green, f its green over fired volume; dentine
    in its place fires to V f / f_dentine.
    """
    laid = fired_mm3.copy()
    if layers.cut_back is not None:
        row = dentine_row(layers)
        factors = np.array([la.powder.volume_factor for la in layers.layers])
        laid[row] += float((fired_mm3 * factors)[row + 1 :].sum() / factors[row])
    return laid
