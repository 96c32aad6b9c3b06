"""Which of the case's powders make which layer, and which are left on the shelf."""

from dataclasses import dataclass

from firstbake.case import Case
from firstbake.errors import BadCase
from firstbake.powder import Powder, layer_of_role


@dataclass(frozen=True, eq=False)
class Choice:
    """The powder of each role, or None; coats are laid on the core in this order: liner, opaque.

    notes : sentences on powders that are not used, and on what is missing
    """

    dentine: Powder
    enamel: Powder | None
    liner: Powder | None
    opaque: Powder | None
    opaque_dentine: Powder | None
    transparent: Powder | None
    notes: tuple[str, ...]

    @property
    def coats(self) -> tuple[Powder, ...]:
        """Liner and opaque, as far as used, from the core outward."""
        return tuple(p for p in (self.liner, self.opaque) if p is not None)

    @property
    def coats_mm(self) -> float:
        """Thickness of the coats together, mm."""
        return sum(layer_mm(p) for p in self.coats)


def layer_mm(powder: Powder) -> float:
    """Fired thickness of a powder laid as a thin layer, mm: its card's, else what is usual for its role.

    raises : BadCase when neither knows one
    """
    figure = powder.layer_mm or layer_of_role(powder.role)
    if figure is None:
        raise BadCase(f'powder "{powder.name}" has no layer_mm; write one on its card')
    return figure.value


def choose(case: Case) -> Choice:
    """The first powder of each role; all others are reported as not used.

    raises : BadCase when the case has no dentine powder
    """
    notes: list[str] = []
    dentine = _first(case, "dentine", notes)
    if dentine is None:
        raise BadCase(
            "the case has no powder of the role dentine, and dentine fills the veneer; "
            "add one under [[powders]]"
        )
    enamel = _first(case, "enamel", notes)
    transparent = _first(case, "transparent", notes)
    if transparent is not None and enamel is None:
        notes.append(
            f"{transparent.name} is not used: a transparent shares the enamel, "
            "and the case has no enamel powder."
        )
        transparent = None
    opaque = _first(case, "opaque", notes)
    metal = case.core_material.kind == "metal"
    if opaque is not None and not metal:
        notes.append(
            f"{opaque.name} is not used: opaque hides metal, and the core is {case.core_material.kind}."
        )
        opaque = None
    if metal and opaque is None:
        notes.append("The core is metal and the case has no opaque powder: the metal will show through.")
    margin = _first(case, "margin", notes)
    if margin is not None:
        notes.append(
            f"{margin.name} is not used: a shoulder in margin powder is built on the die before the layers, "
            "and this plan starts at the core."
        )
    return Choice(
        dentine=dentine,
        enamel=enamel,
        liner=_first(case, "liner", notes),
        opaque=opaque,
        opaque_dentine=_first(case, "opaque-dentine", notes),
        transparent=transparent,
        notes=tuple(notes),
    )


def _first(case: Case, role: str, notes: list[str]) -> Powder | None:
    powders = case.powders_of(role)
    notes.extend(
        f"{spare.name} is not used: {powders[0].name} is the first {role} powder of the case."
        for spare in powders[1:]
    )
    return powders[0] if powders else None
