"""Screening a whole fleet, against a trend library called once for each series.

`python -m tests.benchmarks.screen [DEVICES]`; eight overhauls and four settings each. The library
is timed on a sample and scaled; no database is touched. Answers of the sample are compared.
"""

import sys
from importlib import import_module

import numpy as np

from inspections.calc.many_trends import Trends, trends
from inspections.calc.screening import Fleet, screen
from inspections.calc.service_drift import drifts
from tests.benchmarks.bench import once, seconds

SETTINGS, OVERHAULS, SAMPLE = 4, 8, 2_000
GOAL = 50


def readings(devices: int) -> tuple[np.ndarray, np.ndarray]:
    """Days and as-found values, series by overhauls: about every three years, in whole notches."""
    rng = np.random.default_rng(1)
    shape = (devices * SETTINGS, OVERHAULS)
    days = 730_000.0 + np.cumsum(rng.integers(700, 1_500, shape), axis=1)
    return days, np.round(rng.normal(0, 2, shape))


def whole_screen(days: np.ndarray, values: np.ndarray):
    """The changes in service between overhauls, all drifts and the screen of them."""
    count = len(days)
    changes, years = np.diff(values, axis=1), np.diff(days, axis=1) / 365.25
    of = np.repeat(np.arange(count), OVERHAULS - 1)
    found = drifts(of, changes.ravel(), years.ravel(), 1.0, count=count)
    settings = [f"setting {i % SETTINGS}" for i in range(count)]
    resets = np.count_nonzero(values, axis=1)
    of_resets = np.full(count, OVERHAULS)
    return screen(Fleet(range(count), settings, found, settings, resets, of_resets))


def agree(many: Trends, i: int, one, own) -> bool:
    return many.s[i] == one.s and bool(
        np.allclose(
            [many.variance[i], many.normal_p[i], own.per_year[i] / 365.25],
            [one.var_s, one.p, one.slope],
        )
    )


def main(devices: int) -> bool:
    library = import_module("pymannkendall")
    days, values = readings(devices)
    many: list[Trends] = []
    taken = seconds(lambda: many.append(trends(days, values)), times=3)
    answers: list = []
    sample = once(lambda: answers.extend(library.original_test(row) for row in values[:SAMPLE]))
    base = sample / SAMPLE * len(values)
    # The library's slope counts readings and knows no dates: compared on readings one day apart.
    even = trends(np.tile(np.arange(float(OVERHAULS)), (SAMPLE, 1)), values[:SAMPLE])
    equal = all(agree(many[0], i, one, even) for i, one in enumerate(answers))
    ratio = base / taken
    print(
        f"{devices} devices, {len(values)} series of {OVERHAULS}: trends on real dates"
        f" {taken:.2f} s; one library call a series {base:.1f} s (scaled from {SAMPLE});"
        f" {ratio:.0f} times faster,"
        f" {'at least' if ratio >= GOAL else 'NOT'} {GOAL}; S, variance, p and slope"
        f" {'equal' if equal else 'NOT EQUAL'}"
    )
    screened = once(lambda: whole_screen(days, values))
    print(f"drifts, priors and the whole screen of them: {screened:.2f} s")
    return equal and ratio >= GOAL


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 100_000))
