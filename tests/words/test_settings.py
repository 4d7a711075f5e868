"""Every key of a study has its words."""

from dataclasses import fields

import pytest

from lyewitness.study.records import Choices, Column, Conditions, Event, Plan, Question
from lyewitness.words.settings import SETTINGS, setting_text, setting_words


@pytest.mark.parametrize("record", [Conditions, Column, Choices, Question, Plan, Event])
def test_every_key_of_a_study_is_in_the_table_of_settings(record: type) -> None:
    """A key that is added to a record needs its words, and whether lives can differ by it."""
    named = {one.name for one in fields(record)} - {"id"}
    assert not named - SETTINGS.keys()


def test_what_conditions_state_can_make_lives_differ() -> None:
    """Flow rate and organic share are conditions like temperature; a serial number is none."""
    assert all(SETTINGS[one.name].bears for one in fields(Conditions))
    assert not SETTINGS["serial"].bears


@pytest.mark.parametrize(
    ("key", "value", "told"),
    [
        ("flow_mL_min", 0.3, "0.3\u2009mL/min"),
        ("buffer", "pyrrolidine", "pyrrolidine"),
        ("paired_blocks", True, "yes"),
        ("organic_percent", None, ""),
        ("lot", "", ""),
        ("new_key", 3, "3"),
    ],
)
def test_a_setting_is_told_with_its_unit(key: str, value: object, told: str) -> None:
    """Numbers bear their unit; what is not stated is nothing."""
    assert setting_text(key, value) == told
    assert "_" not in setting_words(key)
