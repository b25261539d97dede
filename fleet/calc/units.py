"""The door to everything with a unit; import from here.

registry: units and factors. quantities: exact arithmetic. typed: reading what people type.
durations: ISO 8601 intervals. (Dates as people type them: `fleet.calc.typed_dates`.)
"""

from fleet.calc.durations import Duration, parse_duration
from fleet.calc.quantities import (
    DimensionMismatch,
    Quantity,
    UnitsError,
    format_magnitude,
    gauge_to_absolute,
)
from fleet.calc.registry import (
    ABSOLUTE,
    GAS_FLOW,
    GAUGE,
    LEAK_RATE,
    LENGTH,
    LIQUID_FLOW,
    MASS_FLOW,
    NOTCHES,
    PERCENT,
    SPRING_RATE,
    TEMPERATURE,
    TURNS,
    UNITS,
    units_of,
)
from fleet.calc.typed import parse_quantity

__all__ = [
    "ABSOLUTE",
    "GAS_FLOW",
    "GAUGE",
    "LEAK_RATE",
    "LENGTH",
    "LIQUID_FLOW",
    "MASS_FLOW",
    "NOTCHES",
    "PERCENT",
    "SPRING_RATE",
    "TEMPERATURE",
    "TURNS",
    "UNITS",
    "DimensionMismatch",
    "Duration",
    "Quantity",
    "UnitsError",
    "format_magnitude",
    "gauge_to_absolute",
    "parse_duration",
    "parse_quantity",
    "units_of",
]
