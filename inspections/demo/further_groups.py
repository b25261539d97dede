"""Groups that came later or stand elsewhere: each keeps its own book, and lives by its diary.

The works' heating boilers, tanks, railway and jetty; the works' own tanker; and a power station
that shares its register. All invented. The columns are those of `plant.py`.
"""

from datetime import date

from inspections.demo.sheets import SHIP, SITE, STATION

FURTHER_COMMISSIONED = {
    "Tank Yard": date(2012, 5, 14),
    "Works Railway": date(2019, 5, 6),
    "Jetty": date(2019, 1, 21),
    "Engine Room": date(2016, 9, 12),
    "Unit 1": date(2017, 10, 2),
}

# Groups that came later than their unit.
STARTED = {
    "SV-58": date(2021, 9, 6),
    "PSV-59": date(2019, 3, 4),
    "PSV-50": date(2020, 2, 3),
    "PSV-45": date(2019, 4, 8),
    "PSE-28": date(2022, 3, 14),
    "PSV-28": date(2022, 3, 14),
    "PSV-64": date(2020, 5, 11),
    "PLT-64": date(2020, 5, 11),
    "PSV-85": date(2021, 4, 12),
}

_WORKS = """
Steam and Air|SV-58|2|BV-300|3 in|L|4 in|15|15|psig|steam|steam|mild|atmosphere|none|vs-heating|diary|0|HB-58|boiler|||
Steam and Air|PSV-59|5|ST-2|1 1/2 in|E|2 in|100|125|psig|hot water|liquid|mild|atmosphere|block|asme8|diary|0|CAL-59|first|||
Steam and Air|PSV-50|2|BV-300|1 in|D|1 1/2 in|435|450|psig|air|gas|mild|atmosphere|block|asme8|diary|0|EDG-50|first|||
Tank Farm|PSV-45|2|ST-2|1 1/2 in|E|2 in|690|700|kPag|cooling water|liquid|mild|closed|block|asme8|diary|0|VR-45|first|||
Esterification|PSE-28|2|DF-7|4 in||4 in|4.50|5.00|barg|vinyl acetate vapour|gas|moderate|atmosphere|block|disc|diary|0|D-28|first|||
Esterification|PSV-28|2|QM-40|3 in|K|4 in|4.50|5.00|barg|vinyl acetate vapour|gas|moderate|atmosphere|block|iso4126|diary|0|D-28|first|||
Gas Letdown|PSV-64|1|HX-P|2 in|G|3 in|275|275|psig|natural gas|gas|mild|atmosphere|block_with_spare|asme8|diary|0|S-64|first|||
Gas Letdown|PLT-64|1|HX-P|1/2 in|D|1/2 in|275|275|psig|natural gas|gas|mild|atmosphere|block_with_spare|asme8|diary|0|S-64|first|||
Biogas|PSV-85|2|ST-2|1 in|E|1 1/2 in|25.0|26|kPag|biogas|gas|moderate|flare|block|vs-low-gas|diary|0|GH-85|first|||
Tank Yard|PSV-91|4|QM-40|1 1/2 in|F|2 1/2 in|60|60|psig|fusel oil vapour|gas|moderate|atmosphere|block|asme8|diary|0|PT-91|first|||
Works Railway|SV-951|2|BV-300|2 in|J|3 in|170|175|psig|steam|steam|moderate|atmosphere|none|asme1|diary|0|L-95|boiler|||
Works Railway|SV-952|2|BV-300|2 in|J|3 in|175|175|psig|steam|steam|moderate|atmosphere|none|asme1|diary|0|L-95|boiler|||
Jetty|PSV-96|1|ST-2|1 1/2 in|E|2 in|1035|1200|kPag|ethanol|liquid|mild|closed|block|asme8|diary|0|TH-96|first|||
"""  # noqa: E501
_SHIP = """
Engine Room|BSV-101|2|BV-900|2 1/2 in|K2|6 in|900|900|psig|steam|steam|moderate|atmosphere|none|asme1|diary|0|MB-10|boiler|||
Engine Room|BSV-102|2|BV-900|2 1/2 in|K2|6 in|910|900|psig|steam|steam|moderate|atmosphere|none|asme1|diary|0|MB-10|boiler|||
Engine Room|BSV-103|2|BV-900|2 in|H2|4 in|870|900|psig|superheated steam|steam|severe|atmosphere|none|asme1|diary|0|MB-10|boiler|||
"""  # noqa: E501
_STATION = """
Unit 1|MSV-1|16|BV-900|6 in|R|10 in|1150|1250|psig|steam|steam|moderate|closed|none|dp-main-steam|diary|0|MS-1|first|||
Unit 1|RV-2|2|BV-300|2 in|J|3 in|165|175|psig|steam|steam|mild|atmosphere|none|asme8|diary|0|AS-2|first|||
"""  # noqa: E501

FURTHER = ((SITE, "Y", _WORKS), (SHIP, "G", _SHIP), (STATION, "D", _STATION))
