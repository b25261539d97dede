"""The order in which nuts on a circle are tightened: opposed pairs, each across the one before.

Common practice for flanged joints and bonnets, from memory: after a nut the one opposite it, then
a pair about a quarter turn away, so that the gasket is loaded evenly. An odd number has no
opposites: each nut is followed by the one next to opposite, which visits them all.
"""

FEWEST, MOST = 3, 32


def tightening(nuts: int) -> tuple[int, ...]:
    """Numbers 1..n, counted clockwise, in the order of tightening. Raises ValueError outside
    3..32."""
    if not FEWEST <= nuts <= MOST:
        raise ValueError(f"{FEWEST} to {MOST} nuts, not {nuts}")
    if nuts % 2:
        step = (nuts - 1) // 2  # has no factor in common with 2 * step + 1
        return tuple(place * step % nuts + 1 for place in range(nuts))
    half = nuts // 2
    return tuple(nut for axis in _axes(half) for nut in (axis + 1, axis + half + 1))


def _axes(count: int) -> list[int]:
    """The pairs' axes, 0..count-1 over half a turn, each far from the one before."""
    if count % 2:
        step = max(1, (count - 1) // 2)
        return [place * step % count for place in range(count)]
    quarter = count // 2
    firsts = [*range(0, quarter, 2), *range(1, quarter, 2)] if quarter > 3 else range(quarter)
    return [axis for first in firsts for axis in (first, first + quarter)]


def apart(one: int, other: int, nuts: int) -> int:
    """How many places lie between two nuts the shorter way round."""
    way = abs(one - other) % nuts
    return min(way, nuts - way)
