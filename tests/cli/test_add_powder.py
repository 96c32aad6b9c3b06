"""firstbake shelf add-powder, add-mix and tab-sheet from the command line."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest

from firstbake.cli import main
from firstbake.colour import lab_from_reflectance, mixed_optics
from firstbake.files import mixes_on_shelf, read_powder, tab_sheet_pdf
from firstbake.powder import parametric_optics

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))
from tab_text import columns, text_of

LIKE = ["--like", "demo-dentine-2"]


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FIRSTBAKE_SHELF", str(tmp_path / "own"))
    Path("tabs.csv").write_text(text_of(columns(noise=1)), "utf-8")
    return tmp_path


def add(*words, file="tabs.csv"):
    return main(["shelf", "add-powder", file, *words])


def test_a_card_is_written_that_reads_back_with_its_source_and_doubt(bench, capsys):
    assert add(*LIKE, "--shelf", "shelf") == 0
    card = read_powder(Path("shelf/powders/my powder.toml"))
    true = parametric_optics(3.0, 0.9, 0.0411, 1.0946)
    optics = card.optics
    assert optics.status == "measured"
    assert optics.source.startswith("measured here, tabs.csv, 2026-03-01; bench, aperture 4 mm")
    assert optics.absorption_sd_per_mm is not None
    assert optics.correlation is not None
    assert np.abs(optics.correlation).max() <= 1.0
    off = np.abs(optics.scattering_per_mm - true.scattering_per_mm) / optics.scattering_sd_per_mm
    assert np.mean(off < 1.96) > 0.8
    assert "taken from the card demo-dentine-2" in card.solid_density_g_per_cm3.source
    assert card.thermal["expansion_ppm_per_K"].status == "demo"
    said = capsys.readouterr().out
    assert "absorption measured to ±" in said
    assert "Not measured, taken from" in said


def test_without_a_card_to_lean_on_it_says_what_is_missing(bench, capsys):
    assert add() == 2
    said = capsys.readouterr().err
    assert "solid_density_g_per_cm3" in said
    assert "--like" in said
    assert not Path("own").exists()


def test_a_card_is_never_overwritten_unasked(bench, capsys):
    assert add(*LIKE, "--name", "mine") == 0
    place = Path("own/powders/mine.toml")
    before = place.read_bytes()
    Path("tabs.csv").write_text(text_of(columns(noise=2)), "utf-8")
    assert add(*LIKE, "--name", "mine") == 2
    assert place.read_bytes() == before
    assert add(*LIKE, "--name", "mine", "--replace") == 0
    assert place.read_bytes() != before
    assert [p.name for p in place.parent.iterdir()] == ["mine.toml"]


def test_air_declared_as_contact_writes_nothing_unless_accepted(bench, capsys):
    Path("tabs.csv").write_text(text_of(columns(contact="air gap", noise=1)), "utf-8")
    assert add(*LIKE, "--shelf", "shelf") == 2
    said = capsys.readouterr().err
    assert "contradict" in said
    assert "air gap under the 0.5 mm tab" in said
    assert not Path("shelf").exists()
    assert add(*LIKE, "--shelf", "shelf", "--accept") == 0
    assert "Doubtful contact" in read_powder(Path("shelf/powders/my powder.toml")).optics.source


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--name", "../out"], "can't name a card"),
        (["--role", "gum"], "gum"),
        (["--like", "no-such-card"], "no-such-card"),
    ],
)
def test_bad_words_get_one_sentence_and_nothing_is_written(bench, capsys, words, told):
    assert add(*LIKE[: 0 if "--like" in words else 2], *words, "--shelf", "shelf") == 2
    said = capsys.readouterr().err
    assert told in said
    assert len(said.splitlines()) == 1
    assert not Path("shelf").exists()


def test_cielab_only_gives_a_card_marked_as_an_estimate(bench, capsys):
    labs = lab_from_reflectance(columns())
    rows = {
        name: [f"{v:.4f}".replace(".", ",") for v in labs[:, k]] for k, name in enumerate(("L*", "a*", "b*"))
    }
    head = text_of(columns(), illuminant=["D65/2"]).split("\n400;")[0]
    Path("tabs.csv").write_text(
        head + "\n" + "\n".join(";".join([name, *cells]) for name, cells in rows.items()), "utf-8"
    )
    assert add(*LIKE, "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["method"] == "three bands from CIELAB"
    card = read_powder(Path(told["card"]))
    assert card.optics.status == "fitted"
    assert card.optics.source.startswith("three-band estimate")
    true = parametric_optics(3.0, 0.9, 0.0411, 1.0946)
    off = np.abs(card.optics.scattering_per_mm - true.scattering_per_mm)
    assert (off < 1.96 * card.optics.scattering_sd_per_mm).all()


def test_a_mixed_tab_is_stored_and_found_again(bench, capsys):
    numbers = {"one": (3.0, 0.9, 0.04, 1.1), "two": (6.0, 0.7, 0.06, 0.5)}
    for name, values in numbers.items():
        Path("tabs.csv").write_text(text_of(columns(numbers=values)), "utf-8")
        assert add(*LIKE, "--name", name) == 0
    mix = (4.5 * 1.2, 0.8, 0.05 * 1.1, 0.8 * 1.1)
    Path("mix.csv").write_text(text_of(columns(numbers=mix)), "utf-8")
    words = ["--part", "one=2", "--part", "two=2"]
    assert main(["shelf", "add-mix", "mix.csv", *words]) == 0
    assert main(["shelf", "add-mix", "mix.csv", *words]) == 2
    assert main(["shelf", "add-mix", "mix.csv", "--part", "one=2"]) == 2
    (stored,) = mixes_on_shelf(beside=Path())
    assert stored.share == pytest.approx((0.5, 0.5))
    optics = [read_powder(Path(f"own/powders/{name}.toml")).optics for name in numbers]
    found = mixed_optics(optics, (0.5, 0.5), names=("one", "two"), corrections=(stored,))
    np.testing.assert_allclose(found.scattering_per_mm, parametric_optics(*mix).scattering_per_mm, rtol=1e-4)


def test_the_tab_sheet_is_two_pages_of_a4_and_the_same_every_time(bench):
    import pypdfium2

    assert main(["shelf", "tab-sheet", "--out", "t.pdf"]) == 0
    made = Path("t.pdf").read_bytes()
    assert made == tab_sheet_pdf()
    with pypdfium2.PdfDocument(made) as document:
        assert len(document) == 2
        words = "".join(page.get_textpage().get_text_bounded() for page in document)
    for word in ("silica", "tongs", "air gap", "0.50", "--like CARD"):
        assert word in words
