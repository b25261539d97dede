"""Simulated fleets, seeded: what is known of them is what was put in."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

import numpy as np

from inspections.calc.screening import Fleet
from inspections.calc.service_drift import Drifts, drifts

DEVICES = 20_000
# All of standard deviation 1.
ERRORS: dict[str, Callable] = {
    "normal": lambda rng, shape: rng.normal(size=shape),
    "Laplace": lambda rng, shape: rng.laplace(size=shape) / 2**0.5,
    "t with 4 df": lambda rng, shape: rng.standard_t(4, shape) / 2**0.5,
}


@dataclass(frozen=True)
class Made:
    """How a fleet was made: devices by changes.

    grows: the scatter is of time in service, not of reading. put_back: False = as-left is the same
    reading as as-found, and its error goes into two changes. step: changes are rounded to it.
    alike: degrees of freedom of the devices' own variances, infinite = all the same. lost: share
    of changes not known. movers: the first so many move in each change by `shift` of their own
    standard deviations.
    """

    errors: str = "normal"
    changes: int = 7
    step: float = 0
    alike: float = inf
    uneven: bool = False
    grows: bool = False
    put_back: bool = True
    lost: float = 0
    movers: int = 0
    shift: float = 0
    seed: int = 1
    devices: int = DEVICES

    def readings(self) -> tuple[np.ndarray, np.ndarray]:
        """Changes and their years in service, devices by changes."""
        rng = np.random.default_rng(self.seed)
        shape = (self.devices, self.changes)
        own = np.ones(self.devices)
        if self.alike < inf:
            own = np.sqrt(self.alike / rng.chisquare(self.alike, self.devices))
        m = self.scatter(rng) * own[:, None]
        t = rng.uniform(1, 6, shape) if self.uneven else np.ones(shape)
        m = m * np.sqrt(t) if self.grows else m
        m[: self.movers] += self.shift * own[: self.movers, None] * t[: self.movers]
        m = np.round(m / self.step) * self.step if self.step else m
        m[rng.random(shape) < self.lost] = np.nan
        return m, t

    def scatter(self, rng: np.random.Generator) -> np.ndarray:
        draw = ERRORS[self.errors]
        if self.put_back:
            return draw(rng, (self.devices, self.changes))
        return np.diff(draw(rng, (self.devices, self.changes + 1)), axis=1) / 2**0.5

    def drifts(self) -> Drifts:
        m, t = self.readings()
        of = np.repeat(np.arange(self.devices), self.changes)
        return drifts(of, m.ravel(), t.ravel(), self.step, count=self.devices)


def fleet(found: Drifts, resets=None, reset_of=None, outcomes=()) -> Fleet:
    """One family, one pool; the key of a series is its place."""
    count = len(found.n)
    nothing = np.zeros(count, np.int64)
    return Fleet(
        range(count),
        ["lower_ring notches"] * count,
        found,
        ["lower_ring"] * count,
        nothing if resets is None else resets,
        nothing if reset_of is None else reset_of,
        outcomes,
    )
