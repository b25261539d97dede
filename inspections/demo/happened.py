"""What happened beside the work: releases, service days, days laid up, a changed duty."""

from inspections.demo.people import CREWS
from inspections.demo.sheets import SITE

Row = dict[str, object]

_BURST = "Disc burst when the vent header backed up; reported to the agency."
_AGAIN = "Disc burst on loss of condenser cooling; new disc and leak reading outstanding."
TRIGGERS = (
    ("PSE-2801", "release", "2025-06-17", _BURST),
    ("PSV-2801", "release", "2025-06-17", _BURST),
    ("PSE-2802", "release", "2026-10-29", _AGAIN),
    ("PSV-2802", "release", "2026-10-29", _AGAIN),
)

# Service days of each locomotive's boiler, as its log has them.
_No_7 = (
    ("2023-05-09", 1104), ("2023-10-31", 1188), ("2024-04-30", 1196), ("2024-10-31", 1279),
    ("2025-04-22", 1287), ("2025-10-31", 1370), ("2026-05-02", 1378), ("2026-06-30", 1404),
    ("2026-08-31", 1432), ("2026-10-30", 1457),
)  # fmt: skip
_No_9 = (
    ("2023-09-12", 842), ("2024-03-31", 861), ("2024-09-10", 899), ("2025-03-31", 917),
    ("2025-09-06", 951), ("2026-03-31", 951), ("2026-10-30", 951),
)  # fmt: skip
SERVICE_DAYS = {"SV-9511": _No_7, "SV-9521": _No_7, "SV-9512": _No_9, "SV-9522": _No_9}

OUT_OF_SERVICE = (
    ("PSV-5905", "2024-11-04", "", "Calorifier CAL-5905 drained, its branch blanked."),
    ("PSV-5001", "2025-09-01", "", "Generator EDG-5001 at its maker's; receiver still charged."),
    ("PSV-4501", "2025-12-01", "2026-04-20", "Vapour cooler laid up for the winter."),
    ("PSV-4502", "2025-12-01", "2026-04-22", "Vapour cooler laid up for the winter."),
)

CHANGES = (("PSV-8501", "fluid", "2026-05-04", "biogas, unscrubbed", "MOC-26-014"),)


def trigger_rows() -> list[Row]:
    return [
        {"site": SITE, "tag": tag, "kind": kind, "happened_on": on, "note": note}
        for tag, kind, on, note in TRIGGERS
    ]


def counter_rows() -> list[Row]:
    return [
        {"site": SITE, "tag": tag, "counter": "service_days", "read_on": on, "value": value}
        for tag, readings in SERVICE_DAYS.items()
        for on, value in readings
    ]


def out_of_service_rows() -> list[Row]:
    by = CREWS[SITE][0][0]
    return [
        {"site": SITE, "tag": tag, "from_on": begins, "to_on": ends, "how": how, "by": by}
        for tag, begins, ends, how in OUT_OF_SERVICE
    ]


def change_rows() -> list[Row]:
    return [
        {"site": SITE, "tag": tag, "field": field, "from_on": on, "value": value, "moc": moc}
        for tag, field, on, value, moc in CHANGES
    ]
