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


def interval(parameters: Mapping[str, Any], name: str) -> Duration:
    """A parameter that is a length of time, longer than nothing."""
    typed = parameters.get(name, "")
    expected = "a length of time such as P5Y, P15M, P6W or P7M15D"
    if not isinstance(typed, str):
        raise RuleError(name, typed, expected)
    try:
        duration = parse_duration(typed)
    except UnitsError as error:
        raise RuleError(name, typed, error.expected) from error
    if duration == Duration(0, 0, ""):
        raise RuleError(name, typed, f"{expected}, longer than nothing")
    return duration


def count(parameters: Mapping[str, Any], name: str) -> int:
    """A parameter that is a whole number from 1 to 366."""
    typed = parameters.get(name, "")
    if isinstance(typed, bool) or not isinstance(typed, int) or not 1 <= typed <= 366:
        raise RuleError(name, typed, "a whole number, 1 or more")
    return typed


def choice(parameters: Mapping[str, Any], name: str, choices: Iterable[str]) -> str:
    """A parameter that is one of a few words."""
    typed, known = parameters.get(name, ""), list(choices)
    if not isinstance(typed, str) or typed not in known:
        raise RuleError(name, typed, f"{', '.join(known[:-1])} or {known[-1]}")
    return typed
