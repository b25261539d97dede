"""The interval rules: how law and codes say when an activity is due again.

A shape is one frozen dataclass, stored as kind and parameters. `due_on` is the last day on which
doing it still complies. Adding a shape is one class in `shapes/`, its line in SHAPES, its tests.
"""

from collections.abc import Mapping
from typing import Any

from fleet.calc.parameters import RuleError
from fleet.calc.shapes.ages import AgeSteps
from fleet.calc.shapes.base import (
    ACT_BY,
    AGE,
    CALENDAR,
    CAP,
    COUNT,
    DECISION,
    EXPANSION,
    GAP,
    NOTHING,
    OUT_OF_SERVICE,
    PROJECTED,
    RETURN,
    RUN,
    SAMPLE,
    SEASON,
    STOP,
    TEST_BEFORE_RETURN,
    TRIGGER,
    WHOLE_GROUP,
    WINDOW,
    Due,
    Known,
    Reading,
    Shape,
    Trigger,
)
from fleet.calc.shapes.calendars import MONTH, YEAR, BeforeUse, Calendar, season_day
from fleet.calc.shapes.decided import ByHistory
from fleet.calc.shapes.events import TRIGGER_KINDS, AfterEvent
from fleet.calc.shapes.gaps import Capped, MaxGap, Rolling
from fleet.calc.shapes.sampled import GroupSample
from fleet.calc.shapes.usage import Usage

__all__ = [
    "ACT_BY",
    "AGE",
    "CALENDAR",
    "CAP",
    "COUNT",
    "DECISION",
    "EXPANSION",
    "GAP",
    "MONTH",
    "NOTHING",
    "OUT_OF_SERVICE",
    "PROJECTED",
    "RETURN",
    "RUN",
    "SAMPLE",
    "SEASON",
    "SHAPES",
    "STOP",
    "TEST_BEFORE_RETURN",
    "TRIGGER",
    "TRIGGER_KINDS",
    "WHOLE_GROUP",
    "WINDOW",
    "YEAR",
    "AfterEvent",
    "AgeSteps",
    "BeforeUse",
    "ByHistory",
    "Calendar",
    "Capped",
    "Due",
    "GroupSample",
    "Known",
    "MaxGap",
    "Reading",
    "Rolling",
    "RuleError",
    "Shape",
    "Trigger",
    "Usage",
    "season_day",
    "shape_from",
]

SHAPES: dict[str, type[Shape]] = {
    shape.kind: shape
    for shape in (
        MaxGap,
        Calendar,
        Rolling,
        Capped,
        AgeSteps,
        Usage,
        AfterEvent,
        BeforeUse,
        GroupSample,
        ByHistory,
    )
}


def shape_from(kind: str, parameters: Mapping[str, Any]) -> Shape:
    """The shape stored as kind and parameters. Raises RuleError."""
    if kind not in SHAPES:
        raise RuleError("kind", kind, f"one of {', '.join(SHAPES)}")
    return SHAPES[kind].from_parameters(parameters)
