"""firstbake schema: what may stand in a file that a person writes, and what stands in a result."""

import json as json_text
import sys
from typing import Annotated, Any, Literal

from cyclopts import Parameter


def schema(
    what: Literal["case", "plan", "recipe", "bake", "colour-card", "zones", "photo"],
    /,
    *,
    json: Annotated[bool, Parameter(help="the schema is JSON in any case", negative="")] = False,
) -> None:
    """Print the JSON Schema of a file that you write or that firstbake writes.

    Example: `firstbake schema case`

    Parameters
    ----------
    what
        Written by you: `case`, `colour-card`, `zones` (of a photograph). Results: `plan`, `recipe`, `bake`,
        `photo`.
    """
    from firstbake.files import BakeFile, CardTable, CaseFile, PhotoFile, PlanFile, RecipeFile, ZonesTable

    models: dict[str, Any] = {
        "case": CaseFile,
        "plan": PlanFile,
        "recipe": RecipeFile,
        "bake": BakeFile,
        "colour-card": CardTable,
        "zones": ZonesTable,
        "photo": PhotoFile,
    }
    sys.stdout.write(json_text.dumps(models[what].model_json_schema(), indent=2) + "\n")
