"""Reading CASE.toml with all it names: meshes, cards, sizes."""

import hashlib
import json
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from firstbake.case import Allowances, Case, Limits, NamedSurface
from firstbake.errors import BadCase
from firstbake.files.card_shelf import cards_on_shelf
from firstbake.files.cards import CardKind, find_card, read_core, read_powder
from firstbake.files.case_schema import CaseFile, LandmarksTable, LimitsTable
from firstbake.files.case_target import MeshNote, target_of
from firstbake.files.case_words import sentence_of
from firstbake.files.meshes import read_surface
from firstbake.files.mixed_card import is_mix, named_mix
from firstbake.files.sized_crown import crown_from_sizes
from firstbake.powder import CoreMaterial, Figure, Powder
from firstbake.teeth import Landmarks, Tooth

MM_PER_UNIT = {"um": 1e-3, "mm": 1.0, "cm": 10.0, "inch": 25.4, "m": 1e3}

FAR_LANDMARK_MM = 2.0  # a tap this far outside the contour's box was not made on it (chosen here)

_LIMITS: dict[str, tuple[float, str]] = {
    "least_veneer_mm": (0.6, "common practice: 0.6 to 0.8 mm at least"),
    "least_dentine_mm": (0.3, "common practice"),
    "least_enamel_mm": (0.15, "common practice"),
    "margin_band_mm": (1.0, "common practice: porcelain runs out over the last millimetre"),
}


@dataclass(frozen=True, eq=False)
class LoadedCase:
    """A case with the record of what was read.

    repairs : every change made to a mesh, and every unit found
    inputs  : name as written in the case file -> sha256 of the file's bytes
    """

    case: Case
    repairs: tuple[MeshNote, ...]
    inputs: dict[str, str]


def read_case(path: Path, *, progress: Callable[[str], None] = lambda stage: None) -> LoadedCase:
    """Read a case file and every file it names.

    raises : BadCase, BadCard or BadMesh, each with one sentence: what is wrong, where, what to do
    """
    written, digest = _parse(path)
    inputs = {path.name: digest}
    notes: list[MeshNote] = []
    powders, core = _cards(written, path, inputs, notes=notes)
    shelf = shelf_powders(path, inputs) if written.recipe.choose_from == "shelf" else ()
    progress("reading meshes")
    target = target_of(written.target, path, inputs=inputs, notes=notes)
    tooth = Tooth(written.case.tooth)
    surfaces = _Surfaces(path.parent, written, notes, inputs)
    contour, core_surface, landmarks, doubt = surfaces.crown(tooth)
    assumed = tuple(note.sentence for note in notes if "usual room taken" in note.sentence)
    case = Case(
        code=written.case.code,
        tooth=tooth,
        contour=contour,
        core=core_surface,
        neighbours=surfaces.others("neighbour"),
        opposing=surfaces.others("opposing"),
        core_material=core,
        core_wall_mm=_wall_mm(written, core),
        powders=powders,
        target=target,
        allowances=_allowances(written, core, powders),
        limits=_limits(written.limits, core),
        landmarks=landmarks,
        source="calliper sizes" if written.sizes else "meshes",
        size_doubt_mm=doubt,
        assumed=assumed,
        demo=written.case.demo,
        use_recipe=written.recipe.use,
        shelf=shelf,
    )
    return LoadedCase(case, tuple(notes), inputs)


def _parse(path: Path) -> tuple[CaseFile, str]:
    if path.is_dir():
        raise BadCase(f"{path} is a folder; name the case file in it, for example {path / 'case.toml'}")
    try:
        data = path.read_bytes()
        table = tomllib.loads(data.decode("utf-8"))
    except FileNotFoundError:
        raise BadCase(f"{path} does not exist; name a case file (firstbake demo writes one)") from None
    except OSError as error:
        raise BadCase(f"{path} cannot be read ({(error.strerror or '').lower()})") from error
    except UnicodeDecodeError:
        raise BadCase(f"{path} is not text; a case file is TOML in UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise BadCase(
            f"{path} is not valid TOML: {str(error).lower()}; mend that line "
            "(decimals take a point, text quotes)"
        ) from None
    try:
        written = CaseFile.model_validate_json(json.dumps(table, default=str), strict=True)
    except ValidationError as error:
        raise BadCase(f"{path}: {sentence_of(error, CaseFile)}") from None
    return written, hashlib.sha256(data).hexdigest()


def _cards(
    written: CaseFile, path: Path, inputs: dict[str, str], *, notes: list[MeshNote]
) -> tuple[tuple[Powder, ...], CoreMaterial]:
    def card(name: str, kind: CardKind) -> Path:
        found = find_card(name, kind=kind, beside=path.parent)
        inputs[name] = hashlib.sha256(found.read_bytes()).hexdigest()
        return found

    def powder(name: str) -> Powder:
        if not is_mix(name):
            return read_powder(card(name, "powder"))
        mix = named_mix(name, beside=path.parent)
        inputs.update(mix.inputs)
        notes.append(MeshNote(mix.powder.name, mix.note))
        return mix.powder

    powders = tuple(powder(p.card) for p in written.powders)
    names = [p.name for p in powders]
    twice = sorted({n for n in names if names.count(n) > 1})
    if twice:
        raise BadCase(f'{path}: powder "{twice[0]}" is named twice; name each powder once')
    if not any(p.role == "dentine" for p in powders):
        raise BadCase(
            f"{path}: no powder with the role dentine; a plan needs one, name its card in [[powders]]"
        )
    return powders, read_core(card(written.core.material, "core"))


