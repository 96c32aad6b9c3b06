"""How the terminal speaks: the answer first, then a narrow table, then the paths written."""

import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Protocol

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

# Share of the time of a plan that each stage takes, measured on the demo case.
STAGES = {
    "reading meshes": 0.07,
    "room": 0.05,
    "layers": 0.09,
    "green shape": 0.24,
    "colour": 0.01,
    "firing": 0.01,
    "cooling": 0.32,
    "sheet and pictures": 0.21,
}


@contextmanager
def stages(*, quiet: bool) -> Iterator[Callable[[str], None]]:
    """A progress line on the error stream; gives the function to call as each stage begins."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda stage: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("left"), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("starting", total=1.0)
        shares = list(STAGES.items())

        def begin(stage: str) -> None:
            before = 0.0
            for name, share in shares:
                if name == stage:
                    break
                before += share
            bar.update(task, description=stage, completed=before)

        yield begin


class Document(Protocol):
    """Anything that can write itself as JSON."""

    def model_dump_json(self, *, indent: int | None = None) -> str:
        """The document as JSON text."""
        ...


class StageClock:
    """Passes each stage on and adds up how long it took, s."""

    def __init__(self, begin: Callable[[str], None]) -> None:
        self.begin = begin
        self.seconds_s: dict[str, float] = {}
        self._stage, self._since_s = "", time.monotonic()

    def __call__(self, stage: str) -> None:
        now = time.monotonic()
        if self._stage:
            self.seconds_s[self._stage] = self.seconds_s.get(self._stage, 0.0) + now - self._since_s
        self._stage, self._since_s = stage, now
        self.begin(stage)


def say_json(document: Document) -> None:
    """One JSON document on the output stream."""
    sys.stdout.write(document.model_dump_json(indent=2) + "\n")


def say(sentence: str) -> None:
    """One plain sentence, never read as markup."""
    Console().print(Text(sentence))


def say_table(title: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A narrow table; every column after the first is set right."""
    table = Table(title=title, title_justify="left", box=None, pad_edge=False, title_style="bold")
    for k, head in enumerate(heads):
        table.add_column(head, justify="left" if k == 0 else "right", style="" if k else "bold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    console = Console()
    console.print()
    console.print(table)
