"""firstbake shelf: cards from your own measurements."""

import json as json_text
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import App, Parameter

from firstbake.cli.talk import say, say_table

if TYPE_CHECKING:
    from firstbake.files import AddedPowder

shelf = App(name="shelf", help="Cards for your shelf from your own measurements.")


@shelf.command(name="fit-shrinkage")
def fit_shrinkage(
    coupons: Path,
    /,
    *,
    card: Annotated[str, Parameter(help="the powder's card: a name on the shelf or a path")],
    out: Annotated[Path | None, Parameter(help="write a copy of the card with it here")] = None,
    json: Annotated[bool, Parameter(help="print the fit as JSON", negative="")] = False,
) -> None:
    """Green density and shrinkage from free discs or bars measured before and after firing.

    The file has one coupon a line: shape (disc or bar), green_height_mm, fired_height_mm, and green_ and
    fired_ diameter_mm for a disc, width_mm and length_mm for a bar.

    Example: `firstbake shelf fit-shrinkage coupons.csv --card demo-dentine-1 --out shelf/my-dentine.toml`

    Parameters
    ----------
    coupons
        CSV file of coupons.
    """
    from firstbake.files import density_table, fit_card, write_fitted_card

    powder, fit, place = fit_card(coupons, card)
    if out is not None:
        write_fitted_card(place, fit, out=out, name=out.stem)
    if json:
        document = {"powder": powder.name, **asdict(fit), "card": None if out is None else str(out)}
        sys.stdout.write(json_text.dumps(document, indent=2) + "\n")
        return
    say(
        f"{powder.name} shrinks {fit.volume_shrinkage:.1%} of its volume, {fit.linear_shrinkage:.1%} of "
        f"every length when free: packed to {fit.green_relative_density:.3f} ± {_sd(fit.standard_error)} of "
        f"solid ({fit.coupons} coupon{'s' if fit.coupons > 1 else ''}; the card says "
        f"{powder.green_relative_density.value:.3f})."
    )
    if fit.build_sd > 0:
        say(f"One build differs from the next by about ± {_sd(fit.build_sd)}.")
    else:
        say("These coupons differ by no more than the calliper's own reading.")
    for note in fit.notes:
        say(f"Look here: {note}.")
    say("" if out is None else str(out))
    if out is None:
        say("For the card:")
        say(density_table(fit))


def _sd(value: float) -> str:
    """A standard deviation with two digits that count, never a row of zeros."""
    return f"{value:.2g}"


@shelf.command(name="add-powder")
def add_powder_card(
    tabs: Path,
    /,
    *,
    like: Annotated[
        str | None, Parameter(help="card whose densities, expansion and firing stand in, marked as such")
    ] = None,
    shelf: Annotated[Path | None, Parameter(help="folder of the shelf; left out, your own shelf")] = None,
    name: Annotated[str | None, Parameter(help="name of the card in place of the file's")] = None,
    role: Annotated[str | None, Parameter(help="role of the powder in place of the file's")] = None,
    replace: Annotated[bool, Parameter(help="overwrite a card of that name", negative="")] = False,
    accept: Annotated[
        bool, Parameter(help="write the card although the tabs contradict the declared contact", negative="")
    ] = False,
    json: Annotated[bool, Parameter(help="print the result as JSON", negative="")] = False,
) -> None:
    """A powder card from tabs measured over a black and a white tile.

    `firstbake shelf tab-sheet --out tabs.pdf` prints how to make and measure tabs, and what belongs in the
    file.

    Example: `firstbake shelf add-powder tabs.csv --like demo-dentine-2 --shelf shelf`

    Parameters
    ----------
    tabs
        CSV file of readings.
    """
    from firstbake.files import CardOrder, add_powder

    added = add_powder(tabs, CardOrder(shelf, name, role, like, replace, accept))
    if json:
        sys.stdout.write(json_text.dumps(_added_document(added), indent=2) + "\n")
        return
    _say_added(added)


