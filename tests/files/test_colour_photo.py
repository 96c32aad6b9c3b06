"""Photographs and cards as files: what comes in, what goes out, and what must not go out."""

import io
import json
import struct
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "target"))
from card_scene import SIZE, TEETH, card_toml, coded, photograph, zones_toml

from firstbake.cli import main
from firstbake.colour import delta_e00
from firstbake.errors import BadInput, BadOutput
from firstbake.files import card_pdf, read_card, read_colours, read_zones, write_card
from firstbake.files.case_schema import TargetTable
from firstbake.files.case_target import target_of
from firstbake.files.photo_pixels import find_marks, read_photo
from firstbake.target import CLIPPED, Picture, printed_marks, target_lab

SECRET = b"SOMEBODY-9931"


@pytest.fixture(scope="module")
def shot():
    return photograph()


@pytest.fixture
def folder(tmp_path, shot):
    (tmp_path / "card.toml").write_text(card_toml(), "utf-8")
    (tmp_path / "zones.toml").write_text(zones_toml(), "utf-8")
    exif = Image.Exif()
    exif[0x013B] = SECRET.decode()  # artist
    exif[0x010E] = SECRET.decode()  # description
    exif.get_ifd(0x8825)[2] = (12.0, 34.0, 56.0)  # GPS latitude
    exif.get_ifd(0x8825)[29] = SECRET.decode()
    Image.fromarray(coded(shot)).save(
        tmp_path / f"{SECRET.decode()}.jpg", quality=96, subsampling=0, exif=exif
    )
    return tmp_path


def run(folder, *words):
    photo = folder / f"{SECRET.decode()}.jpg"
    return main(["colour", "photo", str(photo), "--card", str(folder / "card.toml"), *words])


def test_a_jpeg_gives_zones_within_the_stated_error_and_nothing_of_its_exif(folder, capsys):
    out = folder / "out"
    assert SECRET in (folder / f"{SECRET.decode()}.jpg").read_bytes()
    assert (
        run(
            folder, "--zones", str(folder / "zones.toml"), "--out", str(out), "--dried-minutes", "9", "--json"
        )
        == 0
    )
    document = json.loads(capsys.readouterr().out)
    assert {z["name"] for z in document["zones"]} == set(TEETH)
    for zone in document["zones"]:
        assert float(delta_e00(zone["lab"], TEETH[zone["name"]])) < zone["doubt_delta_e00"]
    assert document["dried_minutes"] == 9
    assert any("dry for 9 minutes" in note for note in document["notes"])
    assert any("sRGB curve is assumed" in note for note in document["notes"])
    assert sorted(p.name for p in out.iterdir()) == ["colour-photo.json", "found.png", "zones.csv"]
    for path in out.iterdir():
        data = path.read_bytes()
        for trace in (SECRET, b"Exif", b"eXIf", b"GPS"):
            assert trace not in data, (path.name, trace)
    with Image.open(out / "found.png") as found:
        assert not found.getexif() and not found.info


@pytest.mark.parametrize("bend", [0.9, 1.1, 1.6])
def test_a_hidden_tone_curve_stays_within_the_doubt_or_is_refused(folder, shot, capsys, bend):
    picture = np.round(255 * (coded(shot) / 255.0) ** bend).astype(np.uint8)
    Image.fromarray(picture).save(folder / f"{SECRET.decode()}.jpg", quality=95, subsampling=0)
    status = run(folder, "--zones", str(folder / "zones.toml"), "--json")
    document = json.loads(capsys.readouterr().out)
    if status == 2:
        assert "is the limit" in document["error"]["sentence"]
        return
    assert status == 0
    assert bend != 1.6
    for zone in document["zones"]:
        assert float(delta_e00(zone["lab"], TEETH[zone["name"]])) < 1.5 * zone["doubt_delta_e00"]


def test_the_zones_file_serves_as_target_of_a_case(folder):
    assert run(folder, "--zones", str(folder / "zones.toml"), "--out", str(folder / "out")) == 0
    readings = {r.name: r for r in read_colours(folder / "out" / "zones.csv")}
    assert float(delta_e00(target_lab(readings["body"]), TEETH["body"])) < 1.5
    made = target_of(TargetTable(body_file="out/zones.csv"), folder / "case.toml", inputs={}, notes=[])
    assert made.body == target_lab(readings["body"])
    assert made.geometry == "45/0"


def test_the_terminal_says_card_zones_and_cautions(folder, capsys):
    assert run(folder, "--zones", str(folder / "zones.toml")) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Card test found; 24 patches agree" in said
    assert "Teeth look whiter when dry".lower() in said.lower()
    assert "body" in said


