"""A typst template and its words made into PDF: A4, vector, the same bytes every time, no network."""

import json
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from firstbake.errors import BadSum
from firstbake.files.fonts import FACES, face_bytes


def typeset(template: str, data: object, *, inside: Mapping[str, bytes]) -> bytes:
    """PDF/UA-1 (tagged, with alternative texts) of a template.

    template : name of the template among the files `inside`
    data     : travels as JSON beside the template, so nothing in it can act as markup
    raises   : BadSum when the template cannot be set
    """
    import typst

    words = json.dumps(data, ensure_ascii=False, allow_nan=False)
    with TemporaryDirectory() as folder:
        for name, content in {**inside, **{f"{face}.ttf": face_bytes(face) for face in FACES}}.items():
            Path(folder, name).write_bytes(content)
        try:
            made: bytes = typst.compile(
                str(Path(folder, template)),
                root=folder,
                font_paths=[folder],
                ignore_system_fonts=True,
                sys_inputs={"data": words},
                pdf_standards=["ua-1"],
                timestamp=0,
            )
        except typst.TypstError as error:
            raise BadSum(f"the sheet could not be set: {error.message}") from error
    return made
