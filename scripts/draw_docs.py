"""Draw the pictures of the README anew from the demo case; needs the dev packages."""

import shutil
import tempfile
from pathlib import Path

import pypdfium2

from firstbake.cli import main

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
DOTS_PER_INCH = 110


def draw() -> None:
    """Plan the demo case and keep its sheet's pages and the overbuild map as PNG."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "demo"
        if main(["demo", "--out", str(out)]) != 0:
            raise SystemExit("the demo could not be planned; see above")
        pages = pypdfium2.PdfDocument(out / "bench-sheet.pdf")
        for number, page in enumerate(pages, start=1):
            picture = page.render(scale=DOTS_PER_INCH / 72).to_pil()
            picture.convert("P", palette=1, colors=256).save(
                PICTURES / f"bench-sheet-{number}.png", optimize=True
            )
        pages.close()
        shutil.copy(out / "pictures" / "overbuild-labial.png", PICTURES)


if __name__ == "__main__":
    draw()
