"""Bad input: one clear sentence, exit status 2, nothing half-written."""

import errno
import json
import os
from pathlib import Path

import pytest
from bad_cases import BAD

from firstbake.cli import main


def assert_one_sentence(text: str) -> None:
    lines = text.strip().splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("firstbake: ")
    assert lines[0].endswith((".", "?"))
    assert not lines[0].endswith(("..", "?."))
    assert "Traceback" not in text
    assert len(lines[0]) < 500


@pytest.mark.parametrize("bad", BAD, ids=lambda b: b.name)
def test_bad_input_gives_one_sentence_and_leaves_nothing(bad, small_case, capsys):
    bad.spoil(small_case)
    before = sorted(p.name for p in small_case.parent.iterdir())
    status = main(["plan", str(small_case / bad.case), "--out", str(small_case.parent / "out")])
    said = capsys.readouterr().err
    assert status == 2, said
    assert_one_sentence(said)
    for words in bad.told:
        assert words in said
    assert sorted(p.name for p in small_case.parent.iterdir()) == before


def test_the_table_holds_forty_kinds():
    assert len({b.name for b in BAD}) >= 40


def test_output_that_is_a_file_is_refused_and_kept(small_case, capsys):
    target = small_case.parent / "out"
    target.write_text("mine")
    assert main(["plan", str(small_case / "case.toml"), "--out", str(target)]) == 2
    assert_one_sentence(capsys.readouterr().err)
    assert target.read_text() == "mine"


def test_output_below_a_file_is_refused(small_case, capsys):
    target = small_case / "case.toml" / "out"
    assert main(["plan", str(small_case / "case.toml"), "--out", str(target)]) == 2
    assert_one_sentence(capsys.readouterr().err)


def test_unwritable_output_is_refused_before_the_work(small_case, capsys, monkeypatch):
    monkeypatch.setattr(os, "access", lambda *a, **k: False)
    assert main(["plan", str(small_case / "case.toml"), "--out", str(small_case.parent / "out")]) == 2
    said = capsys.readouterr().err
    assert_one_sentence(said)
    assert "cannot be written" in said


@pytest.mark.parametrize("full_after", [0, 3])
def test_a_full_disk_leaves_nothing_and_keeps_what_was_there(small_case, capsys, monkeypatch, full_after):
    target = small_case.parent / "deep" / "out"
    real, written = Path.write_bytes, []

    def write_bytes(self, data):
        if len(written) >= full_after:
            raise OSError(errno.ENOSPC, "No space left on device")
        written.append(self)
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", write_bytes)
    assert main(["plan", str(small_case / "case.toml"), "--out", str(target)]) == 2
    said = capsys.readouterr().err
    assert_one_sentence(said)
    assert "no space left" in said
    assert sorted(p.name for p in small_case.parent.iterdir()) == ["case"]


def test_bad_usage_is_bad_input(capsys):
    assert main(["plan"]) == 2
    assert_one_sentence(capsys.readouterr().err)
    assert main(["plann", "x"]) == 2
    assert_one_sentence(capsys.readouterr().err)


def test_an_error_is_json_too_when_asked(small_case, capsys):
    assert main(["plan", str(small_case / "absent.toml"), "--out", "x", "--json"]) == 2
    document = json.loads(capsys.readouterr().out)
    assert document["error"]["status"] == 2
    assert "does not exist" in document["error"]["sentence"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("x_mm,y_mm\n1,2\n", "no column z_mm"),
        ("x_mm,y_mm,z_mm\n1,2,three\n", "line 2"),
        ("x_mm,y_mm,z_mm\n", "no points"),
        ("x_mm,y_mm,z_mm\n1,nan,2\n", "line 2"),
    ],
)
def test_bad_points_are_told_by_line(small_case, capsys, text, told):
    points = small_case / "points.csv"
    points.write_text(text)
    assert main(["room", str(small_case / "case.toml"), "--at", str(points)]) == 2
    said = capsys.readouterr().err
    assert_one_sentence(said)
    assert told in said
