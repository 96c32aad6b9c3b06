"""Steps: the order of work with boxes to tick: what, where, how thick, how many grams."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstbake.sheet.build_steps import build_steps
from firstbake.sheet.finish_steps import finish_steps
from firstbake.sheet.sheet import Step

if TYPE_CHECKING:
    from firstbake.crown import Plan


def steps_of(plan: Plan) -> tuple[Step, ...]:
    """All steps from the core that comes in to dispatch; each caution stands at the step it is tied to."""
    return (*build_steps(plan), *finish_steps(plan))
