"""CxF3 and ISO 17972-1 XML: objects with spectra or CIELAB."""

from collections.abc import Iterator, Sequence
from xml.etree import ElementTree
from xml.parsers import expat

from firstbake.errors import BadInput
from firstbake.files.colour_fields import Numbers, Sample, readings_of
from firstbake.target import Reading

_DEEPEST = 60


def cxf_readings(data: bytes, *, file: str, digest: str) -> tuple[Reading, ...]:
    """Every spectrum and CIELAB colour of every object in the file.

    data   : bytes of the file       file, digest : its name and sha256, kept in each reading
    source : CxF3 core as in ISO 17972-1, element names from memory, unverified; namespaces are left aside.
             Reflectance 1 is 100 % there; a file that goes above 2 is read as percent, and that is noted.
    raises : BadInput for broken XML, a document type or entities (refused before anything is expanded), a
             spectrum without its first wavelength or step
    """
    _refuse_tricks(data, file)
    root = ElementTree.fromstring(data)
    specifications = {node.get("Id", ""): node for node in root.iter() if _name(node) == "ColorSpecification"}
    numbers = Numbers(file)
    samples = [
        sample
        for node in root.iter()
        if _name(node) == "Object"
        for sample in _samples(node, specifications, numbers)
    ]
    if not samples:
        raise BadInput(f"{file} holds no object with a ReflectanceSpectrum or a ColorCIELab")
    _same_lengths(samples, file)
    return readings_of(samples, file=file, digest=digest)


def _same_lengths(samples: Sequence[Sample], file: str) -> None:
    """Spectra that begin at the same wavelength with the same step hold the same number of values."""
    first: dict[tuple[float, ...], Sample] = {}
    for sample in samples:
        other = first.setdefault(tuple(sample.nm[:2]), sample)
        if len(other.nm) != len(sample.nm):
            raise BadInput(
                f'{file}: "{other.said["name"]}" has {len(other.nm)} values and "{sample.said["name"]}" '
                f"{len(sample.nm)} from the same wavelength on; a number is missing or split in one of them"
            )


def _refuse_tricks(data: bytes, file: str) -> None:
    """Walk the file once with expat; a document type, entities and endless nesting end it."""
    depth = 0

    def begin(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise BadInput(f"{file} nests deeper than any colour file; it was not read")

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1

    def refuse(*_: object) -> None:
        raise BadInput(
            f"{file} brings a document type or entities of its own; take them out, colours need none"
        )

    parser = expat.ParserCreate(namespace_separator="}")  # as ElementTree does, so that it fails on the same
    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    parser.StartElementHandler = begin
    parser.EndElementHandler = end
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        raise BadInput(
            f"{file}, line {error.lineno}: not valid XML ({expat.ErrorString(error.code)}); export it again"
        ) from None
    except (LookupError, ValueError):
        raise BadInput(f"{file} is written in an encoding that is not known; save it as UTF-8") from None


def _name(node: ElementTree.Element) -> str:
    return node.tag.rsplit("}", 1)[-1]


def _text(node: ElementTree.Element | None, wanted: str) -> str:
    """Text of the first element of that name below a node, with that of its own children."""
    if node is None:
        return ""
    found = next((n for n in node.iter() if _name(n) == wanted), None)
    return "" if found is None else " ".join(" ".join(found.itertext()).split())


def _samples(
    node: ElementTree.Element, specifications: dict[str, ElementTree.Element], numbers: Numbers
) -> Iterator[Sample]:
    name = node.get("Name") or node.get("Id") or ""
    date = _text(node, "CreationDate")
    spectra = [n for n in node.iter() if _name(n) == "ReflectanceSpectrum"]
    labs = [n for n in node.iter() if _name(n) == "ColorCIELab"]
    lone = len(spectra) == 1 and len(labs) == 1
    paired = lone and spectra[0].get("ColorSpecification") == labs[0].get("ColorSpecification")
    for spectrum in spectra:
        key = spectrum.get("ColorSpecification", "")
        specification = _specification(key, specifications, numbers.what, name)
        nm, values = _spectrum(spectrum, specification, numbers, name)
        lab = _lab(labs[0], numbers, name) if paired else None
        yield Sample(nm, values, lab, {"name": name, "date": date, **_said(specification)})
    if spectra:
        return
    for one in labs:
        specification = _specification(one.get("ColorSpecification", ""), specifications, numbers.what, name)
        lab = _lab(one, numbers, name)
        yield Sample(lab=lab, said={"name": name, "date": date, **_said(specification)})


def _specification(
    key: str, known: dict[str, ElementTree.Element], file: str, name: str
) -> ElementTree.Element | None:
    if key and key not in known:
        raise BadInput(f'{file}, object "{name}": its ColorSpecification "{key}" is not in the file')
    return known.get(key)


def _spectrum(
    node: ElementTree.Element, specification: ElementTree.Element | None, numbers: Numbers, name: str
) -> tuple[tuple[float, ...], list[float]]:
    where = f'object "{name}"'
    ranges = (
        [] if specification is None else [n for n in specification.iter() if _name(n) == "WavelengthRange"]
    )
    places = [node, *ranges]
    first = next((t for p in places if (t := p.get("StartWL"))), None)
    step = next((t for p in places if (t := p.get("Increment"))), None)
    if first is None or step is None:
        missing = "StartWL" if first is None else "Increment"
        raise BadInput(f"{numbers.what}, {where}: the spectrum does not say its {missing}; add it")
    values = [numbers.number(cell, where) for cell in " ".join(node.itertext()).split()]
    start_nm, step_nm = numbers.number(first, where), numbers.number(step, where)
    if step_nm <= 0:
        raise BadInput(f"{numbers.what}, {where}: the Increment should be greater than 0, got {step_nm:g}")
    return tuple(start_nm + k * step_nm for k in range(len(values))), values


def _lab(node: ElementTree.Element, numbers: Numbers, name: str) -> tuple[float, float, float]:
    lightness, a, b = (numbers.number(_text(node, axis), f'object "{name}", {axis}') for axis in "LAB")
    return lightness, a, b


def _said(specification: ElementTree.Element | None) -> dict[str, str]:
    """The conditions in a ColorSpecification, in our words."""
    if specification is None:
        return {}
    geometry = _text(specification, "GeometryChoice")
    light, eye = _text(specification, "IlluminationAngle"), _text(specification, "MeasurementAngle")
    if light and eye:
        geometry = f"{_whole(light)}/{_whole(eye)}"
    elif _text(specification, "SphereGeometry"):
        geometry = f"d/8 {geometry.replace('_', ' ')}"
    said = {
        "geometry": geometry,
        "light": _text(specification, "Illuminant"),
        "observer": _text(specification, "Observer"),
        "backing": _text(specification, "Backing"),
        "aperture": _text(specification, "Aperture"),
        "instrument": _text(specification, "Device"),
        "averaging": _text(specification, "NumberOfMeasurements") or _text(specification, "Averaging"),
    }
    return {word: text for word, text in said.items() if text}


def _whole(angle: str) -> str:
    """ "45" from "45.0"; other text as it is."""
    head, _, tail = angle.partition(".")
    return head if head.isdigit() and not tail.strip("0") else angle
