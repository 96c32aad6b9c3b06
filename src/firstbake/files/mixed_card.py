"""A mix named as a powder: "mix of A and B 70:30", worked out from the cards of its powders."""

import re
from dataclasses import dataclass
from pathlib import Path

from firstbake.colour import mixed_optics, part_corrected, volume_shares
from firstbake.errors import BadCard, BadInput
from firstbake.files.card_shelf import find_card
from firstbake.files.cards import digest_of, read_powder
from firstbake.files.mix_card import stored_mixes
from firstbake.powder import Powder, mixed_powder

_MIX = re.compile(r"mix of (.+) and (.+) (\d+(?:[.,]\d+)?)\s*:\s*(\d+(?:[.,]\d+)?)", re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class NamedMix:
    """A mix as a powder, the files it was made from (name -> sha256), and how its colour was worked out."""

    powder: Powder
    inputs: dict[str, str]
    note: str


def is_mix(name: str) -> bool:
    """True for a name that asks for a mix and not for a card."""
    return name.lower().startswith("mix of ")


def named_mix(name: str, *, beside: Path) -> NamedMix:
    """The powder that a mix makes, with what fired mixed tabs on the shelf tell about it.

    name   : "mix of CARD and CARD 70:30", parts by weight of dry powder, as weighed
    beside : the case file, or the folder it is in
    raises : BadCard when the words, the parts or the cards do not make a mix
    """
    match = _MIX.fullmatch(name.strip())
    if match is None:
        raise BadCard(f'"{name}" does not name a mix; write for example "mix of card-a and card-b 70:30"')
    names = (match[1].strip(), match[2].strip())
    parts = [float(match[k].replace(",", ".")) for k in (3, 4)]
    if names[0] == names[1] or min(parts) <= 0.0:
        raise BadCard(f'"{name}" is no mix of two powders; name two different cards and two parts over 0')
    paths = [find_card(one, kind="powder", beside=beside) for one in names]
    powders = [read_powder(path) for path in paths]
    share = volume_shares(parts, [p.fired_density_g_per_cm3 for p in powders])
    stored = stored_mixes(beside=beside)
    weight, tab = part_corrected(names, share, tuple(stored.values()))
    optics = mixed_optics([p.optics for p in powders], share, names=names, corrections=tuple(stored.values()))
    whole = f"mix of {names[0]} and {names[1]} {parts[0]:g}:{parts[1]:g}"
    try:
        powder = mixed_powder(whole, powders, [float(s) for s in share], optics=optics)
    except BadInput as error:
        raise BadCard(str(error)) from None
    by_volume = f"{share[0]:.0%} and {share[1]:.0%} of the fired volume"
    told = (
        "its colour is the straight sum by volume, since no fired mixed tab of these powders is on the shelf"
        if tab is None
        else f"the fired mixed tab on the shelf counts for {weight:.0%} of its colour, the straight sum for "
        f"the rest ({tab.source})"
    )
    inputs = {one: digest_of(path) for one, path in zip(names, paths, strict=True)}
    inputs.update({path.name: digest_of(path) for path, one in stored.items() if one is tab})
    return NamedMix(powder, inputs, f"{parts[0]:g} to {parts[1]:g} by weight is {by_volume}; {told}")
