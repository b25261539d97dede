"""The inspections sheet as it is declared."""

from fleet.calc.activities import ACTIVITIES
from fleet.calc.units import GAUGE, LEAK_RATE
from fleet.exchange import cells
from fleet.exchange.sheets import Column, Sheet
from inspections.models import Disposition, Medium, Method, PopTest

GAUGED = cells.quantity(GAUGE)
SHEET = Sheet(
    "inspections",
    ("ref",),
    (
        Column("ref", cells.text(80), required=True),
        Column("site", cells.telling(120)),
        Column("tag", cells.telling(80)),
        Column("device", cells.text(80), required=True),
        Column("activity", cells.word(ACTIVITIES), required=True),
        Column("done_on", cells.day(partial=True, past=True, not_recorded=True), required=True),
        Column("done_by", cells.person(), required=True),
        Column("verified_by", cells.person(not_recorded=False)),
        Column("signed_on", cells.day(past=True)),
        Column("shop", cells.text(120)),
        Column("shop_authorization", cells.text(120)),
        Column("certificate", cells.text(120)),
        Column("witnessed_by", cells.text(120)),
        Column("method", cells.word(Method.values)),
        Column("medium", cells.word(Medium.values)),
        Column("cold_test_pressure", GAUGED),
        Column("first_pop", GAUGED),
        Column("first_pop_result", cells.word(PopTest.Result.values)),
        Column("later_pops", cells.quantities(GAUGE)),
        Column("no_lift_at", GAUGED),
        Column("waived_reason", cells.telling()),
        Column("as_left_pop", GAUGED),
        Column("reseat", GAUGED),
        Column("leak_rate", cells.quantity(LEAK_RATE)),
        Column("gauge", cells.text(80)),
        Column("gauge_range", cells.text(80)),
        Column("gauge_accuracy", cells.text(40)),
        Column("gauge_due_on", cells.day()),
        Column("seal_found", cells.text(120)),
        Column("seal_left", cells.text(120)),
        Column("typed_deviation", cells.text(40)),
        Column("disposition", cells.word(Disposition.values)),
        Column("corrects", cells.telling(80)),
        Column("remarks", cells.text()),
    ),
)
PLAIN = (
    "activity",
    "signed_on",
    "shop",
    "shop_authorization",
    "certificate",
    "witnessed_by",
    "method",
    "medium",
    "cold_test_pressure",
    "waived_reason",
    "gauge",
    "gauge_range",
    "gauge_accuracy",
    "gauge_due_on",
    "seal_found",
    "seal_left",
    "typed_deviation",
    "disposition",
    "remarks",
)
PRESSURES = ("cold_test_pressure", "first_pop", "no_lift_at", "as_left_pop", "reseat")
METHODS = {
    "bench_test": Method.BENCH,
    "overhaul": Method.BENCH,
    "in_place_test": Method.IN_PLACE_PRESSURE,
}
