"""The commands, their help, and the one place where errors become a sentence and an exit status."""

import json
import sys
from collections.abc import Sequence

from cyclopts import App, CycloptsError

from firstbake import __version__
from firstbake.cli.bake import bake
from firstbake.cli.colour import colour
from firstbake.cli.demo import demo
from firstbake.cli.plan import plan
from firstbake.cli.recipe import recipe
from firstbake.cli.room import room
from firstbake.cli.schema import schema
from firstbake.cli.shelf import shelf
from firstbake.cli.stand_in import stand_in
from firstbake.errors import BadInput, FirstbakeError

EXIT_BAD_INPUT, EXIT_NO_ANSWER, EXIT_CANCELLED = 2, 1, 130

app = App(
    name="firstbake",
    help="Plans a layered porcelain crown so that it is right at its first bake.",
    version=__version__,
    help_format="markdown",
    help_epilogue=(
        "Planning aid: the makers' instructions, local rules, licensed practice and the prescribing "
        "dentist come first."
    ),
)
for command in (plan, demo, room, recipe, bake, schema, stand_in, shelf, colour):
    app.command(command)


def main(tokens: Sequence[str] | None = None) -> int:
    """Run one command. Returns 0 on success, 2 for bad input, 1 when a sum gave no answer."""
    words = list(sys.argv[1:] if tokens is None else tokens)
    as_json = "--json" in words
    try:
        app(words, exit_on_error=False, print_error=False, result_action="return_value")
    except CycloptsError as error:
        said = " ".join(str(error).split()).rstrip(".")
        return _told(f"{said}; see firstbake --help", EXIT_BAD_INPUT, as_json=as_json)
    except BadInput as error:
        return _told(str(error), EXIT_BAD_INPUT, as_json=as_json)
    except FirstbakeError as error:
        return _told(str(error), EXIT_NO_ANSWER, as_json=as_json)
    except KeyboardInterrupt:
        return _told("Cancelled; nothing was written", EXIT_CANCELLED, as_json=as_json)
    except SystemExit as stop:
        return int(stop.code or 0)
    return 0


def _told(sentence: str, status: int, *, as_json: bool) -> int:
    """Say what was wrong: on the error stream, and as JSON on the output stream when asked."""
    ended = sentence if sentence.endswith((".", "?")) else f"{sentence}."
    sys.stderr.write(f"firstbake: {ended}\n")
    if as_json:
        sys.stdout.write(json.dumps({"error": {"sentence": sentence, "status": status}}) + "\n")
    return status
