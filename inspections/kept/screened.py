"""The kept fleet screened: statistics laid on the kept settings, and what they were judged by."""

from datetime import date
from math import isinf

from inspections.actions.acknowledge import fingerprint_of_statistic
from inspections.kept.flags import Wanted, write_flags
from inspections.models import Screening, SettingState
from inspections.reports.screening import Line, Screened, screened_lines

COLUMNS = tuple(
    "device_id" if n == "device" else "model_id" if n == "model" else n for n in Line._fields
)


def screen_fleet(kept: Screening, as_of: date) -> set[int]:
    """Screen all kept settings and write what is found; fills `kept`, which is not yet saved.

    Returns the devices whose statistics are others than before.
    """
    rows = (
        SettingState.objects.filter(screening=kept)
        .order_by("device", "setting")
        .values_list("pk", "first_on", *COLUMNS)
    )
    states, first, lines = {}, None, []
    for pk, first_on, *numbers in rows.iterator(5000):
        line = Line(*numbers)
        states[line.key] = pk
        first = min(first or first_on, first_on or first) if first_on else first
        lines.append(line)
    found = screened_lines(lines, as_of, float(kept.budget))
    _fill(kept, found, first)
    wanted = [
        Wanted(
            states[key],
            (*key, one.code),
            one.reasons,
            fingerprint_of_statistic(one.code, one.own),
        )
        for key, several in found.found.items()
        for one in several
    ]
    return write_flags(kept, wanted, states=None, is_statistic=True)


def _finite(df: float) -> float | None:
    return None if isinf(df) else df


def _fill(kept: Screening, found: Screened, first: date | None) -> None:
    screen = found.screen
    kept.first_on = first
    kept.judged, kept.too_few = screen.judged, screen.too_few
    kept.expected_false = screen.expected_false
    kept.priors = {
        family: [_finite(prior.df), prior.variance, _finite(prior.pooled_df)]
        for family, prior in screen.priors.items()
    }
    kept.rates = {pool: list(rate) for pool, rate in screen.rates.items()}
