"""Writing a result so that a failure leaves nothing half-written."""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from firstbake.errors import BadOutput


def check_output(target: Path) -> None:
    """Refuse a place that cannot take a result, before any long work. raises : BadOutput"""
    if target.exists() and not target.is_dir():
        raise BadOutput(f"{target} is a file; name a folder for the result")
    above = target
    while not above.exists():
        above = above.parent
    if not above.is_dir():
        raise BadOutput(f"{above} is a file, so {target} cannot be made in it; name another folder")
    if not os.access(above, os.W_OK):
        raise BadOutput(f"{above} cannot be written to; name another folder or ask for the right to write")


@contextmanager
def staged_folder(target: Path) -> Iterator[Path]:
    """A folder beside `target` to write into; its files move into `target` only when all went well.

    On any error the staging folder is removed, and with it folders above `target` that were made for it;
    files that already lie in `target` stay as they were.
    raises : BadOutput when the disk is full or the place cannot be written to
    """
    check_output(target)
    made: list[Path] = []
    stage: Path | None = None
    done = False
    try:
        made = _make_parents(target.absolute().parent)
        stage = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.absolute().parent))
        yield stage
        _move_in(stage, target)
        done = True
    except OSError as error:
        raise BadOutput(_reason(target, error)) from error
    finally:
        if stage is not None:
            shutil.rmtree(stage, ignore_errors=True)
        if not done:
            for folder in reversed(made):
                shutil.rmtree(folder, ignore_errors=True)


def write_whole(target: Path, content: str | bytes, *, check: Callable[[Path], object] | None = None) -> None:
    """Write a file in one go (text as UTF-8): what is at `target` stays until the new file is whole.

    check  : called with the new file before it moves into place; what it raises leaves nothing behind
    raises : BadOutput when the place cannot be written to
    """
    made: list[Path] = []
    staged: Path | None = None
    done = False
    try:
        made = _make_parents(target.absolute().parent)
        handle, name = tempfile.mkstemp(prefix=".new-", suffix=target.suffix, dir=target.absolute().parent)
        staged = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
        if check is not None:
            check(staged)
        staged.chmod(0o644)
        staged.replace(target)
        done = True
    except OSError as error:
        raise BadOutput(_reason(target, error)) from error
    finally:
        if staged is not None:
            staged.unlink(missing_ok=True)
        if not done:
            for folder in reversed(made):
                shutil.rmtree(folder, ignore_errors=True)


def _make_parents(folder: Path) -> list[Path]:
    missing = [p for p in [folder, *folder.parents] if not p.exists()]
    for path in reversed(missing):
        path.mkdir()
    return list(reversed(missing))


def _move_in(stage: Path, target: Path) -> None:
    """One rename where the target is new; else file by file, each replaced at once."""
    if not target.exists():
        stage.chmod(0o755)
        stage.rename(target)
        return
    for source in sorted(p for p in stage.rglob("*") if p.is_file()):
        place = target / source.relative_to(stage)
        place.parent.mkdir(parents=True, exist_ok=True)
        source.replace(place)


def _reason(target: Path, error: OSError) -> str:
    what = (error.strerror or str(error)).lower()
    return (
        f"{target} could not be written ({what}); nothing was left there. "
        "Free some space or name another folder"
    )