def _added_document(added: "AddedPowder") -> dict[str, object]:
    found = added.found
    return {
        "card": str(added.path),
        "name": added.name,
        "role": added.role,
        "method": "three bands from CIELAB" if found.three_band else "spectra",
        "wavelength_nm": found.wavelength_nm.tolist(),
        "absorption_per_mm": found.absorption_per_mm.tolist(),
        "scattering_per_mm": found.scattering_per_mm.tolist(),
        "absorption_sd_per_mm": found.absorption_sd_per_mm.tolist(),
        "scattering_sd_per_mm": found.scattering_sd_per_mm.tolist(),
        "contact": {
            "checked": found.contact.checked,
            "suspected": found.contact.suspected,
            "contradicted": found.contact.contradicted,
            "sentence": found.contact.sentence,
        },
        "notes": list(found.notes),
        "taken_from": added.like,
        "taken": list(added.taken),
    }


def _say_added(added: "AddedPowder") -> None:
    from firstbake.files import share

    found = added.found
    absorption = share(found.absorption_sd_per_mm, found.absorption_per_mm)
    scattering = share(found.scattering_sd_per_mm, found.scattering_per_mm)
    kind = "estimated in three bands" if found.three_band else "measured"
    say(
        f"{added.name}, {added.role}: absorption {kind} to ± {absorption:.0%}, scattering to "
        f"± {scattering:.0%} (one standard deviation, middle of all wavelengths)."
    )
    rows = [
        (
            f"{found.wavelength_nm[k]:.0f}",
            f"{found.absorption_per_mm[k]:.3f} ± {found.absorption_sd_per_mm[k]:.3f}",
            f"{found.scattering_per_mm[k]:.2f} ± {found.scattering_sd_per_mm[k]:.2f}",
        )
        for k in range(0, 31, 5)
    ]
    say_table("Inside the fired powder", ("nm", "absorption, 1/mm", "scattering, 1/mm"), rows)
    say(f"{'Look here: ' if found.contact.suspected else ''}{found.contact.sentence}.")
    for note in found.notes:
        say(f"Look here: {note}.")
    say(f"Not measured, taken from {added.like}: {', '.join(added.taken)}.")
    say(str(added.path))


@shelf.command(name="add-mix")
def add_mix_correction(
    tabs: Path,
    /,
    *,
    part: Annotated[list[str], Parameter(help="CARD=GRAMS of each powder in the mix, dry", negative="")],
    shelf: Annotated[Path | None, Parameter(help="folder of the shelf; left out, your own shelf")] = None,
    replace: Annotated[bool, Parameter(help="overwrite a stored mix of these powders", negative="")] = False,
    json: Annotated[bool, Parameter(help="print the result as JSON", negative="")] = False,
) -> None:
    """What one fired mixed tab tells about mixing these powders, kept for predictions of their mixes.

    Example: `firstbake shelf add-mix mixed.csv --part my-dentine=2 --part my-opaque-dentine=1`

    Parameters
    ----------
    tabs
        CSV file of readings of the mixed tab.
    """
    from firstbake.files import add_mix

    added = add_mix(tabs, part, shelf=shelf, replace=replace)
    one = added.correction
    if json:
        document = {
            "card": str(added.path),
            "powders": list(one.names),
            "share": list(one.share),
            "absorption_factor": one.absorption_factor.tolist(),
            "scattering_factor": one.scattering_factor.tolist(),
        }
        sys.stdout.write(json_text.dumps(document, indent=2) + "\n")
        return
    mix = ", ".join(f"{name} {share:.0%}" for name, share in zip(one.names, one.share, strict=True))
    middle = (sorted(one.absorption_factor)[15], sorted(one.scattering_factor)[15])
    say(
        f"{mix} by volume: absorption {middle[0]:.2f} and scattering {middle[1]:.2f} times the straight sum "
        "(middle of all wavelengths)."
    )
    for sentence in (added.found.contact.sentence, *added.found.notes):
        say(f"{sentence}.")
    say(str(added.path))


@shelf.command(name="tab-sheet")
def tab_sheet(*, out: Annotated[Path, Parameter(help="the PDF to write")] = Path("tabs.pdf")) -> None:
    """Print how to make and measure tabs of a powder.

    Example: `firstbake shelf tab-sheet --out tabs.pdf`
    """
    from firstbake.files import write_tab_sheet

    write_tab_sheet(out)
    say(str(out))