def test_a_turned_photograph_is_read_as_it_is_shown(tmp_path, shot):
    exif = Image.Exif()
    exif[0x0112] = 6  # shown turned by a quarter to the right
    turned = Image.fromarray(coded(shot)).rotate(90, expand=True)
    turned.save(tmp_path / "t.png", exif=exif)
    picture, _ = read_photo(tmp_path / "t.png")
    assert picture.clipped.shape == SIZE
    assert len(find_marks(picture, "4x4_50")) == 4


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda t: t.replace("lab = [93.0, 0.0, 0.0]\n", ""), 'patch "p08" has no measured value'),
        (lambda t: t.replace("lab = [93.0,", "xyz = [80.0, 85.0, 90.0]\nlab = [93.0,"), "both lab and xyz"),
        (lambda t: t.replace("number = 3", "number = 2"), "four different numbers"),
        (lambda t: t.replace('name = "p02"', 'name = "p01"'), "two patches of one name"),
        (lambda t: t.replace("side_mm = 8.0", "side_mm = 0.1", 1), "side_mm"),
        (lambda t: t.replace("lab =", "lob ="), "not a known key"),
        (lambda t: t.replace("[[mark]]", "[[mark]", 1), "not valid TOML"),
        (lambda t: 'values_file = "v.csv"\n' + t, "leave one out"),
    ],
)
def test_a_bad_card_file_is_refused(tmp_path, spoil, told):
    text = card_toml(spoil=spoil)
    assert text != card_toml()
    (tmp_path / "card.toml").write_text(text, "utf-8")
    with pytest.raises(BadInput, match=told):
        read_card(tmp_path / "card.toml")


def test_card_values_may_come_from_a_colour_file(tmp_path):
    lines = [line for line in card_toml().splitlines() if not line.startswith("lab =")]
    (tmp_path / "card.toml").write_text('values_file = "v.csv"\n' + "\n".join(lines), "utf-8")
    whole, _, _ = read_card_of(tmp_path, card_toml())
    rows = "".join(f"p{k + 1:02d},{50 + k},1,2\n" for k in range(24))
    (tmp_path / "v.csv").write_text("name,L*,a*,b*\n" + rows, "utf-8")
    card, marks, _ = read_card(tmp_path / "card.toml")
    assert marks == "4x4_50"
    assert len(card.patches) == len(whole.patches) == 24
    assert card.patches[0].xyz[1] == pytest.approx(18.4187, abs=1e-3)  # Y of L* 50
    (tmp_path / "v.csv").write_text("name,L*,a*,b*\np01,50,1,2\n", "utf-8")
    with pytest.raises(BadInput, match='0 readings named "p02"'):
        read_card(tmp_path / "card.toml")


def read_card_of(folder, text):
    (folder / "other.toml").write_text(text, "utf-8")
    return read_card(folder / "other.toml")


def test_the_printed_card_carries_marks_that_are_found_where_the_card_file_says(tmp_path):
    import pypdfium2

    assert card_pdf() == card_pdf()
    pdf, toml = write_card(tmp_path / "card.pdf")
    with pytest.raises(BadOutput, match="is there already"):
        write_card(pdf)
    with pytest.raises(BadInput, match="must be measured before use"):
        read_card(toml)
    document = pypdfium2.PdfDocument(pdf.read_bytes())
    page = document[0]
    pixels = np.asarray(page.render(scale=300 / 72).to_pil().convert("RGB"))
    words = page.get_textpage().get_text_bounded()
    assert "must be measured before use" in " ".join(words.split())
    document.close()
    linear = (pixels / 255.0).astype(np.float32)
    found = find_marks(Picture(linear, linear.min(axis=2) >= CLIPPED, False), "4x4_50")
    per_mm = 300 / 25.4
    centres = {mark.number: found[mark.number].mean(axis=0) for mark in printed_marks()}
    for mark in printed_marks():
        wanted = (np.array(mark.centre_mm) - printed_marks()[0].centre_mm) * per_mm
        np.testing.assert_allclose(centres[mark.number] - centres[0], wanted, atol=1.5)


def test_zone_files_are_checked(tmp_path):
    path = tmp_path / "z.toml"
    path.write_text('[[zone]]\nname = "a"\npoints_px = [[0, 0], [1, 1]]\n')
    with pytest.raises(BadInput, match="points_px"):
        read_zones(path)
    path.write_text('[[zone]]\nname = "a"\npoints_px = [[0, 0], [9, 0], [9, 9]]\n' * 2)
    with pytest.raises(BadInput, match="stands there twice"):
        read_zones(path)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "cannot be read|neither"),
        (b"\xff\xd8\xff\xe0 broken", "damaged"),
        (b"\x89PNG\r\n\x1a\n broken", "damaged"),
        (b"II*\x00 not a raw file at all" * 20, "cannot be read|neither"),
    ],
)
def test_what_is_no_photograph_is_refused(tmp_path, data, told):
    (tmp_path / "x.jpg").write_bytes(data)
    with pytest.raises(BadInput, match=told):
        read_photo(tmp_path / "x.jpg")
    with pytest.raises(BadInput, match="does not exist"):
        read_photo(tmp_path / "y.jpg")


