"""The stories planted in the demo, for the README's tour and for the tests that look for them."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Story:
    """One thing worth finding: at which tag, on which device ("" where it is about neither)."""

    key: str
    tag: str
    device: str
    text: str
    where: str


STORIES = (
    Story(
        "weakening_spring",
        "SV-5122",
        "RD-1387",
        "A boiler valve's spring weakens: every July it opens lower and the screw goes in further,"
        " and the last three first pops were below the band.",
        "settings review, then device RD-1387: set pressure and compression screw",
    ),
    Story(
        "moved_rings",
        "SV-5112",
        "RD-1384",
        "Tobias Okell moves both rings at every overhaul; in service they have never moved.",
        "settings review, then device RD-1384: lower and upper ring",
    ),
    Story(
        "travelled",
        "PSV-5501",
        "RD-1427",
        "One valve has served at four tags, and its record went with it each time.",
        "device RD-1427: timeline",
    ),
    Story(
        "datum_machined",
        "SV-5113",
        "RD-1385",
        "The seat was machined in July 2021, so the rings before and after are not compared.",
        "device RD-1385: the cut in both rings",
    ),
    Story(
        "lost_sheet",
        "PSV-2206",
        "RD-1137",
        "The bench sheet of the 2020 overhaul was lost when the shop moved: every setting is"
        " missing, with the reason, for ever.",
        "device RD-1137: settings history of 2020",
    ),
    Story(
        "sticking",
        "PSV-1406",
        "RD-1037",
        "First pop 7.6 % high in 2025, the next two near the set with nothing turned: it sticks.",
        "settings review, then device RD-1037",
    ),
    Story(
        "typed_percentage",
        "TRV-1002",
        "RD-1108",
        "The sheet of 2023 says -1.4 %, its own pressures say otherwise.",
        "open questions on the record of RD-1108, November 2023",
    ),
    Story(
        "deferred",
        "PSV-4302",
        "RD-1369",
        "Past its date of 9 March 2026, behind an approved deferral to the 2027 outage: never"
        " green, not plain overdue.",
        "due list: past original date, deferred",
    ),
    Story(
        "late_approval",
        "PSV-8203",
        "RD-1505",
        "Left out of an outage; its deferral was approved after the due date had passed.",
        "position PSV-8203: deferrals",
    ),
    Story(
        "no_outage_in_time",
        "PSV-2103",
        "RD-1124",
        "An interval shortened to three years falls due in 2027; the next outage is in 2028.",
        "due list: no opportunity",
    ),
    Story(
        "fouled_waived",
        "PSV-3403",
        "RD-1275",
        "Packed with polymer, so the as-received test was waived and the interval shortened:"
        " due in December, with no outage before it.",
        "position PSV-3403, and device RD-1275, June 2024",
    ),
    Story(
        "shelf_expired",
        "",
        "RD-1461",
        "A soft-seated spare for the gas letdown whose shelf life ended in June 2026.",
        "device RD-1461",
    ),
    Story(
        "set_above_mawp",
        "PSV-1207",
        "",
        "Set at 110 psig on an exchanger whose maximum allowable pressure is 105 psig.",
        "position PSV-1207: open questions",
    ),
    Story(
        "wrong_tag",
        "PSV-1404",
        "RD-1045",
        "Swapped out of PSV-1404 in 2025, but the sheet of its overhaul says PSV-1408.",
        "device RD-1045: timeline of 2025, and both positions, whose dates are untouched by it",
    ),
    Story(
        "settings_forgotten",
        "PSV-1203",
        "RD-1022",
        "Nobody wrote down where the rings were left in 2022, and nobody said why.",
        "device RD-1022: record missing",
    ),
    Story(
        "gauge_out_of_date",
        "PSV-2603",
        "RD-1201",
        "Tested in September 2024 on a gauge whose calibration ended in August.",
        "open questions on the record of RD-1201, September 2024",
    ),
    Story(
        "stuck_shut",
        "PSV-3204",
        "RD-1247",
        "No lift at 150 % of set in 2021: the disc had seized, and the value is a bound.",
        "device RD-1247: June 2021",
    ),
    Story(
        "common_cause",
        "PSV-1505",
        "",
        "Several bellows valves of one duty opened low in the same outage.",
        "settings review: model QM-40B in 2025, tags PSV-1501 to PSV-1506",
    ),
    Story(
        "cdtp_mismatch",
        "PSV-1305",
        "",
        "The register's cold test pressure is not what set pressure and multiplier give.",
        "position PSV-1305: open questions",
    ),
    Story(
        "assumed_gauge",
        "PSV-5702",
        "",
        "The set pressure was typed in plain psi; it was read as gauge, and says so.",
        "position PSV-5702: open questions",
    ),
    Story(
        "implausible_turns",
        "PSV-3105",
        "RD-1231",
        "Six turns of the screw are recorded for one psi: more than its spring can explain.",
        "settings review, then device RD-1231: compression screw of 2024",
    ),
    Story(
        "corrected",
        "PSV-3803",
        "RD-1310",
        "A first pop typed with its figures changed round, and the correction that points at it.",
        "device RD-1310: May 2022",
    ),
    Story(
        "scrapped",
        "PSV-2402",
        "RD-1174",
        "Found cracked in 2024 and scrapped; its last record counts for nothing.",
        "device RD-1174",
    ),
    Story(
        "no_device",
        "PSV-5604",
        "RD-1433",
        "The valve was taken out on 20 October 2026 with no spare ready: nothing is fitted.",
        "due list: no device",
    ),
    Story(
        "no_obligation",
        "PSV-5703",
        "",
        "A contractor added this position, and nobody has said what it owes.",
        "due list: no obligation",
    ),
    Story(
        "no_record",
        "PSV-5505",
        "RD-1900",
        "A valve on loan was fitted before its certificate came: no record, not the old date.",
        "due list: no record",
    ),
    Story(
        "interval_not_set",
        "PSV-3604",
        "",
        "Due by its history, and nobody has decided an interval: never compliant.",
        "due list: interval not set",
    ),
    Story(
        "overdue",
        "SV-5306",
        "",
        "A steam header valve whose yearly test in July 2026 was not done.",
        "due list: overdue",
    ),
    Story(
        "unverified",
        "PSV-7102A",
        "RD-1466",
        "Overhauled on the last day of October; a second person has yet to verify it.",
        "bench, and device RD-1466",
    ),
    Story(
        "line_removed",
        "TRV-1008",
        "RD-1117",
        "The line went in 2023: the position owes nothing more, and its history stays.",
        "position TRV-1008",
    ),
)
