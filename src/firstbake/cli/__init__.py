"""The command line: plain words over the same rooms that every shell calls."""

import os

# One thread in the dense sums of the sintering solver: its blocks are small, and with two threads on two busy
# cores they wait for each other (measured: three times slower). Set before numpy loads; a value given by the
# person stays.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from firstbake.cli.main import main

__all__ = ["main"]
