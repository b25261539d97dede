"""The owners' own rules and tolerances: standing orders, one of which replaced another."""

import json

Row = dict[str, object]

_RULES = (
    ("VS-7", "", "P4Y", "", "Works standing order 7, issue 1", "2016", ""),
    ("VS-7/2", "VS-7", "P3Y", "", "Works standing order 7, issue 2", "2024", "2024-01-01"),
    ("VS-21", "", "P2Y", "run", "Works standing order 21: emergency plant", "2019", ""),
    ("VS-33", "", "P3Y", "test_before_return", "Works standing order 33: seasons", "2019", ""),
    ("PG-easing-gear", "", "P6M", "", "Chief engineer's standing order 4", "2016", ""),
    ("DP-quarterly", "", "P92D", "", "Station surveillance procedure SP-114", "2025", ""),
)  # fmt: skip


def rule_rows() -> list[Row]:
    rows: list[Row] = []
    for code, replaces, gap, out_of_service, citation, edition, from_on in _RULES:
        parameters = {"gap": gap} | ({"out_of_service": out_of_service} if out_of_service else {})
        rows.append(
            {
                "id": code,
                "replaces": replaces,
                "kind": "max_gap",
                "parameters": json.dumps(parameters, sort_keys=True, separators=(",", ":")),
                "citation": citation,
                "edition": edition,
                "from_on": from_on,
            }
        )
    return rows


def tolerance_rows() -> list[Row]:
    return [
        {
            "id": "vs-heating",
            "low": "-2 psig",
            "high": "2 psig",
            "basis": "gauge",
            "citation": "Works standing order 7, annex B: heating boilers to 15 psig",
        },
        {
            "id": "vs-low-gas",
            "low": "-2 %",
            "high": "2 %",
            "basis": "absolute",
            "atmosphere": "101.3 kPaa",
            "citation": "Works standing order 41: gas holders, of absolute pressure",
        },
        {
            "id": "dp-main-steam",
            "low": "-3 %",
            "high": "3 %",
            "basis": "gauge",
            "citation": "Station licence basis, section 4: main steam safety valves",
        },
    ]
