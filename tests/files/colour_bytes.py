"""Colour files written by the tests themselves, from known spectra."""

from xml.sax.saxutils import escape, quoteattr

import numpy as np

NM = np.arange(400, 701, 10)


def curve(low: float, span: float, middle_nm: float, nm=NM) -> np.ndarray:
    """A smooth tooth-like reflectance."""
    return low + span / (1 + np.exp(-(np.asarray(nm, dtype=float) - middle_nm) / 30))


def cgats(tables, *, head="", field="SPECTRAL_NM{}", scale=1.0) -> str:
    """tables : list of {name: (31,) fractions}."""
    parts = ["CGATS.17", 'ORIGINATOR "tests, own writer"', head]
    for table in tables:
        parts += [
            f"NUMBER_OF_FIELDS {len(NM) + 1}",
            "BEGIN_DATA_FORMAT",
            "SAMPLE_NAME " + " ".join(field.format(nm) for nm in NM),
            "END_DATA_FORMAT",
            f"NUMBER_OF_SETS {len(table)}",
            "BEGIN_DATA",
        ]
        for name, values in table.items():
            quoted = '"' + name.replace('"', '""') + '"'
            parts.append(quoted + " " + " ".join(f"{v * scale:.6f}" for v in values))
        parts += ["END_DATA", ""]
    return "\n".join(parts)


def cxf(objects, *, geometry="<SphereGeometry>Specular_Excluded</SphereGeometry>", lab=None) -> str:
    """objects : {name: (31,) fractions}; lab : {name: (L, a, b)}."""
    inside = "".join(
        f"<cc:Object Name={quoteattr(name)} Id='o{k}' ObjectType='Standard'><cc:CreationDate>"
        "2026-01-02T03:04:05</cc:CreationDate><cc:ColorValues>"
        "<cc:ReflectanceSpectrum ColorSpecification='s' StartWL='400'>"
        + " ".join(f"{v:.6f}" for v in values)
        + "</cc:ReflectanceSpectrum></cc:ColorValues></cc:Object>"
        for k, (name, values) in enumerate(objects.items())
    )
    inside += "".join(
        f"<cc:Object Name={quoteattr(name)}><cc:ColorValues><cc:ColorCIELab ColorSpecification='s'>"
        f"<cc:L>{v[0]}</cc:L><cc:A>{v[1]}</cc:A><cc:B>{v[2]}</cc:B></cc:ColorCIELab></cc:ColorValues></cc:Object>"
        for name, v in (lab or {}).items()
    )
    tags = geometry.replace("</", "</cc:").replace("<", "<cc:").replace("<cc:/cc:", "</cc:")
    return (
        "<?xml version='1.0' encoding='UTF-8'?><cc:CxF xmlns:cc='urn:own-test'><cc:Resources>"
        f"<cc:ObjectCollection>{inside}</cc:ObjectCollection><cc:ColorSpecificationCollection>"
        "<cc:ColorSpecification Id='s'><cc:TristimulusSpec><cc:Illuminant>D65</cc:Illuminant>"
        "<cc:Observer>2_Degree</cc:Observer></cc:TristimulusSpec><cc:MeasurementSpec><cc:GeometryChoice>"
        f"{tags}</cc:GeometryChoice><cc:WavelengthRange StartWL='400' Increment='10'/>"
        f"<cc:Device><cc:Model>{escape('bench box')}</cc:Model></cc:Device></cc:MeasurementSpec>"
        "</cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>"
    )


def csv_lines(samples, *, mark=",", comma=False, scale=1.0, head="") -> str:
    """A heading of wavelengths, a sample a line."""

    def cell(v: float) -> str:
        text = f"{v * scale:.6f}"
        text = text.replace(".", ",") if comma else text
        return f'"{text}"' if comma and mark == "," else text

    lines = [mark.join(["name", *map(str, NM)])]
    for name, values in samples.items():
        lines.append(mark.join([f'"{name}"', *map(cell, values)]))
    return head + "\n".join(lines) + "\n"


def csv_columns(samples, *, mark=",", comma=False, scale=1.0, head="") -> str:
    """A wavelength a line, a sample a column."""

    def cell(v: float) -> str:
        text = f"{v * scale:.6f}"
        text = text.replace(".", ",") if comma else text
        return f'"{text}"' if comma and mark == "," else text

    lines = [mark.join(["wavelength", *(f'"{name}"' for name in samples)])]
    for k, nm in enumerate(NM):
        lines.append(mark.join([str(nm), *(cell(values[k]) for values in samples.values())]))
    return head + "\n".join(lines) + "\n"
