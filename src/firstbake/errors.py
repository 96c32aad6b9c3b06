"""The error family.

FirstbakeError
- BadInput      a person can put it right (exit status 2)
  - BadMesh     a mesh file or surface that cannot be used
  - BadCase     the case file
  - BadCard     a powder or core card
  - BadOutput   the place to write to
- BadSum        a sum gave no answer (exit status 1)

Each message is one sentence or two: what is wrong, where, what to do.
"""

__all__ = ["BadCard", "BadCase", "BadInput", "BadMesh", "BadOutput", "BadSum", "FirstbakeError"]


class FirstbakeError(Exception):
    """Parent of every error that firstbake raises on purpose."""


class BadInput(FirstbakeError):
    """Something given to firstbake that a person can put right."""


class BadMesh(BadInput):
    """A mesh that cannot be used, and what to do about it."""


class BadCase(BadInput):
    """A case file that cannot be used, and what to do about it."""


class BadCard(BadInput):
    """A powder or core card that cannot be used, and what to do about it."""


class BadOutput(BadInput):
    """A place to write to that cannot be used, and what to do about it."""


class BadSum(FirstbakeError):
    """A sum that gave no answer, and why."""