def test_a_grey_picture_is_refused(tmp_path):
    Image.new("L", (40, 40)).save(tmp_path / "g.png")
    with pytest.raises(BadInput, match="colour photograph"):
        read_photo(tmp_path / "g.png")


def dng(values: np.ndarray) -> bytes:
    """A smallest raw file: one strip of 16-bit values behind a red-green-green-blue mosaic."""
    height, width = values.shape
    strip = values.astype("<u2").tobytes()
    matrix = [(3240, 1000), (-1537, 1000), (-498, 1000), (-969, 1000), (1876, 1000), (41, 1000)]
    matrix += [(55, 1000), (-204, 1000), (1057, 1000)]
    entries = [
        (254, 4, [0]), (256, 4, [width]), (257, 4, [height]), (258, 3, [16]), (259, 3, [1]),
        (262, 3, [32803]), (271, 2, b"bench\0"), (272, 2, b"box\0"), (273, 4, [0]), (274, 3, [1]),
        (277, 3, [1]), (278, 4, [height]), (279, 4, [len(strip)]), (284, 3, [1]),
        (33421, 3, [2, 2]), (33422, 1, bytes([0, 1, 1, 2])),
        (50706, 1, bytes([1, 4, 0, 0])), (50707, 1, bytes([1, 1, 0, 0])), (50708, 2, b"bench box\0"),
        (50714, 3, [0]), (50717, 4, [65535]), (50721, 10, matrix),
        (50728, 5, [(1, 1), (1, 1), (1, 1)]), (50778, 3, [21]),
    ]  # fmt: skip
    sizes = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 10: 8}

    def packed(kind, value):
        if isinstance(value, bytes):
            return value
        if kind in (5, 10):
            return b"".join(struct.pack("<II" if kind == 5 else "<ii", *pair) for pair in value)
        return struct.pack("<" + {3: "H", 4: "I"}[kind] * len(value), *value)

    start = 8 + 2 + 12 * len(entries) + 4
    extra = sum(len(packed(k, v)) + len(packed(k, v)) % 2 for _, k, v in entries if len(packed(k, v)) > 4)
    head, tail = io.BytesIO(), io.BytesIO()
    head.write(struct.pack("<2sHIH", b"II", 42, 8, len(entries)))
    for tag, kind, value in entries:
        data = packed(kind, [start + extra] if tag == 273 else value)
        head.write(struct.pack("<HHI", tag, kind, len(data) // sizes[kind]))
        if len(data) <= 4:
            head.write(data.ljust(4, b"\0"))
        else:
            head.write(struct.pack("<I", start + tail.tell()))
            tail.write(data + b"\0" * (len(data) % 2))
    head.write(struct.pack("<I", 0))
    return head.getvalue() + tail.getvalue() + strip


def test_a_raw_file_is_linear_and_gives_the_zones(folder, shot, capsys):
    pytest.importorskip("rawpy")
    mosaic = np.empty(shot.shape[:2])
    for row, column, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        mosaic[row::2, column::2] = shot[row::2, column::2, channel]
    path = folder / "shot.dng"
    path.write_bytes(dng(np.round(mosaic * 65535)))
    picture, _ = read_photo(path)
    assert picture.raw
    assert picture.linear.shape == shot.shape
    np.testing.assert_allclose(
        np.median(picture.linear, axis=(0, 1)), np.median(shot, axis=(0, 1)), atol=0.02
    )
    words = [
        "colour",
        "photo",
        str(path),
        "--card",
        str(folder / "card.toml"),
        "--zones",
        str(folder / "zones.toml"),
    ]
    assert main([*words, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    for zone in document["zones"]:
        assert float(delta_e00(zone["lab"], TEETH[zone["name"]])) < 0.6
    assert document["raw"] is True


def test_without_the_extra_a_raw_file_is_refused_with_the_way_out(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "rawpy", None)
    (tmp_path / "x.dng").write_bytes(b"II*\0")
    with pytest.raises(BadInput, match=r"firstbake\[raw\]"):
        read_photo(tmp_path / "x.dng")


def test_colour_read_tells_what_was_decided(folder, capsys):
    (folder / "t.csv").write_text("geometry;d/8 SCE\nname;L*;a*;b*\nbody;74,5;1,8;17,5\n")
    assert main(["colour", "read", str(folder / "t.csv")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "74.5" in said and "decimal comma" in said and "d/8 specular excluded" in said
    assert main(["colour", "read", str(folder / "t.csv"), "--geometry", "45/0"]) == 2
    assert "cannot be compared as 45/0" in capsys.readouterr().err
    assert main(["colour", "photo", "x.jpg", "--card", "c.toml", "--dried-minutes", "-1"]) == 2
    assert "dried-minutes" in capsys.readouterr().err
