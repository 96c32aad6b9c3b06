"""Programme: one bake as data with its source."""

from dataclasses import dataclass, replace

from firstbake.powder import MakerBake


@dataclass(frozen=True)
class Programme(MakerBake):
    """One bake of a sequence: what MakerBake holds, from a card or from the usual figures, with cautions.

    low_degC, high_degC : usual range of the peak
    cautions : sentences to show at this step
    """

    cautions: tuple[str, ...] = ()

    def with_cautions(self, cautions: tuple[str, ...]) -> "Programme":
        """The same bake showing these cautions."""
        return replace(self, cautions=cautions)
