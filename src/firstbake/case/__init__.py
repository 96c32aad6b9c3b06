"""The case: everything a plan is made from, as values."""

from firstbake.case.case import (
    Allowances,
    Case,
    Lab,
    Limits,
    NamedSurface,
    Target,
)

__all__ = ["Allowances", "Case", "Lab", "Limits", "NamedSurface", "Target"]
