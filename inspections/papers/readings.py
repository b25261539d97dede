"""The tables of a certificate: its pops, its settings and what was found on the parts."""

from collections.abc import Iterator
from fractions import Fraction

from fleet.drawings.states import state_of
from fleet.drawings.words import percent_words
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import Sheets
from inspections.models import PopStage, PopTest, SettingReading, Stage
from inspections.reports.certificate import Certificate, SettingLine

SHAPES = {"in": "○", "high": "▲", "low": "▼"}
POPS = (
    Column("Pop", 78),
    Column("Pressure", 66),
    Column("Verdict", 82),
    Column("From CDTP or set", 66),
    Column("Band in force that day", 126),
    Column("What it did, reseat, leak", 89.2),
)
SETTINGS = (
    Column("Setting", 82),
    Column("As found", 116),
    Column("As left", 116),
    Column("As left less as found; against the target", 193.2),
)
FINDINGS = (
    Column("Part", 96),
    Column("Seen", 150),
    Column("Done", 140),
    Column("Measured", 121.2),
)


def set_pops(sheets: Sheets, certificate: Certificate) -> None:
    inspection, pops = certificate.inspection, certificate.record.pops
    sheets.section("Pops")
    if inspection.waived_reason:
        sheets.note(f"As-received test waived: {inspection.waived_reason}", "soon")
    if not (inspection.waived_reason or certificate.record.first_pop()):
        sheets.words("No as-found pop is recorded.", "soft")
    if pops:
        sheets.table(POPS, [_pop(pop, pops) for pop in pops])
        sheets.y -= 2
    for pop in pops:
        if seat := certificate.seats.get(pop.pk):
            name = _name(pop, pops)[0]
            sheets.words(f"{name}, seat leakage {pop.leak_rate}: {seat.words} ({seat.source}).")
    if inspection.left_reason:
        words = f"Left outside the site's own tolerance: {inspection.left_reason}"
        sheets.note(words, "soon")
    for name, cap in (
        ("the owner's limit", inspection.cap_owner),
        ("the rig's rating", inspection.cap_rig),
        ("what the protected equipment allows", inspection.cap_equipment),
    ):
        if cap is not None:
            sheets.words(f"Limit of a pop: {name}, {cap}.", "soft")
    if inspection.lift_factor:
        sheets.words(f"Lift assisted; correction {inspection.lift_factor}.", "soft")


def _pop(pop: PopTest, pops: list[PopTest]) -> list[Cell]:
    name, is_first = _name(pop, pops)
    is_bound = pop.bound == PopTest.Bound.ABOVE
    pressure = str(pop.pressure) if pop.pressure is not None else "not recorded"
    return [
        [Words(name, is_bold=is_first)],
        [Words(f"no lift at {pressure}" if is_bound else pressure, is_bold=True)],
        [_verdict(pop), Words(pop.shop_words, "soft")],
        [Words(_deviation(pop))],
        [Words(_band(pop)), Words(f"about {pop.reference}" if pop.reference else "", "soft")],
        list(_besides(pop)),
    ]


def _name(pop: PopTest, pops: list[PopTest]) -> tuple[str, bool]:
    """Its stage and place there, and whether it is the as-found value."""
    if pop.is_vacuum:
        return pop.get_stage_display().capitalize(), pop.stage == PopStage.VACUUM_FOUND
    orders = [other.order for other in pops if other.stage == pop.stage]
    if pop.stage == Stage.AS_FOUND:
        is_first = pop.order == min(orders)
        return ("As found, first" if is_first else f"As found, pop {pop.order}"), is_first
    return ("As left" if len(orders) == 1 else f"As left, pop {pop.order}"), False


def _verdict(pop: PopTest) -> Words:
    if not pop.verdict:
        return Words("not judged", "soft")
    state = state_of(pop.verdict)
    words = pop.verdict_words or state.words
    return Words(f"{SHAPES.get(pop.verdict, '◇')} {words}", state.tone, is_bold=True)


def _deviation(pop: PopTest) -> str:
    if pop.deviation_percent is None:
        return ""
    if pop.is_vacuum:
        return pop.vacuum_off
    above = "above " if pop.bound == PopTest.Bound.ABOVE else ""
    return above + percent_words(Fraction(pop.deviation_percent), 2)


def _band(pop: PopTest) -> str:
    return f"{pop.band_low} to {pop.band_high}" if pop.band_low is not None else "no tolerance"


def _besides(pop: PopTest) -> Iterator[Words]:
    yield Words(pop.get_result_display() if pop.result else "")
    yield Words(f"reseat {pop.reseat}" if pop.reseat is not None else "")
    yield Words(f"leak {pop.leak_rate}" if pop.leak_rate is not None else "")


def set_settings(sheets: Sheets, certificate: Certificate) -> None:
    sheets.section("Settings")
    if not certificate.settings:
        sheets.words("No setting is recorded.", "soft")
        return
    sheets.table(SETTINGS, [_setting(line) for line in certificate.settings])


def _setting(line: SettingLine) -> list[Cell]:
    left = line.left
    why = [Words(line.difference), Words(line.against, "soft")]
    if left is not None and left.changed_reason:
        by = f" ({left.changed_by})" if left.changed_by else ""
        why.append(Words(f"reason: {left.changed_reason}{by}"))
    name = line.words[:1].upper() + line.words[1:]
    return [[Words(name, is_bold=True)], _reading(line.found), _reading(left), why]


def _reading(reading: SettingReading | None) -> Cell:
    if reading is None:
        return [Words("not recorded", "soft")]
    missing = f"missing: {reading.missing_reason or 'nobody said why'}"
    return [
        Words(str(reading.value), is_bold=True)
        if reading.value is not None
        else Words(missing, "soon"),
        Words(f"from {reading.datum}" if reading.datum else "", "soft"),
        Words(f"datum: {reading.datum_reason}" if reading.datum_reason else ""),
        Words(reading.note),
        Words(f"second initials {reading.seconded_by}" if reading.seconded_by else "", "soft"),
    ]


def set_parts(sheets: Sheets, certificate: Certificate) -> None:
    findings, checks = certificate.record.findings, certificate.contact_checks
    if not (findings or checks):
        return
    sheets.section("Findings")
    rows = [
        [
            [Words(finding.part, is_bold=True)],
            [Words(finding.condition)],
            [Words(finding.action)],
            [Words(" ".join(filter(None, [finding.measure, finding.value])))],
        ]
        for finding in findings
    ]
    if rows:
        sheets.table(FINDINGS, rows)
        sheets.y -= 2
    for check in checks:
        ring = "unbroken ring" if check.is_unbroken else "broken ring"
        note = f": {check.note}" if check.note else ""
        sheets.words(f"Contact check {check.order}: {ring}{note}.")
