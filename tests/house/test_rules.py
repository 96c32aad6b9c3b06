"""The house rules hold for every source file, and each rule finds a planted fault."""

import subprocess
import sys
from pathlib import Path

import pytest
import rules

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "src").rglob("*.py"))
NAMES = [p.relative_to(ROOT).as_posix() for p in SOURCES]
RULES = [
    rules.arrow_breaches,
    rules.purity_breaches,
    rules.cap_breaches,
    rules.unit_breaches,
    rules.docstring_breaches,
]


@pytest.mark.parametrize("rule", RULES, ids=lambda r: r.__name__)
def test_every_source_file_keeps_the_rule(rule):
    breaches = [b for name in NAMES for b in rule(name, (ROOT / name).read_text("utf-8"))]
    assert breaches == []


def test_no_file_name_is_empty_of_meaning():
    assert [b for name in NAMES for b in rules.name_breaches(name)] == []


FAULTS = [
    (rules.arrow_breaches, "mesh/x.py", "from firstbake.room import Room", "arrows run down"),
    (rules.arrow_breaches, "colour/x.py", "from firstbake.green import Green", "arrows run down"),
    (rules.arrow_breaches, "room/x.py", "from firstbake.mesh.nearest import nearest", "behind the door"),
    (rules.arrow_breaches, "room/x.py", "import igl", "belongs to mesh"),
    (rules.purity_breaches, "room/x.py", "import os", "touch nothing"),
    (rules.purity_breaches, "room/x.py", "print(1)", "calls print"),
    (rules.purity_breaches, "room/x.py", "rng = np.random.default_rng()", "without a seed"),
    (rules.purity_breaches, "room/x.py", "np.random.rand(3)", "global random"),
    (rules.cap_breaches, "room/x.py", "\n" * 301, "301 lines"),
    (rules.cap_breaches, "room/x.py", "def f():\n" + "    x = 1\n" * 41, "41 code lines"),
    (rules.cap_breaches, "room/x.py", "def f(a, b, c, d, e): ...", "5 positional"),
    (rules.unit_breaches, "room/x.py", "class A:\n    thickness: float", "no unit"),
    (rules.docstring_breaches, "room/x.py", '"""x."""\ndef f(): ...', "no docstring"),
]


@pytest.mark.parametrize(("rule", "name", "source", "told"), FAULTS)
def test_a_planted_fault_is_found(rule, name, source, told):
    breaches = rule(f"src/firstbake/{name}", source)
    assert any(told in b for b in breaches)


def test_a_planted_empty_name_is_found():
    assert rules.name_breaches("src/firstbake/mesh/utils.py")


def test_importing_the_package_is_quick_and_draws_in_no_library():
    code = (
        "import sys, firstbake; print([m for m in ('numpy', 'igl', 'trimesh', 'typst') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


TRACKED = [
    p
    for p in ROOT.rglob("*")
    if p.is_file()
    and p.suffix in {".py", ".md", ".toml", ".typ", ".txt", ".lock", ".yaml", ".yml", ""}
    and not {".git", ".venv", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis"} & set(p.parts)
]


def test_no_tracked_text_names_a_registry_or_a_path_of_a_machine():
    marks = ["/" + "work/", "/" + "root/", "simple" + "/", "--index" + "-url"]
    found = [
        f"{p.relative_to(ROOT)}: {mark}"
        for p in TRACKED
        for mark in marks
        if mark in p.read_text("utf-8", errors="ignore")
    ]
    assert found == []


def test_the_sheet_template_imports_nothing_from_outside():
    preview = "@" + "preview"
    assert [p.name for p in (ROOT / "src").rglob("*.typ") if preview in p.read_text("utf-8")] == []
