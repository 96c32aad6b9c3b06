"""What is asked of a recipe: zones with their targets and room, and the powders it may use."""

from dataclasses import dataclass

from firstbake.colour import LowerEnd
from firstbake.powder import Optics

Lab = tuple[float, float, float]

#: Roles that can make up a veneer, from the core outward; margin powder is built on the die and left out.
SLOTS = ("liner", "opaque", "opaque-dentine", "dentine", "enamel", "transparent")
#: Coats that lie on the core and end with it: they are not part of a free edge.
ON_CORE = ("liner", "opaque", "opaque-dentine")
#: Roles that lie on both sides of the dentine at a free edge, from the back of the tooth inward.
OUTSIDE = ("transparent", "enamel")
DENTINE = SLOTS.index("dentine")


@dataclass(frozen=True, eq=False)
class Ingredient:
    """One powder as the search sees it.

    role               : one of SLOTS
    least_mm, most_mm  : fired thickness within practical limits, mm, in every zone that has this powder
    may_miss           : True where a zone may do without it although the recipe has it
    """

    name: str
    role: str
    optics: Optics
    least_mm: float
    most_mm: float
    may_miss: bool = False


@dataclass(frozen=True, eq=False)
class PowderSet:
    """The powders of one recipe, one of a role, dentine always among them; in the order of SLOTS."""

    ingredients: tuple[Ingredient, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names from the core outward."""
        return tuple(i.name for i in self.ingredients)

    def of(self, role: str) -> Ingredient | None:
        """The powder of that role, or None."""
        return next((i for i in self.ingredients if i.role == role), None)


@dataclass(frozen=True, eq=False)
class Asked:
    """One zone: what colour, in how much room, over what.

    zone     : "cervical", "body" or "incisal"
    target   : CIELAB, D65, 2 degrees
    room_mm  : total thickness of the porcelain, mm; all of it is filled
    end      : what lies under the porcelain: the core with all that is under it, or the open mouth
    ordinary : the same over an ordinary stump, where a stump shows through and was ordered; else None
    free     : True where the back is open, so that enamel and transparent lie on both sides
               and no coat is on a core
    back_share : share of enamel and transparent that lies behind the dentine at a free edge, unit 1
    """

    zone: str
    target: Lab
    room_mm: float
    end: LowerEnd
    ordinary: LowerEnd | None = None
    free: bool = False
    back_share: float = 0.0
