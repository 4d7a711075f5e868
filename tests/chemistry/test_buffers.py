"""A buffer is known by its usual names, and a name that is near one is told."""

import pytest

from lyewitness.chemistry.medium import read_bench
from lyewitness.chemistry.protolytes import buffer_named, near_names
from lyewitness.chemistry.records import NotComputableError


@pytest.mark.parametrize(
    "name",
    ["ammonium bicarbonate / ammonia", "ammonia/ammonium bicarbonate", "Ammonium bicarbonate with ammonia"],
)
def test_a_salt_and_what_raises_it_name_the_salt(name: str) -> None:
    """The usual way of writing a buffer with its base names the buffer that is raised so."""
    buffer = buffer_named(name)
    assert buffer is not None
    assert buffer.name == "ammonium bicarbonate"


def test_what_does_not_belong_together_is_no_buffer() -> None:
    """A salt with a base that does not raise it is not guessed at."""
    assert buffer_named("ammonium acetate / pyrrolidine") is None


@pytest.mark.parametrize(("name", "near"), [("dietylamine", "diethylamine"), ("pyrolidin", "pyrrolidine")])
def test_a_near_name_is_suggested(name: str, near: str) -> None:
    """A slip in a name says which buffer may be meant."""
    assert near in near_names(name)
    with pytest.raises(NotComputableError, match=near):
        read_bench(name, 20, 11, 25, 50)
