"""Tests, and measurements that are run as `python -m tests.…`.

The truths in `truths/` are packages of their own, made by those who did not know this program: they are
found here as in the tests.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).with_name("truths")))
