"""python -m firstbake: the command line."""

import sys

from firstbake.cli import main

sys.exit(main())