def shelf_powders(beside: Path, inputs: dict[str, str]) -> tuple[Powder, ...]:
    """Every powder on the shelf that a case file sees, by name; their digests are added to `inputs`.

    raises : BadCard when one cannot be read
    """
    found = sorted(cards_on_shelf("powder", beside=beside).items())
    inputs.update({name: hashlib.sha256(path.read_bytes()).hexdigest() for name, path in found})
    return tuple(read_powder(path) for _, path in found)


class _Surfaces:
    """Reads the surfaces a case names, noting repairs and digests as it goes."""

    def __init__(
        self, folder: Path, written: CaseFile, notes: list[MeshNote], inputs: dict[str, str]
    ) -> None:
        self.folder, self.written, self.notes, self.inputs = folder, written, notes, inputs

    def read(self, name: str, role: str) -> tuple[NamedSurface, str]:
        meshes = self.written.meshes
        found = read_surface(self.folder / name, unit=meshes.unit if meshes else None, role=role)
        self.inputs[name] = found.digest
        self.notes.extend(MeshNote(name, repair.sentence) for repair in found.repairs)
        if meshes and meshes.unit is None:
            self.notes.append(MeshNote(name, f"unit {found.unit}, found from the size"))
        return NamedSurface(name, found.surface), found.unit

    def crown(self, tooth: Tooth) -> tuple[NamedSurface, NamedSurface, Landmarks, float]:
        """Contour, core, landmarks and the doubt of the sizes, mm."""
        if self.written.sizes is not None:
            sized = crown_from_sizes(tooth, self.written.sizes)
            self.notes.extend(MeshNote("[sizes]", note) for note in sized.notes)
            return (
                NamedSurface("[sizes] contour", sized.crown.contour),
                NamedSurface("[sizes] core", sized.crown.core),
                sized.crown.landmarks,
                sized.doubt_mm,
            )
        meshes = self.written.meshes
        if meshes is None:
            raise BadCase("the case has neither [meshes] nor [sizes]")
        contour, unit = self.read(meshes.contour, "contour")
        core, core_unit = self.read(meshes.core, "core")
        if unit != core_unit:
            raise BadCase(
                f"{meshes.contour} looks like {unit} and {meshes.core} like {core_unit}; "
                'write them in one unit, or say which with [meshes] unit = "mm"'
            )
        landmarks = _landmarks(self.written.landmarks, MM_PER_UNIT[unit])
        _refuse_far_landmarks(landmarks, contour)
        return contour, core, landmarks, 0.0

    def others(self, role: str) -> tuple[NamedSurface, ...]:
        meshes = self.written.meshes
        if meshes is None:
            return ()
        names = meshes.neighbours if role == "neighbour" else meshes.opposing
        return tuple(self.read(name, role)[0] for name in names)


def _landmarks(table: LandmarksTable, mm_per_unit: float) -> Landmarks:
    def scaled(point: tuple[float, float, float] | None) -> tuple[float, float, float] | None:
        if point is None:
            return None
        x, y, z = point
        return x * mm_per_unit, y * mm_per_unit, z * mm_per_unit

    return Landmarks(
        incisal_mid_mm=scaled(table.incisal_mid),
        mesial_contact_mm=scaled(table.mesial_contact),
        distal_contact_mm=scaled(table.distal_contact),
        labial_mid_mm=scaled(table.labial_mid),
    )


def _refuse_far_landmarks(landmarks: Landmarks, contour: NamedSurface) -> None:
    low, high = contour.surface.bounds_mm
    for name, point in vars(landmarks).items():
        if point is None:
            continue
        outside = max(max(a - x, x - b, 0.0) for x, a, b in zip(point, low, high, strict=True))
        if outside > FAR_LANDMARK_MM:
            raise BadCase(
                f"the landmark {name.removesuffix('_mm')} lies {outside:.1f} mm outside {contour.name}; "
                "give points in the coordinates and unit of the mesh files"
            )


def _wall_mm(written: CaseFile, core: CoreMaterial) -> float:
    given = written.core.wall_mm or (written.sizes.core_wall_mm if written.sizes else None)
    return core.usual_wall_mm.value if given is None else given


def _allowances(written: CaseFile, core: CoreMaterial, powders: tuple[Powder, ...]) -> Allowances:
    values: dict[str, float] = {}
    sources: dict[str, str] = {}
    body = next(p for p in powders if p.role == "dentine")
    for key in ("grind_off_mm", "contact_mm", "slab_waste"):
        given: float | None = getattr(written.allowances, key)
        cards: list[tuple[str, Figure | None]] = [
            (f"card {body.name}", getattr(body, key)),
            (f"card {core.name}", getattr(core, key)),
        ]
        found = next(((name, figure) for name, figure in cards if figure is not None), None)
        if given is not None:
            values[key], sources[key] = given, "case file"
        elif found is not None and found[1] is not None:
            values[key] = found[1].value
            sources[key] = f"{found[0]} ({found[1].status})"
        else:
            raise BadCase(
                f"no {key} in the case file nor on the cards of {core.name} and {body.name}; "
                f"add [allowances] {key} to the case file"
            )
    return Allowances(**values, sources=sources)


def _limits(table: LimitsTable, core: CoreMaterial) -> Limits:
    defaults = {
        **_LIMITS,
        "most_unsupported_mm": (core.most_unsupported_mm.value, f"card {core.name}"),
    }
    given: dict[str, float | None] = table.model_dump()
    values = {k: v if (v := given[k]) is not None else defaults[k][0] for k in defaults}
    sources = {k: "case file" if given[k] is not None else defaults[k][1] for k in defaults}
    return Limits(**values, sources=sources)
