"""Positions with what they owe, straight into the tables, for tests of lists and pages.

Spans are written as the ledger would have left them; the ledger's own tests prove the dates.
"""

from datetime import date

from fleet.models import IntervalRule
from fleet.stamps import stamp_lines
from tests import factories

TODAY = date(2026, 10, 31)


def position(unit, tag="", **extra):
    """A position in service with its duty from always."""
    fields = {"unit": unit, **extra, **({"tag": tag} if tag else {})}
    row = factories.PositionFactory(**fields)
    factories.PositionDutyFactory(position=row)
    return row


def fitted(place, number="", *, on=date(2015, 1, 1), **extra):
    """The device fitted there."""
    device = factories.DeviceFactory(
        site=place.site, **({"number": number} if number else {}), **extra
    )
    factories.InstallationFactory(position=place, device=device, installed_on=on)
    return device


def rule(code="own-5y", gap="P5Y", citation="the owner's own"):
    return IntervalRule.objects.filter(code=code).first() or factories.IntervalRuleFactory(
        code=code, parameters={"gap": gap}, citation=citation
    )


def owed(place, *, activity="bench_test", due_on=None, last_on=None, state="", device=None, **span):
    """An obligation with the one span that answers for it; dated where `due_on` is given."""
    obligation = factories.ObligationFactory(position=place, activity=activity, rule=rule())
    event = None
    if last_on and device:
        event = factories.ServiceEventFactory(device=device, activity=activity, done_on=last_on)
    factories.ObligationSpanFactory(
        obligation=obligation,
        from_on=span.pop("from_on", last_on or date(2015, 1, 1)),
        state=state or ("dated" if due_on else "no_record"),
        due_on=due_on,
        last_on=last_on,
        event=event,
        device=device,
        limit="gap" if due_on else "",
        **span,
    )
    stamp_lines([place])
    return obligation


def due(unit, tag, due_on, **extra):
    """A fitted position of which one bench test is due that day, done five years before."""
    place = position(unit, tag)
    device = fitted(place, **{k: extra.pop(k) for k in ("number", "serial", "kind") if k in extra})
    last_on = extra.pop("last_on", due_on.replace(year=due_on.year - 5))
    return owed(place, due_on=due_on, last_on=last_on, device=device, **extra)
