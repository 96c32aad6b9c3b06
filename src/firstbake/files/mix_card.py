"""What one fired mixed tab taught about mixing two or more powders, kept on the shelf."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstbake.colour import MixCorrection, correction_from_tab, grid_nm, volume_shares
from firstbake.errors import BadInput, BadOutput
from firstbake.files.card_shelf import find_card, user_shelf
from firstbake.files.card_table import CardTable, read_table
from firstbake.files.cards import read_powder
from firstbake.files.output import write_whole
from firstbake.files.tab_file import read_tabs
from firstbake.tabs import Identified

_KEYS = (
    "powders",
    "share",
    "wavelength_nm",
    "absorption_factor",
    "scattering_factor",
    "status",
    "source",
)


@dataclass(frozen=True)
class AddedMix:
    """A stored correction: where, what it says, and what the tabs told."""

    path: Path
    correction: MixCorrection
    found: Identified


def add_mix(csv: Path, parts: Sequence[str], *, shelf: Path | None = None, replace: bool = False) -> AddedMix:
    """Store what a fired mixed tab tells about its mix.

    parts  : "CARD=GRAMS" of each powder, dry
    raises : BadInput or BadOutput; nothing is written then
    """
    weighed = [_part(part) for part in parts]
    if len(weighed) < 2 or len({name for name, _ in weighed}) < len(weighed):
        raise BadInput("a mix has two or more different powders; give --part CARD=GRAMS for each, once")
    powders = [read_powder(find_card(name, kind="powder", beside=csv.parent)) for name, _ in weighed]
    share = volume_shares([g for _, g in weighed], [p.fired_density_g_per_cm3 for p in powders])
    if share.min() <= 0.0:
        raise BadInput("each powder of a mix needs more than 0 g")
    tabs = read_tabs(csv)
    found = tabs.identified()
    if found.contact.contradicted:
        raise BadInput(f"{csv}: {found.contact.sentence}")
    source = f"one fired mixed tab measured here, {csv.name}, {tabs.date}; {tabs.how}"
    measured = found.optics(index=tabs.index, source=source)
    correction = correction_from_tab(
        measured, [p.optics for p in powders], share, names=[name for name, _ in weighed]
    )
    target = (shelf or user_shelf()) / "mixes" / f"{'+'.join(name for name, _ in weighed)}.toml"
    if target.exists() and not replace:
        raise BadOutput(f"{target} is there already; give --replace to overwrite it")
    write_whole(target, _text(correction, "fitted" if found.three_band else "measured"))
    return AddedMix(target, correction, found)


def read_mix(path: Path) -> MixCorrection:
    """Read a stored correction. raises : BadCard, naming file, key and value"""
    card = read_table(path)
    card.only(_KEYS)
    card.status()
    names = card.content.get("powders")
    if not isinstance(names, list) or len(names) < 2 or not all(isinstance(name, str) for name in names):
        raise card.fault("powders", "must be a list of two or more card names in quotes")
    share = card.numbers("share")
    if share.size != len(names) or share.min() <= 0.0 or abs(share.sum() - 1.0) > 1e-6:
        raise card.fault("share", "needs one share over 0 for each powder, together 1")
    if not np.array_equal(card.numbers("wavelength_nm"), grid_nm()):
        raise card.fault("wavelength_nm", "must be 400 to 700 nm at 10 nm")
    factors = [_factor(card, key) for key in ("absorption_factor", "scattering_factor")]
    return MixCorrection(
        tuple(names), tuple(float(v) for v in share), factors[0], factors[1], card.text("source")
    )


def mixes_on_shelf(*, beside: Path) -> tuple[MixCorrection, ...]:
    """Every stored correction: `shelf/mixes` beside the case file, then the user's shelf."""
    return tuple(stored_mixes(beside=beside).values())


def stored_mixes(*, beside: Path) -> dict[Path, MixCorrection]:
    """The same by the file of each."""
    folder = beside if beside.is_dir() else beside.parent
    found: dict[str, Path] = {}
    for shelf in (folder / "shelf", user_shelf()):
        for path in sorted((shelf / "mixes").glob("*.toml")):
            found.setdefault(path.stem, path)
    return {path: read_mix(path) for path in found.values()}


def _factor(card: CardTable, key: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    values = card.numbers(key)
    if values.shape != grid_nm().shape or values.min() <= 0.0 or values.max() > 10.0:
        raise card.fault(key, "needs 31 factors over 0 and up to 10")
    return values


def _part(text: str) -> tuple[str, float]:
    name, mark, grams = text.rpartition("=")
    try:
        value = float(grams.strip().replace(",", "."))
    except ValueError:
        value = float("nan")
    if not mark or not name.strip() or not 0.0 < value < 1e6:
        raise BadInput(f'"{text[:40]}" is no part of a mix; write CARD=GRAMS, for example demo-dentine-1=2.0')
    return name.strip(), value


def _text(correction: MixCorrection, status: str) -> str:
    def listed(values: Sequence[float]) -> str:
        return json.dumps([float(f"{v:.8g}") for v in values])

    share = [*correction.share[:-1], 1.0 - sum(correction.share[:-1])]
    return (
        "# What a fired mixed tab tells: measured over the straight sum by volume share.\n"
        f"powders = {json.dumps(list(correction.names), ensure_ascii=False)}\n"
        f"share = {json.dumps(share)}\n"
        f"wavelength_nm = {listed(grid_nm().tolist())}\n"
        f"absorption_factor = {listed(correction.absorption_factor.tolist())}\n"
        f"scattering_factor = {listed(correction.scattering_factor.tolist())}\n"
        f"status = {json.dumps(status)}\n"
        f"source = {json.dumps(correction.source, ensure_ascii=False)}\n"
    )
