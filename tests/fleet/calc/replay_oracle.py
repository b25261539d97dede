"""A slow oracle of a position's clock: one day at a time, nothing dated later is known.

Written from the rules alone, in loops over all facts: no sorting tricks, no spans.
"""

from dataclasses import replace
from datetime import date, timedelta

from fleet.calc.duedates import Owed, Place, Spell
from fleet.calc.durations import Duration
from fleet.calc.intervals import AfterEvent, AgeSteps, Calendar, Known, Rolling

HERE = 10
IN_PLACE = ("visual", "capacity_review", "replacement")

# The table of what each activity satisfies. In place is not on the bench: API RP 576 6.3.
COUNTS = {
    "visual": ["visual"],
    "lever": ["lever", "in_place_test", "bench_test", "overhaul"],
    "in_place_test": ["in_place_test", "bench_test", "overhaul"],
    "bench_test": ["bench_test", "overhaul"],
    "overhaul": ["overhaul"],
    "disc_change": ["disc_change"],
    "capacity_review": ["capacity_review"],
    "replacement": ["replacement"],
}


def fitted(spells, day, *, device=None, position=None) -> Spell | None:
    """The spell of a device, or at a position, that holds on a day."""
    for s in spells:
        holds = s.installed_on <= day and (s.removed_on is None or day < s.removed_on)
        if holds and (s.device == device or s.position == position):
            return s
    return None


def oracle(owed: Owed, spells, events, decisions, standings, place: Place, day: date) -> tuple:
    """(state, due_on, last_on, event, decision, limit, device) on a day."""
    spells = [
        s._replace(removed_on=s.removed_on if s.removed_on and s.removed_on <= day else None)
        for s in spells
        if s.installed_on <= day
    ]
    here = fitted(spells, day, position=HERE)
    device = here.device if here else None
    status = [s for s in standings if (s.from_on or date.min) <= day]
    if status and not max(status, key=lambda s: s.from_on or date.min).required:
        return ("not_required", None, None, None, None, "", device)
    if owed.shape.out_of_service != "run" and laid_up(place, day):
        return ("not_required", None, None, None, None, "", device)
    if device is None:
        return ("no_device", None, None, None, None, "", None)
    if isinstance(owed.shape, AfterEvent):
        return called_for(owed, spells, events, place, day, device)
    done = counted(owed, spells, [e for e in events if e.done_on <= day], device)
    if not done and isinstance(owed.shape, AgeSteps):
        return never_done_by_age(owed, spells, place, day, device)
    if not done and owed.counts_from == "commissioned_on":
        done = commissioned(owed, spells, device, day)
    if not done:
        return ("no_record", None, None, None, None, "", device)
    return done_last(owed, spells, decisions, place, day, device, done)


def never_done_by_age(owed, spells, place, day, device) -> tuple:
    if owed.in_service_on is None:
        return ("interval_not_set", None, None, None, None, "", device)
    begun = commissioned(replace(owed, commissioned_on=owed.in_service_on), spells, device, day)
    if begun:
        return dated(owed, place, day, [], begun[0], device)
    return ("no_record", None, None, None, None, "", device)


def done_last(owed, spells, decisions, place, day, device, done) -> tuple:
    """The answer once something counts."""
    done_on, number, counts_on = max(done, key=lambda row: (row[0], row[1] or 0))
    if counts_on is None:
        return ("no_record", None, done_on, number, None, "shelf", device)
    history = sorted({row[2] for row in done if row[2] is not None})
    ruling = [d for d in decisions if d.from_on <= day]
    if not ruling:
        return dated(owed, place, day, history, (done_on, number, counts_on), device)
    decision = max(ruling, key=lambda d: (d.from_on, d.id))
    then = fitted(spells, decision.from_on, position=HERE)
    same = owed.activity in IN_PLACE or (then is not None and then.device == device)
    due_on, limit = decided(owed.shape, history, decision, same)
    due_on, limit = before_return(owed, place, day, done_on if number else None, due_on, limit)
    if limit == "window":
        counts_on = history[-owed.shape.count]
    return ("dated", due_on, counts_on, number, decision.id, limit, device)


def laid_up(place, day) -> bool:
    return any(i.from_on <= day and (i.to_on is None or day < i.to_on) for i in place.idles)


def known(owed, place, day) -> Known:
    return Known(
        day,
        owed.in_service_on,
        owed.season,
        sorted((r for r in place.readings if r.read_on <= day), key=lambda r: r.read_on),
        sorted((t for t in place.triggers if t.happened_on <= day), key=lambda t: t.happened_on),
    )


