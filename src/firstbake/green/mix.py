"""How much of each powder and liquid to put on the slab."""

from firstbake.case import Case
from firstbake.errors import BadCase
from firstbake.green.allowance import extra_of
from firstbake.green.green import Mix
from firstbake.layering import Layers


def mix_of(case: Case, layers: Layers) -> tuple[Mix, ...]:
    """Grams of each powder and millilitres of liquid, in building order.

    placed_g : (fired volume of the layer + its allowance) x fired density; firing keeps the mass, so it is
               the dry powder that must end in the green build
    powder_g : placed_g / (1 - slab waste): the waste is a share of what is mixed, not of what is placed
    raises   : BadCase when the slab waste is not at least 0 and less than 1
    """
    waste = case.allowances.slab_waste
    if not 0 <= waste < 1:
        raise BadCase(f"slab_waste is {waste}; write a share from 0 to less than 1")
    extra = extra_of(case, layers)
    rows = sorted(zip(layers.layers, extra.volumes_mm3.tolist(), strict=True), key=lambda pair: pair[0].order)
    mixes = []
    for layer, added in rows:
        powder = layer.powder
        placed = (layer.volume_mm3 + added) * 1e-3 * powder.fired_density_g_per_cm3
        grams = placed / (1 - waste)
        price = powder.price_per_g
        mixes.append(
            Mix(
                powder=powder.name,
                role=powder.role,
                placed_g=placed,
                powder_g=grams,
                liquid_ml=grams * powder.liquid_ml_per_g.value,
                cost=None if price is None else grams * price.value,
                currency=powder.currency,
            )
        )
    return tuple(mixes)
