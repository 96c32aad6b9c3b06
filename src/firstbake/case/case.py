"""Case: everything the plan is made from, as values."""

from dataclasses import dataclass, field

from firstbake.mesh import Surface
from firstbake.powder import CoreMaterial, Powder
from firstbake.teeth import Landmarks, Tooth

Lab = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class NamedSurface:
    """A surface and the file (or source) it came from."""

    name: str
    surface: Surface


@dataclass(frozen=True)
class Target:
    """Wanted colours, CIELAB, D65, 2° observer; any may be None when the order does not give it.

    geometry        : how all of them were looked at, one of colour.GEOMETRIES
    reflectance     : zone (or "stump") -> (31,) on 400 to 700 nm at 10 nm, where a spectrum was given
    doubt_delta_e00 : zone -> one standard deviation of the reading, as its file tells it and with what a
                      change of geometry adds; no entry where neither is known
    notes           : zone -> what was assumed or converted in reading it, in words
    """

    cervical: Lab | None = None
    body: Lab | None = None
    incisal: Lab | None = None
    stump: Lab | None = None
    geometry: str = "45/0"
    reflectance: dict[str, tuple[float, ...]] = field(default_factory=dict)
    doubt_delta_e00: dict[str, float] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Allowances:
    """What is added on top of shrinkage.

    grind_off_mm : extra fired porcelain over the whole contour that grinding will take away, mm
    contact_mm   : extra fired porcelain at each contact, mm
    slab_waste   : share of mixed powder that stays on the slab, unit 1
    sources      : name -> where the value came from ("case file", "card demo-dentine-1", ...)
    """

    grind_off_mm: float
    contact_mm: float
    slab_waste: float
    sources: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Limits:
    """Limits for room and layers, mm fired; each may be set per case.

    least_veneer_mm      : thinnest porcelain that is not reported as thin
    most_unsupported_mm  : thickest porcelain that is not reported as unsupported
    least_dentine_mm, least_enamel_mm : what the cut-back keeps
    margin_band_mm       : within this distance of the margin the porcelain runs out and is not "thin"
    sources              : name -> source in words
    """

    least_veneer_mm: float
    most_unsupported_mm: float
    least_dentine_mm: float
    least_enamel_mm: float
    margin_band_mm: float
    sources: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Case:
    """One crown to plan.

    contour, core : the wanted outer contour and the outer surface of the core, same coordinates, mm
    core_wall_mm  : wall thickness of this core, mm (decides how the stump shows through)
    source        : "meshes" or "calliper sizes"
    assumed       : what was not measured and is taken as usual, in words
    size_doubt_mm : one standard deviation of every length that comes from calliper sizes; 0 for meshes
    use_recipe    : the plan lays the recipe that is found for the targets instead of the usual layers
    shelf         : further powders a recipe may choose from; empty when it keeps to the case's own
    """

    code: str
    tooth: Tooth
    contour: NamedSurface
    core: NamedSurface
    neighbours: tuple[NamedSurface, ...]
    opposing: tuple[NamedSurface, ...]
    core_material: CoreMaterial
    core_wall_mm: float
    powders: tuple[Powder, ...]
    target: Target
    allowances: Allowances
    limits: Limits
    landmarks: Landmarks
    source: str = "meshes"
    size_doubt_mm: float = 0.0
    assumed: tuple[str, ...] = ()
    demo: bool = False
    use_recipe: bool = False
    shelf: tuple[Powder, ...] = ()

    def powders_of(self, role: str) -> tuple[Powder, ...]:
        """The case's powders of one role, in the order of the case file."""
        return tuple(p for p in self.powders if p.role == role)
