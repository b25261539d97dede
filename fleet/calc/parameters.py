"""Reading the stored parameters of an interval rule: nothing missing, nothing extra, no guess."""

from collections.abc import Iterable, Mapping
from typing import Any

from fleet.calc.durations import Duration, parse_duration
from fleet.calc.quantities import UnitsError


class RuleError(ValueError):
    """A rule that cannot be read: which parameter, what was typed, what was expected."""

    def __init__(self, field: str, typed: object, expected: str) -> None:
        self.field, self.typed, self.expected = field, str(typed), expected
        super().__init__(f"{field} {self.typed!r}: expected {expected}")


def only(parameters: Mapping[str, Any], kind: str, *names: str) -> None:
    """Refuse a parameter this shape does not have."""
    for name, value in parameters.items():
        if name not in names:
            raise RuleError(name, value, f"only {', '.join(names) or 'no parameter'} for {kind}")


def interval(parameters: Mapping[str, Any], name: str, *, may_be_nothing: bool = False) -> Duration:
    """A parameter that is a length of time, longer than nothing unless that is allowed."""
    typed = parameters.get(name, "")
    expected = "a length of time such as P5Y, P15M, P6W or P7M15D"
    if not isinstance(typed, str):
        raise RuleError(name, typed, expected)
    try:
        duration = parse_duration(typed)
    except UnitsError as error:
        raise RuleError(name, typed, error.expected) from error
    if duration == Duration(0, 0, "") and not may_be_nothing:
        raise RuleError(name, typed, f"{expected}, longer than nothing")
    return duration


def count(parameters: Mapping[str, Any], name: str, *, least: int = 1, most: int = 366) -> int:
    """A parameter that is a whole number from `least` to `most`."""
    typed = parameters.get(name, "")
    is_whole = isinstance(typed, int) and not isinstance(typed, bool)
    if not is_whole or not least <= typed <= most:
        raise RuleError(name, typed, f"a whole number from {least} to {most}")
    return typed


def choice(parameters: Mapping[str, Any], name: str, choices: Iterable[str]) -> str:
    """A parameter that is one of a few words."""
    typed, known = parameters.get(name, ""), list(choices)
    if not isinstance(typed, str) or typed not in known:
        raise RuleError(name, typed, one_of(known))
    return typed


def one_of(words: Iterable[str]) -> str:
    """ "a", "a or b", "a, b or c"."""
    *others, last = words
    return f"{', '.join(others)} or {last}" if others else last