def dated(owed, place, day, history, last, device) -> tuple:
    """Without a decision."""
    done_on, number, counts_on = last
    due = owed.shape.due(history, known(owed, place, day))
    if due is None:
        return ("interval_not_set", None, None, None, None, "", device)
    done = done_on if number or not isinstance(owed.shape, AgeSteps) else None
    done = None if number is None and owed.activity != "replacement" else done
    due_on, limit = before_return(owed, place, day, done, due.due_on, due.limit)
    return ("dated", due_on, due.counted_from or counts_on, number, None, limit, device)


def before_return(owed, place, day, done_on, due_on, limit) -> tuple[date, str]:
    """Was it out of service before, one day before another, and not done since it went out?"""
    back = day
    while owed.shape.out_of_service == "test_before_return" and back >= FIRST_OF_ALL:
        back -= timedelta(1)
        if laid_up(place, back):
            returned = back + timedelta(1)
            while laid_up(place, back):
                back -= timedelta(1)
            untested = done_on is None or done_on <= back
            return (returned, "return") if untested and returned < due_on else (due_on, limit)
    return due_on, limit


def called_for(owed, spells, events, place, day, device) -> tuple:
    """A trigger is answered for good once something done since then was in service here."""
    answers = []
    for own in {s.device for s in spells}:
        for done_on, number, counts_on in counted(owed, spells, events, own, until=day):
            then = done_on
            while counts_on and then <= day:
                here = fitted(spells, then, position=HERE)
                if here and (here.device == own or owed.activity in IN_PLACE):
                    answers.append((done_on, number))
                    break
                then += timedelta(1)
    for trigger in known(owed, place, day).triggers:
        if trigger.kind not in owed.shape.kinds:
            continue
        if not any(done_on >= trigger.happened_on for done_on, _ in answers):
            due_on = trigger.happened_on + timedelta(owed.shape.days)
            return ("dated", due_on, trigger.happened_on, None, None, "trigger", device)
    last_on, number = max(answers, key=lambda row: (row[0], row[1] or 0), default=(None, None))
    return ("waiting", None, last_on, number, None, "", device)


FIRST_OF_ALL = date(2023, 1, 1)


def counted(owed, spells, events, device, until=date.max) -> list[tuple]:
    """(done on, event, counts on or None when the shelf took it) of everything that counts."""
    events = [e for e in events if e.activity in COUNTS[owed.activity] and e.done_on <= until]
    if owed.activity in IN_PLACE:
        rows = [(e.done_on, e.id, e.done_on) for e in events if e.position == HERE]
        if owed.activity == "replacement":
            rows += [(s.installed_on, None, s.installed_on) for s in spells if s.position == HERE]
        return rows
    rows = []
    for e in events:
        if e.device != device:
            continue
        counts_on = e.done_on
        if owed.counts_from == "installed_on":
            while fitted(spells, counts_on, device=device) is None and counts_on < until:
                counts_on += timedelta(1)
            if owed.shelf_limit and counts_on > owed.shelf_limit.after(e.done_on):
                counts_on = None
        rows.append((e.done_on, e.id, counts_on))
    return rows


def commissioned(owed, spells, device, day) -> list[tuple]:
    on = owed.commissioned_on
    if on is None or on > day:
        return []
    first = on
    while fitted(spells, first, position=HERE) is None:
        first += timedelta(1)
    was_there = fitted(spells, first, position=HERE).device == device
    return [(on, None, on)] if was_there or owed.activity in IN_PLACE else []


def decided(shape, history, decision, same_clock) -> tuple[date, str]:
    """The decision's interval from the last day that counts; the calendar's end stays."""
    own, limit = decision.interval.after(history[-1]), "decision"
    if isinstance(shape, Rolling):
        by_window = replace(shape, gap=Duration(1200, 0, "P100Y")).due(history)
        if by_window.limit == "window" and by_window.due_on < own:
            return by_window.due_on, "window"
    if own < decision.from_on and decision.act_by and same_clock:
        own, limit = decision.act_by, "act_by"
    if isinstance(shape, Calendar):
        alone = Calendar(shape.times, shape.unit, shape.n, Duration(1200, 0, "P100Y"))
        by_calendar = alone.due(history).due_on
        if by_calendar < own:
            return by_calendar, "calendar"
    return own, limit
