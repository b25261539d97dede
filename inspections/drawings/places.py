"""Where the readings of one panel stand, and the mark each of them gets."""

from datetime import date
from fractions import Fraction

from fleet.drawings.axis import TimeAxis
from fleet.drawings.scene import Circle, Glyph, Mark, arrow_up, triangle
from inspections.drawings.panels import AS_LEFT, Band, Panel, Point

ASIDE = 1.5  # percent: a cut on the day of an overhaul stands between its as-found and as-left
SQUARE = ((-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0))


class Places:
    """Where the points of one panel stand: values from `top` to `bottom`, in pixels down."""

    def __init__(self, panel: Panel, axis: TimeAxis, top: float, bottom: float) -> None:
        self.points = panel.ordered
        self.bands = panel.bands
        self.axis = axis
        self.top, self.bottom = top, bottom
        values = [point.value for point in self.points if point.value is not None]
        values += [limit for band in panel.bands for limit in (band.low, band.high)]
        self.least = min(values, default=Fraction(0))
        self.most = max(values, default=Fraction(0))
        self.cut_days = {cut.on for cut in panel.cuts}

    def x(self, point: Point) -> float:
        x = self.axis.x(point.on)
        if point.on not in self.cut_days:
            return x
        is_after = point.stage == AS_LEFT or point.opens_its_run
        return x + (self._aside(x, 1) if is_after else -self._aside(x, -1))

    def _aside(self, x: float, side: int) -> float:
        """Never further than half way to the next cut on that side."""
        gaps = (side * (self.axis.x(day) - x) for day in self.cut_days)
        return min(ASIDE, min((gap for gap in gaps if gap > 0), default=100.0) / 2)

    def level(self, value: Fraction) -> float:
        """Pixels down for a value; a series that never moved stands in the middle."""
        if self.most == self.least:
            return (self.top + self.bottom) / 2
        share = float((self.most - value) / (self.most - self.least))
        return self.top + share * (self.bottom - self.top)

    def y(self, point: Point) -> float:
        return self.bottom + 12 if point.value is None else self.level(point.value)

    def band_on(self, day: date) -> Band | None:
        """The band in force on a day, if any."""
        for band in reversed(self.bands):
            if (not band.from_on or band.from_on <= day) and (not band.to_on or day < band.to_on):
                return band
        return None


def mark_of(point: Point, place: Places, size: float = 1.0) -> list[Mark]:
    """A dot as found, a ring as left; a triangle outside the band; an arrow where it did not lift;
    a dashed square, below all values, where the reading is missing."""
    x, y = place.x(point), place.y(point)
    stage = "left" if point.stage == AS_LEFT else "found"
    if point.unplaced:
        return []
    if point.value is None:
        return [Glyph(x, y, (SQUARE,), "missing")]
    if point.censored:
        return [Circle(x, y, 3 * size, "censored"), arrow_up(x, y, "censored")]
    if point.outside:
        band = place.band_on(point.on)
        is_low = band is not None and point.value < (band.low + band.high) / 2
        return [triangle(x, y, f"{stage} outside", points_down=is_low)]
    return [Circle(x, y, (5.5 if stage == "left" else 4.5) * size, stage)]
