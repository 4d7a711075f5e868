"""What tests of lives by simulation share."""

from collections.abc import Iterator
from functools import partial
from unittest.mock import patch

import pytest

from lyewitness.decline import choosing, declines


@pytest.fixture
def lives_alone() -> Iterator[None]:
    """Judge without the shapes that name a decline: no life rests on them, and they take half the time."""
    with patch.object(declines, "choose", partial(choosing.choose, names=("steady",))):
        yield
