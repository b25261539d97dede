"""False discoveries held to a budget: of all that is flagged, at most this share by mere chance.

Source: Benjamini and Hochberg 1995, Controlling the false discovery rate, J. R. Statist. Soc. B
57(1), 289-300. It holds where the tests are independent or rise and fall together (Benjamini and
Yekutieli 2001), as settings of one device do.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class Discoveries:
    """`q` and `flagged` in the shape of the p-values; NaN = not judged, and never flagged.

    `expected_false` is an upper figure: the budget times what is flagged.
    """

    q: NDArray[np.float64]
    flagged: NDArray[np.bool_]
    judged: int
    expected_false: float


def q_values(p: ArrayLike) -> NDArray[np.float64]:
    """The smallest budget at which each would be flagged; NaN where p is, and not counted."""
    values = np.asarray(p, float)
    flat = values.ravel()
    at = np.flatnonzero(~np.isnan(flat))
    order = at[np.argsort(flat[at], kind="stable")]
    m = len(order)
    raw = flat[order] * m / np.arange(1, m + 1)
    q = np.full(flat.shape, np.nan)
    q[order] = np.minimum(1.0, np.minimum.accumulate(raw[::-1])[::-1])
    return q.reshape(values.shape)


def discoveries(p: ArrayLike, budget: float) -> Discoveries:
    """What is flagged at a budget of `budget` (0.1 = one in ten false) over all these p-values."""
    q = q_values(p)
    flagged = q <= budget  # NaN is never
    return Discoveries(
        q, flagged, int((~np.isnan(q)).sum()), float(budget * np.count_nonzero(flagged))
    )
