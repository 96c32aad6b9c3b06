"""The bench sheet on paper: text, type, scale, and the same bytes every time."""

import re
import sys
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "sheet"))

import handmade

from firstbake.files.paper import paper_of
from firstbake.files.paper_callipers import calliper_cells, doubt_words
from firstbake.files.pdf import sheet_pdf
from firstbake.files.picture_words import SIZE, TEXT
from firstbake.files.pictures import plan_pictures
from firstbake.sheet import CalliperRow, bench_mm, write_sheet

PT_PER_MM = 72 / 25.4
A4_MM = (210.0, 297.0)
CALLIPERS_ON_PAPER = (  # group and name of every calliper of the handmade plan, in its order
    ("", "length, labial margin"),
    *(("mesiodistal", f"{third} third") for third in ("cervical", "middle", "incisal")),
    *(("labiopalatal", f"{third} third") for third in ("cervical", "middle", "incisal")),
    ("", "edge, 1.5 mm below"),
    *(("cut-back", name) for name in ("labial middle third", "middle lobe tip")),
    *(("overbuild", name) for name in ("incisal edge", "mesial contact")),
)


@pytest.fixture(scope="module")
def plan():
    return handmade.plan_of("11")


@pytest.fixture(scope="module")
def made(plan):
    return sheet_pdf(write_sheet(plan))


def pages_of(data):
    with pdfium.PdfDocument(data) as document:
        yield from document


def text_of(data):
    found = " ".join(page.get_textpage().get_text_range() for page in pages_of(data))
    return re.sub(r"\s+", " ", found.replace("\u202f", " ").replace("\ufffe", "-"))


def text_objects(data):
    """(font size in pt on paper, left, right edge in pt, font name) of every piece of text."""
    for page in pages_of(data):
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            size = raw.c_float()
            raw.FPDFTextObj_GetFontSize(item.raw, size)
            left, _, right, _ = item.get_bounds()
            yield size.value * abs(item.get_matrix().d), left, right, item.get_font().get_base_name()


def path_points(item):
    """(k, 2) corners of a path on paper, pt."""
    points = []
    for k in range(raw.FPDFPath_CountSegments(item.raw)):
        x, y = raw.c_float(), raw.c_float()
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(item.raw, k), x, y)
        points.append(item.get_matrix().on_point(x.value, y.value))
    return np.array(points)


def test_the_same_sheet_gives_the_same_bytes(plan, made):
    assert sheet_pdf(write_sheet(handmade.plan_of("11"))) == made


def test_it_is_a4_and_a_simple_crown_takes_both_sides_of_one_sheet(made):
    sizes = [page.get_size() for page in pages_of(made)]
    assert len(sizes) == 2
    for width, height in sizes:
        assert (width / PT_PER_MM, height / PT_PER_MM) == pytest.approx(A4_MM, abs=0.1)


def test_it_says_the_tooth_the_sentence_the_grams_and_every_calliper(plan, made):
    text = text_of(made)
    assert "DEMO-A" in text
    assert "11 upper right central incisor" in text
    assert "Room is short in one place: 0.35 mm, distolabial, cervical third." in text
    assert "DEMO: invented case" in text
    assert "the prescribing dentist come first" in text
    for mix in plan.mix:
        assert f"{mix.powder_g:.2f}" in text
        assert f"lay {mix.lay_g:.2f} g" in text
    table = text[text.index("Callipers, mm build to") :]
    for c, (head, name) in zip(plan.callipers, CALLIPERS_ON_PAPER, strict=True):
        assert f" {name} {bench_mm(c.green_mm)}" in table[table.index(head) :], c.name
    assert f"{doubt_words(write_sheet(plan).callipers)}, from packing" in table
    assert "± is one standard deviation" in text
    for head in ("length, labial margin", "mesiodistal", "cut-back", "over the wanted contour"):
        assert head in text
    for programme in plan.firing:
        assert f"{programme.peak_degC:.0f} °C" in text
    assert "ΔE00" in text
    assert "± 1.2" in text


def test_no_type_is_smaller_than_10_pt_and_numbers_to_build_by_are_at_least_14(plan, made):
    sizes = [size for size, *_ in text_objects(made)]
    assert min(sizes) >= 9.99
    assert sum(size >= 13.99 for size in sizes) >= len(plan.callipers) + len(plan.mix)


