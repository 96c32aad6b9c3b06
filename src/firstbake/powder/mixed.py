"""A mix of two powders as a powder of its own: each figure worked out from theirs."""

from collections.abc import Callable, Sequence

from firstbake.errors import BadInput
from firstbake.powder.figure import Figure
from firstbake.powder.powder import Optics, Powder

_LOWEST = ("most_bake_degC",)


def mixed_powder(name: str, powders: Sequence[Powder], share: Sequence[float], *, optics: Optics) -> Powder:
    """The powder that a dry mix of powders makes.

    share  : by fired volume, each more than 0, together 1      optics : of the mix (colour.mixed_optics)
    method : every grain keeps its volume and packs as in its own powder: masses, solid and green volumes add
             up (mass balance). Expansion and the other thermal values are means by fired volume (rule of
             mixtures, common practice; the glasses in truth react a little), the highest bake is that of the
             powder that bears least. The role is that of the larger part, the thinnest layer the thicker one
    raises : BadInput when a powder fired before the build is mixed with one that is not
    """
    if len({p.fired_before_the_build for p in powders}) > 1:
        others = sorted({p.role for p in powders if not p.fired_before_the_build})
        raise BadInput(
            f"{name}: liner and opaque are fired before the build, so they cannot be mixed with "
            f"{' or '.join(others)} powder; mix an opaque dentine instead"
        )
    mass = _shared([s * p.fired_density_g_per_cm3 for s, p in zip(share, powders, strict=True)])
    solid = _shared([s * p.fired_relative_density.value for s, p in zip(share, powders, strict=True)])
    largest = max(range(len(powders)), key=lambda k: share[k])
    least = max((p.least_mm for p in powders), key=lambda figure: figure.value)
    price = _mixed([p.price_per_g for p in powders], mass, name)
    currencies = {p.currency for p in powders}
    return Powder(
        name=name,
        role=powders[largest].role,
        demo=any(p.demo for p in powders),
        green_relative_density=_needed(
            [p.green_relative_density for p in powders], solid, name, inverse=True
        ),
        fired_relative_density=_needed(
            [p.fired_relative_density for p in powders], solid, name, inverse=True
        ),
        solid_density_g_per_cm3=_needed([p.solid_density_g_per_cm3 for p in powders], solid, name),
        optics=optics,
        thermal=_thermal(powders, share, name),
        least_mm=least,
        liquid_ml_per_g=_needed([p.liquid_ml_per_g for p in powders], mass, name),
        layer_mm=_mixed([p.layer_mm for p in powders], share, name),
        grind_off_mm=_mixed([p.grind_off_mm for p in powders], share, name),
        contact_mm=_mixed([p.contact_mm for p in powders], share, name),
        slab_waste=_mixed([p.slab_waste for p in powders], mass, name),
        price_per_g=price if len(currencies) == 1 else None,
        currency=currencies.pop() if len(currencies) == 1 else "",
    )


def _shared(parts: Sequence[float]) -> list[float]:
    return [part / sum(parts) for part in parts]


def _thermal(powders: Sequence[Powder], share: Sequence[float], name: str) -> dict[str, Figure]:
    """What every powder has."""
    found = {}
    for key in powders[0].thermal:
        figures = [p.thermal[key] for p in powders if key in p.thermal]
        if len(figures) < len(powders):
            continue
        lowest = key in _LOWEST
        found[key] = (
            min(figures, key=lambda figure: figure.value) if lowest else _needed(figures, share, name)
        )
    return found


def _mixed(figures: Sequence[Figure | None], share: Sequence[float], name: str) -> Figure | None:
    """The mean, None where a powder has no such figure."""
    known = [figure for figure in figures if figure is not None]
    return _needed(known, share, name) if len(known) == len(figures) else None


def _needed(figures: Sequence[Figure], share: Sequence[float], name: str, *, inverse: bool = False) -> Figure:
    """Mean by share; inverse : the mean of 1 / value, as volumes over the same solid add up."""

    def mean(of: Callable[[Figure], float]) -> float:
        if inverse:
            return 1.0 / sum(s / of(f) for s, f in zip(share, figures, strict=True))
        return sum(s * of(f) for s, f in zip(share, figures, strict=True))

    ranged = all(f.low is not None and f.high is not None for f in figures)
    sources = "; ".join(dict.fromkeys(f.source for f in figures))
    value = mean(lambda f: f.value)
    return Figure(
        value,
        figures[0].unit,
        "demo" if any(f.status == "demo" for f in figures) else "fitted",
        f"worked out for the {name} from: {sources}",
        min(value, mean(lambda f: f.low if f.low is not None else f.value)) if ranged else None,
        max(value, mean(lambda f: f.high if f.high is not None else f.value)) if ranged else None,
    )
