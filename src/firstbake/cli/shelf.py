"""firstbake shelf: cards from your own measurements."""

import json as json_text
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

from cyclopts import App, Parameter

from firstbake.cli.talk import say

shelf = App(name="shelf", help="Fit the cards of your shelf to your own measurements.")


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
        f"every length when free: packed to {fit.green_relative_density:.3f} ± {fit.standard_error:.3f} of "
        f"solid ({fit.coupons} coupon{'s' if fit.coupons > 1 else ''}; the card says "
        f"{powder.green_relative_density.value:.3f})."
    )
    say(f"One build differs from the next by about ± {fit.build_sd:.3f}.")
    for note in fit.notes:
        say(f"Look here: {note}.")
    say("" if out is None else str(out))
    if out is None:
        say("For the card:")
        say(density_table(fit))
