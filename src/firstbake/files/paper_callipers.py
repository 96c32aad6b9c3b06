"""The calliper table on paper: groups of rows, short names, numbers to 0.05 mm."""

import re
from typing import Any

from firstbake.sheet import CalliperRow, bench_doubt, bench_mm

Json = dict[str, Any]

_OVERBUILD = "overbuild, over the wanted contour"


def calliper_cells(rows: tuple[CalliperRow, ...]) -> list[Json]:
    """Rows whose names share the words before the comma (or "overbuild") stand under those words."""
    parts = [_split(c.name) for c in rows]
    heads = [head for head, _ in parts]
    made: list[Json] = []
    for c, (head, rest) in zip(rows, parts, strict=True):
        grouped = heads.count(head) > 1 and head != rest
        if grouped and (not made or made[-1]["head"] != head):
            made.append({"head": head, "letter": ""})
        made.append(
            {
                "head": head if grouped else "",
                "letter": c.letter,
                "name": rest if grouped else (rest if not head else _alone(head, rest)),
                "green": bench_mm(c.green_mm),
                "fired": "" if c.over else bench_mm(c.fired_mm),
                "finished": "" if c.over else bench_mm(c.finished_mm),
            }
        )
    return made


def _alone(head: str, rest: str) -> str:
    """A row without a group: the length needs no second end in words."""
    if head == _OVERBUILD:
        return f"over {rest}"
    return f"{head}, {rest.split(' to ')[0]}" if head == "length" else f"{head}, {rest}".rstrip(", ")


def _split(name: str) -> tuple[str, str]:
    """Words that a group of rows shares, and the row's own."""
    if name.endswith(" overbuild"):
        return _OVERBUILD, name.removesuffix(" overbuild")
    height = re.fullmatch(r"height of the (.+) over the (.+ margin)", name)
    if height:
        what = height.group(1)
        probe = ", by probe" if "fossa" in what else ""  # no jaw of a calliper reaches into a hollow
        return f"height over {height.group(2)}", what.removesuffix(" cusp").replace("central ", "") + probe
    head, _, rest = name.partition(", ")
    if head == "cut-back":
        return "cut-back, at tips along the tooth", rest.removesuffix(" to edge")
    if "edge thickness" in head:
        return "", f"edge, {rest.replace(' the edge', '')}"
    return head, rest


def doubt_words(rows: tuple[CalliperRow, ...]) -> str:
    """The doubts in one sentence: the usual one, and the letters of the rows with another."""
    letters: dict[str, list[str]] = {}
    for c in rows:
        letters.setdefault(bench_doubt(c.doubt_mm), []).append(c.letter)
    if not letters:
        return ""
    usual = max(letters, key=lambda doubt: len(letters[doubt]))
    others = [f"{doubt} at {_runs(named)}" for doubt, named in sorted(letters.items()) if doubt != usual]
    return f"All ± {usual}{''.join(f', {words}' for words in others)}"


def _runs(letters: list[str]) -> str:
    """ "A to E, G" for A B C D E G."""
    runs: list[list[str]] = []
    for letter in letters:
        if runs and ord(letter[0]) - ord(runs[-1][-1][0]) == 1 and letter[1:] == runs[-1][-1][1:]:
            runs[-1].append(letter)
        else:
            runs.append([letter])
    told = [f"{run[0]} to {run[-1]}" if len(run) > 2 else " ".join(run) for run in runs]
    return " ".join(told)