def test_the_words_in_the_pictures_are_10_pt_on_paper_too(plan):
    shown = [p for p in plan_pictures(plan) if p.on_sheet]
    widths = [
        right - left
        for page in pages_of(sheet_pdf(write_sheet(plan), pictures=shown))
        for left, _, right, _ in (i.get_bounds() for i in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE]))
    ]
    assert len(widths) == len(shown)
    assert min(widths) * TEXT / SIZE[0] >= 9.99


def test_there_is_one_family_of_type(made):
    fonts = {re.sub(r"^[A-Z]{6}\+", "", name) for *_, name in text_objects(made)}
    assert fonts
    assert all(name.startswith("SourceSansPro") for name in fonts)


@pytest.mark.parametrize("code", ["#panic()", "*bold*", "$x$ = `y` \\ @z <w>", "_a_ // b"])
def test_markup_in_a_case_code_is_plain_text(code):
    text = text_of(sheet_pdf(write_sheet(handmade.plan_of("11", code=code, rings=12, around=24))))
    assert code in text


def test_outlines_on_paper_are_five_times_the_tooth(plan, made):
    """The longest lines drawn on page 1 against the mesh: the green contour from the lip, 5:1 and 1:1."""
    local = plan.frame.to_local(plan.green.contour.vertices_mm)
    wide, _, high = np.ptp(local, axis=0)
    pages = pages_of(made)
    page = next(pages)
    boxes = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        boxes.append(np.ptp(path_points(item), axis=0) / PT_PER_MM)
    for scale in (5.0, 1.0):
        near = [np.abs(box - scale * np.array([wide, high])).max() for box in boxes]
        assert min(near) < 0.035 * scale  # the raster of the outline is 0.02 mm on the tooth


def test_many_short_places_and_six_powders_still_stay_on_the_paper():
    data = sheet_pdf(write_sheet(handmade.plan_of("11", thin=8, powders=6)))
    text = text_of(data)
    assert "0.42 mm" in text
    assert "demo-opaque-dentine-4" in text
    for _, left, right, _ in text_objects(data):
        assert left >= 11.5 * PT_PER_MM
        assert right <= (A4_MM[0] - 11.5) * PT_PER_MM
    assert len(list(pages_of(data))) <= 3


def test_a_wide_lower_molar_moves_its_drawings_instead_of_shrinking_them():
    sheet = write_sheet(handmade.plan_of("36", wide=1.4))
    paper = paper_of(sheet, [])
    assert not paper["all_fit"]
    assert all(g["scale"] == 5.0 for g in paper["drawings"])
    text = text_of(sheet_pdf(sheet))
    assert "lower left first molar" in text
    for _, left, right, _ in text_objects(sheet_pdf(sheet)):
        assert left >= 11.5 * PT_PER_MM
        assert right <= (A4_MM[0] - 11.5) * PT_PER_MM


def test_numbers_beside_the_section_do_not_cover_each_other(plan):
    section = paper_of(write_sheet(plan), [])["drawings"][1]
    rows = sorted(m["label_mm"] for m in section["measures"] if m["side"] == "right")
    assert len(rows) >= 4
    assert np.diff(rows).min() >= 6.0


def test_the_template_asks_for_nothing_from_outside():
    template = (Path(__file__).parents[2] / "src/firstbake/files/bench_sheet.typ").read_text(encoding="utf-8")
    assert "@preview" not in template
    assert "http" not in template


def test_callipers_on_paper_are_grouped_and_their_doubt_is_one_sentence():
    def row(letter, name, doubt=0.06, over=False):
        return CalliperRow(letter, name, 8.02, 7.44, 7.31, doubt, over)

    rows = (
        row("A", "height of the mesiobuccal cusp over the buccal margin"),
        row("B", "height of the central fossa over the buccal margin"),
        row("C", "mesiodistal, middle third", 0.21),
        row("D", "mesial contact overbuild", over=True),
    )
    cells = calliper_cells(rows)
    assert [cell["name"] for cell in cells if cell["letter"]] == [
        "mesiobuccal", "fossa, by probe", "mesiodistal, middle third", "over mesial contact",
    ]  # fmt: skip
    assert cells[0] == {"head": "height over buccal margin", "letter": ""}
    assert (cells[1]["green"], cells[1]["fired"], cells[1]["finished"]) == ("8.00", "7.45", "7.30")
    assert (cells[-1]["green"], cells[-1]["fired"]) == ("8.00", "")
    assert doubt_words(rows) == "All ± 0.1, 0.2 at C"
