"""firstbake schema: what may stand in a case file, and what stands in a result."""

import json as json_text
import sys
from typing import Annotated, Literal

from cyclopts import Parameter


def schema(
    what: Literal["case", "plan"],
    /,
    *,
    json: Annotated[bool, Parameter(help="the schema is JSON in any case", negative="")] = False,
) -> None:
    """Print the JSON Schema of the case file or of plan.json.

    Example: `firstbake schema case`

    Parameters
    ----------
    what
        `case` for the case file, `plan` for the result.
    """
    from firstbake.files import CaseFile, PlanFile

    model = CaseFile if what == "case" else PlanFile
    sys.stdout.write(json_text.dumps(model.model_json_schema(), indent=2) + "\n")
