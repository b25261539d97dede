"""Rules and tolerances in use: the library's, copied when first named, and the owner's own.

Neither is ever rewritten or taken away: an edit is a new row that replaces the old from a day on.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from fleet import audit, ledger
from fleet.actions import positions, replacing
from fleet.calc import library
from fleet.calc.bands import checked_tolerance
from fleet.calc.intervals import RuleError
from fleet.faults import Fault, Refused
from fleet.models import IntervalRule, ToleranceBand, User

Sourced = IntervalRule | ToleranceBand


@audit.writing()
def rules_in_use(codes: Iterable[str], *, by: User, at: datetime) -> dict[str, IntervalRule]:
    """Interval rules by code. A code that neither register nor library knows is left out."""
    wanted = set(codes)
    found = {rule.code: rule for rule in IntervalRule.objects.filter(code__in=wanted)}
    fresh = [
        IntervalRule(
            code=code,
            kind=row.kind,
            parameters=dict(row.parameters),
            citation=row.citation,
            edition=row.edition,
            is_verified=row.verified,
            recorded_at=at,
            recorded_by=by,
        )
        for code, row in library.rules().items()
        if code in wanted - set(found)
    ]
    IntervalRule.objects.bulk_create(fresh)
    audit.record((audit.change("rule taken into use", rule) for rule in fresh), by=by, at=at)
    return found | {rule.code: rule for rule in fresh}


@audit.writing()
def tolerances_in_use(codes: Iterable[str], *, by: User, at: datetime) -> dict[str, ToleranceBand]:
    """Tolerances by code. A code that neither register nor library knows is left out."""
    wanted = set(codes)
    found = {band.code: band for band in ToleranceBand.objects.filter(code__in=wanted)}
    fresh = [
        ToleranceBand(
            code=code,
            definition=dict(row.definition),
            citation=row.citation,
            edition=row.edition,
            is_verified=row.verified,
            recorded_at=at,
            recorded_by=by,
        )
        for code, row in library.tolerances().items()
        if code in wanted - set(found)
    ]
    ToleranceBand.objects.bulk_create(fresh)
    audit.record((audit.change("tolerance taken into use", row) for row in fresh), by=by, at=at)
    return found | {band.code: band for band in fresh}


def known_rules() -> list[str]:
    return sorted({*library.rules(), *IntervalRule.objects.values_list("code", flat=True)})


def known_tolerances() -> list[str]:
    return sorted({*library.tolerances(), *ToleranceBand.objects.values_list("code", flat=True)})


@audit.writing()
def add_rules(rules: Sequence[IntervalRule], *, by: User, at: datetime) -> None:
    """Write the owner's own rules, unsaved and without stamps. Raises Refused: faults name `id`,
    `kind`, `parameters`, `replaces` or `from_on`. One that replaces another: `replace_rule`."""
    _refuse([fault for rule in rules for fault in problems_of_rule(rule)])
    for rule in rules:
        rule.parameters = rule.shape.parameters()
    _write(rules, "rule added", by, at)


@audit.writing()
def replace_rule(
    old: IntervalRule,
    new: IntervalRule,
    from_on: date,
    *,
    by: User,
    at: datetime,
    replay: bool = True,
) -> set[int]:
    """From a day on what was owed under `old` is owed under `new`, unsaved; earlier days keep
    the old rule. Decisions in force that day go on, and so does leave to pass a date still ahead.

    Raises Refused: faults name `from_on` or `replaces`, and the position where one stands in the
    way. Returns the positions concerned, replayed unless the caller does it.
    """
    new.replaces, new.from_on = old, from_on
    _refuse(problems_of_rule(new))
    new.parameters = new.shape.parameters()
    found = replacing.moves(old, new, from_on)
    _write([new], "rule replaced", by, at)
    for move in found:
        move.new.rule = new  # with the key that it has now
    replacing.carry_out(found, from_on, by=by, at=at)
    places = {move.old.position_id for move in found}
    if replay:
        ledger.replay_positions(places, at=at)
    return places


def problems_of_rule(rule: IntervalRule) -> list[Fault]:
    """Why this rule, unsaved, cannot be added."""
    faults = _of_code(rule, library.rules())
    try:
        _ = rule.shape
    except RuleError as error:
        name = "kind" if error.field == "kind" else "parameters"
        words = error.expected if name == "kind" else f"{error.expected}, for {error.field}"
        faults.append(Fault(name, error.typed, f"expected {words}", code="rule"))
    return faults + _of_replacing(rule)


@audit.writing()
def add_tolerances(bands: Sequence[ToleranceBand], *, by: User, at: datetime) -> None:
    """Write the owner's own tolerances, unsaved and without stamps: definition {basis, bands,
    atmosphere}. Raises Refused: faults name `id`, or the part of the definition."""
    _refuse([fault for band in bands for fault in problems_of_tolerance(band)])
    _write(bands, "tolerance added", by, at)


@audit.writing()
def replace_tolerance(
    old: ToleranceBand,
    new: ToleranceBand,
    from_on: date,
    *,
    by: User,
    at: datetime,
    moc: str = "",
    replay: bool = True,
) -> set[int]:
    """From a day on every duty that names `old` names `new`, unsaved; pops already judged keep
    their band. Raises Refused where a duty recorded for that day or a later one names `old` as
    well, for it is never rewritten. Returns the positions concerned, as `replace_rule`."""
    new.replaces, new.from_on = old, from_on
    _refuse(problems_of_tolerance(new))
    duties = replacing.duties_naming(old, from_on)
    _write([new], "tolerance replaced", by, at)
    fresh = [replacing.next_duty(duty, new, from_on, moc) for duty in duties]
    positions.change_duties(fresh, by=by, at=at)
    places = {duty.position_id for duty in fresh}
    if replay:
        ledger.replay_positions(places, at=at)
    return places


def problems_of_tolerance(band: ToleranceBand) -> list[Fault]:
    """Why this tolerance, unsaved, cannot be added."""
    faults = _of_code(band, library.tolerances())
    try:
        checked_tolerance(band.code, band.definition)
    except RuleError as error:
        faults.append(Fault(error.field, error.typed, f"expected {error.expected}", code="band"))
    return faults + _of_replacing(band)


def _of_code(row: Sourced, known: Mapping[str, object]) -> list[Fault]:
    if row.code in known:
        words = "an id that the library does not have: give a new id that replaces it"
    elif type(row)._default_manager.filter(code=row.code).exists():
        words = "an id that is not in use: give a new id that replaces it"
    elif not row.code.strip():
        words = "an id"
    else:
        return []
    return [Fault("id", row.code, words, code="taken")]


def _of_replacing(row: Sourced) -> list[Fault]:
    """A row replaces another from a day on, and each is replaced once."""
    old = row.replaces
    if old is None:
        return []
    if row.from_on is None:
        return [Fault("from_on", "", f"the day from which it replaces {old}")]
    if old.from_on is not None and row.from_on <= old.from_on:
        words = f"a day after {old.from_on}, from which {old} holds"
        return [Fault("from_on", str(row.from_on), words, code="contradiction")]
    other = type(row)._default_manager.filter(replaces=old.pk).first()
    if other is None:
        return []
    words = f"one that nothing replaces yet: {other} replaces it from {other.from_on}"
    return [Fault("replaces", old.code, words, code="replaced_twice")]


def _refuse(faults: Sequence[Fault]) -> None:
    if faults:
        raise Refused(faults)


def _write(rows: Sequence[Sourced], action: str, by: User, at: datetime) -> None:
    for row in rows:
        row.recorded_by, row.recorded_at = by, at
        row.save(force_insert=True)
    audit.record((audit.change(action, row) for row in rows), by=by, at=at)
