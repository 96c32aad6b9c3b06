"""The command line: plain words over the same rooms that every shell calls."""

from firstbake.cli.main import main

__all__ = ["main"]
