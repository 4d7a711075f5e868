"""`python -m lyewitness` is the command `lyewitness`."""

import sys

from lyewitness.cli import run

sys.exit(run())
