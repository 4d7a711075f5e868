"""Events are lettered marks on every plot against exposure, and their letters are explained."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from matplotlib.text import Annotation

from lyewitness.document.themes import Theme
from lyewitness.figures.event_letters import letters_told
from lyewitness.figures.events import event_marks, mark_events, marks_told
from lyewitness.figures.records import Figure
from lyewitness.figures.sheets import applied, new_sheet, panel
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.study.records import Event

AGAINST_EXPOSURE = ("decline-", "column-", "marker-", "pressure", "conditions", "residuals")


def test_every_plot_against_exposure_tells_what_happened(example_figures: tuple[Figure, ...]) -> None:
    """The example's power cut and its fresh bottles stand below each figure whose axis is the exposure."""
    drawn = [one for one in example_figures if one.id.startswith(AGAINST_EXPOSURE)]
    assert {name for name in AGAINST_EXPOSURE if any(one.id.startswith(name) for one in drawn)} == set(
        AGAINST_EXPOSURE
    )
    for figure in drawn:
        assert "fresh mobile phase" in figure.caption, figure.id
        assert "the foot: " in figure.caption


def test_marks_stand_for_the_columns_that_are_drawn(example: Report) -> None:
    """What happened to another column is no mark; one kind has one letter; a pause is one place."""
    first, second = example.study.columns[:2]
    events = (
        Event("fresh mobile phase", 24.0),
        Event("leak", 30.0, columns=(second.id,)),
        Event("flush", 40.0, 44.0, columns=(first.id,)),
        Event("fresh mobile phase", 48.0),
    )
    study = replace(example.study, events=events)
    marks = event_marks(study, [first.id])
    assert [(one.letter, one.kind, one.spans_h) for one in marks] == [
        ("a", "fresh mobile phase", ((24.0, 24.0), (48.0, 48.0))),
        ("b", "flush", ((40.0, 44.0),)),
    ]
    assert marks_told(marks) == (
        "At the foot: a, fresh mobile phase (24 and 48\u2009h); b, flush (40\u2009h)."
    )
    told = letters_told(f"Bars and points. {marks_told(marks)}")
    assert told == "At the foot: a, fresh mobile phase; b, flush."
    assert marks_told(event_marks(replace(example.study, events=()), [first.id])) == ""
    assert letters_told("Bars and points.") == ""


def test_events_of_no_kind_are_marked_by_what_their_notes_say(example: Report) -> None:
    """`other` tells a reader nothing: each such event has a letter of its own, and the words of its note."""
    events = (
        Event("other", 20.0, note="Logger PC hung; pumps and ovens went on"),
        Event("other", 48.0, note="the door of the laboratory stood open over the whole of the weekend"),
    )
    marks = event_marks(replace(example.study, events=events), [example.study.columns[0].id])
    assert marks_told(marks) == (
        "At the foot: a, logger PC hung (20\u2009h); b, the door of the laboratory stood open… (48\u2009h)."
    )


def test_what_came_before_a_column_or_after_it_is_no_mark(example: Report) -> None:
    """A column put in late, or taken out early, had no part in what came before or after; three bottles are
    told as three, though a column that began later comes to them at other exposures."""
    first, second = example.study.columns[:2]
    start = datetime(2026, 3, 2, 8, tzinfo=UTC)
    early = replace(first, exposure_start=start, ended=40.0)
    late = replace(second, exposure_start=start + timedelta(hours=30), ended=None)
    events = tuple(Event("fresh mobile phase", start + timedelta(hours=hour)) for hour in (10, 35, 60))
    rest = tuple(one for one in example.study.columns if one.id not in (first.id, second.id))
    study = replace(example.study, events=events, columns=(early, late, *rest))
    assert [one.spans_h for one in event_marks(study, [first.id])] == [((10.0, 10.0), (35.0, 35.0))]
    assert [one.spans_h for one in event_marks(study, [second.id])] == [((5.0, 5.0), (30.0, 30.0))]
    (both,) = event_marks(study, [first.id, second.id])
    assert both.count == 3
    assert marks_told((both,)) == "At the foot: a, fresh mobile phase (three times, at different exposures)."


def test_columns_that_came_to_events_at_hours_of_their_own_are_told_beside_the_others(
    example: Report,
) -> None:
    """Three bottles are told by the hours of most columns, of a block that stood still by its own."""
    marks = event_marks(example.study, [one.id for one in example.study.columns])
    fresh = next(one for one in marks if one.kind == "fresh mobile phase")
    assert fresh.count == 3
    told = marks_told((fresh,))
    assert "(three times: 24, 48 and 72\u2009h; on " in told
    behind = [one for one, begins in fresh.begins_h if max(begins) < 70]
    assert all(one in told for one in behind)
    assert not any(one in told for one, begins in fresh.begins_h if max(begins) > 70)


def test_the_start_of_a_column_is_no_mark_on_its_course(example: Report) -> None:
    """A column put in for another begins with that; what came once is told by the exposures it came at."""
    first, second = example.study.columns[:2]
    start = datetime(2026, 3, 2, 8, tzinfo=UTC)
    late = start + timedelta(hours=30)
    rest = tuple(one for one in example.study.columns if one.id not in (first.id, second.id))
    columns = (
        replace(first, exposure_start=start, ended=None),
        replace(second, exposure_start=late, ended=None),
        *rest,
    )
    events = (
        Event("column replaced", late, columns=(second.id,)),
        Event("power cut", start + timedelta(hours=40), start + timedelta(hours=47)),
    )
    study = replace(example.study, columns=columns, events=events)
    marks = event_marks(study, [first.id, second.id])
    assert [one.kind for one in marks] == ["power cut"]
    assert marks_told(marks) == "At the foot: a, power cut (10 or 40\u2009h)."


@pytest.mark.parametrize("second_h", [24.3, 26.0, 60.0])
def test_letters_stand_apart(example: Report, daylight: Theme, second_h: float) -> None:
    """Of two events within a letter's width the letters stand beside each other, never as one word."""
    events = (Event("fresh mobile phase", 24.0), Event("leak", second_h))
    marks = event_marks(replace(example.study, events=events), [example.study.columns[0].id])
    look = look_from(daylight.look)
    with applied(look):
        axes = panel(new_sheet(480, 300), 46, 20, 400, 240)
        axes.set_xlim(0, 96)
        axes.set_ylim(0, 100)
        mark_events(axes, marks, look)
        texts = [one for one in axes.texts if isinstance(one, Annotation)]
        across = [axes.transData.transform((one.xy[0], 0))[0] * 72 / axes.figure.dpi for one in texts]
    places = [x + one.xyann[0] for x, one in zip(across, texts, strict=True)]
    assert [text.get_text() for text in texts] == ["a", "b"]
    assert places[1] - places[0] >= 12
    assert axes.get_ylim()[0] < 0
