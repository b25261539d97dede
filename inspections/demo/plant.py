"""The works: units, groups of like positions, and each position. All invented.

Vellin Strand makes esters from fermented ethanol; what else it owns is in `further_groups.py`. A
group is positions of one duty that share one pool of spares, because any of its devices fits any of
its positions.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inspections.demo.further_groups import FURTHER, FURTHER_COMMISSIONED, STARTED
from inspections.demo.sheets import SITE

AS_OF = date(2026, 10, 31)

COMMISSIONED = {
    "Distillation": date(2016, 3, 14),
    "Esterification": date(2016, 9, 5),
    "Hydrogenation": date(2018, 6, 11),
    "Tank Farm": date(2016, 2, 15),
    "Steam and Air": date(2016, 1, 25),
    "Gas Letdown": date(2016, 1, 11),
    "Refrigeration": date(2016, 8, 1),
    "Biogas": date(2017, 2, 6),
    **FURTHER_COMMISSIONED,
}

# programme: who touches the group, and when (history.py). spares: devices beside those fitted.
_COLUMNS = (
    "unit tags count model inlet orifice outlet set mawp unit_of_pressure fluid phase severity"
    " discharge isolation tolerance programme spares equipment role back kind multiplier"
)
_GROUPS = """
Distillation|PSV-11|6|QM-40|3 in|K|4 in|150|150|psig|ethanol vapour|gas|moderate|flare|none|asme8|outage|5|C-11|first|10|constant|1.02
Distillation|PSV-12|8|QM-40|2 in|H|3 in|110|110|psig|ethanol vapour|gas|moderate|flare|none|asme8|outage|6|E-12|first|||
Distillation|PSV-13|6|QM-40B|4 in|L|6 in|75|75|psig|fusel oil vapour|gas|severe|flare|none|asme8|outage|5|C-13|first|12|variable|1.01
Distillation|PSV-14|10|QM-40|1 1/2 in|F|2 in|250|250|psig|stripping steam|steam|moderate|atmosphere|none|asme8|outage|8|E-14|first|||
Distillation|PSV-15|6|QM-40B|6 in|Q|8 in|50|60|psig|ethanol vapour|gas|moderate|flare|none|asme8|outage|4|D-15|first|8|variable|1.02
Distillation|PSV-16|8|ST-2|1 in|D|2 in|300|325|psig|ethanol|liquid|mild|closed|none|asme8|outage|6|E-16|first|||
Distillation|PSV-17|8|ST-2|1 1/2 in|E|2 in|200|200|psig|stillage|liquid|severe|closed|none|asme8|outage|6|P-17|first|||
Distillation|PSV-18|4|QM-40|3 in|K|4 in|157|150|psig|ethanol vapour|gas|moderate|flare|none|asme8|outage|3|C-11|additional|10|constant|1.02
Distillation|PSV-19|4|HX-P|3 in|K|4 in|220|220|psig|ethanol vapour|gas|mild|flare|none|asme8|pilot|3|C-19|first|||
Distillation|TRV-10|8|PW-T|3/4 in|D|1 in|350|400|psig|cooling water|liquid|mild|atmosphere|block|asme8|clean|3|L-10|first|||
Esterification|PSV-21|8|QM-40|3 in|K|4 in|10.3|10.5|barg|ester vapour|gas|moderate|flare|none|iso4126|outage|6|R-21|first|||
Esterification|PSV-22|8|QM-40|2 in|H|3 in|7.00|7.00|barg|ethyl acetate vapour|gas|moderate|flare|none|iso4126|outage|6|C-22|first|||
Esterification|PSV-23|8|QM-40B|4 in|M|6 in|5.00|5.20|barg|acetic acid vapour|gas|severe|flare|none|iso4126|outage|6|C-23|first|0.6|variable|1.02
Esterification|PSV-24|10|ST-2|1 in|D|2 in|16.0|16.0|barg|ethyl acetate|liquid|mild|closed|none|iso4126|outage|8|E-24|first|||
Esterification|PSV-25|6|QM-40B|6 in|R|8 in|3.50|3.50|barg|ester vapour|gas|severe|flare|none|iso4126|outage|5|D-25|first|0.3|variable|1.02
Esterification|PSV-26|8|QM-40|1 1/2 in|F|2 in|25.0|25.0|barg|stripping steam|steam|moderate|atmosphere|none|iso4126|outage|6|E-26|first|||
Esterification|PSE-27|6|DF-7|4 in||4 in|4.50|5.00|barg|ester vapour|gas|severe|flare|none|disc|disc|0|R-27|first|||
Esterification|TRV-20|6|PW-T|3/4 in|D|1 in|28.0|30.0|barg|hot oil|liquid|mild|closed|block|iso4126|clean|3|L-20|first|||
Hydrogenation|PSV-31|8|QM-40|2 in|J|3 in|700|725|psig|hydrogen|gas|severe|flare|none|asme8|outage|6|R-31|first|||
Hydrogenation|PSV-32|6|QM-40|3 in|K|4 in|450|450|psig|hydrogen|gas|moderate|flare|none|asme8|outage|5|V-32|first|||
Hydrogenation|PSV-33|8|QM-40|1 1/2 in|F|2 1/2 in|1150|1200|psig|hydrogen|gas|severe|flare|none|asme8|outage|6|K-33|first|||
Hydrogenation|PSV-34|6|QM-40B|3 in|K|4 in|285|285|psig|fatty alcohol vapour|gas|severe|flare|none|asme8|outage|5|C-34|first|20|variable|1.03
Hydrogenation|PSV-35|8|ST-2|1 in|D|2 in|525|550|psig|fatty alcohol|liquid|moderate|closed|none|asme8|outage|6|E-35|first|||
Hydrogenation|PSV-36|4|HX-P|2 in|G|3 in|900|900|psig|hydrogen|gas|moderate|flare|none|asme8|pilot|3|K-36|first|||
Hydrogenation|PSV-37|4|QM-40|2 in|H|3 in|308|285|psig|fatty alcohol vapour|gas|moderate|flare|none|asme8|outage|3|C-34|fire|||
Hydrogenation|PSV-38|6|QM-40|1 1/2 in|G|3 in|165|165|psig|nitrogen|gas|mild|atmosphere|block_with_spare|asme8|onstream|3|V-38|first|||
Tank Farm|TRV-41|24|PW-T|3/4 in|D|1 in|1035|1200|kPag|ethanol|liquid|mild|closed|block|asme8|clean|8|L-41|first|||
Tank Farm|TRV-42|10|PW-T|1 in|E|1 in|1900|1960|kPag|ethyl acetate|liquid|moderate|closed|block|asme8|onstream|4|L-42|first|||
Tank Farm|PSV-43|8|ST-2|1 1/2 in|E|2 in|690|700|kPag|ethanol|liquid|mild|closed|none|asme8|outage|4|P-43|first|||
Tank Farm|PVV-44|8|OV-2|6 in||8 in|3.5|7|kPag|ethanol vapour|gas|mild|atmosphere|none||vent|0|T-44|first|||
Steam and Air|SV-511|3|BV-900|2 1/2 in|K|4 in|250|250|psig|steam|steam|moderate|atmosphere|none|asme1|boiler|0|B-51|boiler|||
Steam and Air|SV-512|3|BV-900|2 1/2 in|K|4 in|255|250|psig|steam|steam|moderate|atmosphere|none|asme1|boiler|0|B-51|boiler|||
Steam and Air|SV-521|2|BV-900|2 1/2 in|K2|6 in|650|650|psig|steam|steam|moderate|atmosphere|none|asme1|highboiler|1|B-52|boiler|||
Steam and Air|SV-522|2|BV-900|2 1/2 in|K2|6 in|660|650|psig|steam|steam|moderate|atmosphere|none|asme1|highboiler|1|B-52|boiler|||
Steam and Air|SV-523|2|BV-900|2 in|H2|4 in|630|650|psig|superheated steam|steam|severe|atmosphere|none|asme1|highboiler|1|B-52|boiler|||
Steam and Air|SV-53|10|BV-300|2 in|J|3 in|165|175|psig|steam|steam|moderate|atmosphere|none|asme8|header|4|H-53|first|||
Steam and Air|SV-54|6|BV-900|3 in|M|4 in|285|300|psig|steam|steam|moderate|atmosphere|none|asme8|header|3|H-54|first|||
Steam and Air|PSV-55|8|BV-300|1 in|E|1 1/2 in|125|130|psig|air|gas|mild|atmosphere|block_with_spare|asme8|air|4|V-55|first|||
Steam and Air|PSV-56|4|BV-300|1 in|D|1 1/2 in|140|150|psig|nitrogen|gas|mild|atmosphere|block_with_spare|asme8|air|2|V-56|first|||
Steam and Air|PSV-57|4|ST-2|1 1/2 in|E|2 in|60|75|psig|hot water|liquid|mild|atmosphere|none|asme8|outage|2|E-57|first|||
Gas Letdown|PSV-61|4|HX-P|2 in|G|3 in|275|275|psig|natural gas|gas|mild|atmosphere|block_with_spare|asme8|gas|2|S-61|first|||
Gas Letdown|PSV-62|4|QM-40|2 in|H|3 in|75|75|psig|natural gas|gas|mild|atmosphere|block_with_spare|asme8|gas|2|S-62|first|||
Gas Letdown|PSV-63|4|ST-2|1 in|D|2 in|60|60|psig|natural gas|gas|mild|atmosphere|block_with_spare|asme8|gas|2|S-63|first|||
Refrigeration|PSV-71|8|ST-2|1 in|D|1 1/2 in|21.0|21.0|barg|ammonia|gas|moderate|atmosphere|changeover|iso4126|changeover|4|V-71|first|||
Refrigeration|PSV-72|8|ST-2|1 in|E|1 1/2 in|16.0|16.0|barg|ammonia|gas|moderate|atmosphere|changeover|iso4126|changeover|4|V-72|first|||
Refrigeration|TRV-73|6|PW-T|3/4 in|D|1 in|24.0|25.0|barg|ammonia|liquid|mild|closed|block|iso4126|onstream|3|L-73|first|||
Biogas|PVV-81|6|OV-2|8 in||8 in|2.5|5|kPag|biogas|gas|moderate|atmosphere|none||vent|0|T-81|first|||
Biogas|PSV-82|6|QM-40|2 in|H|3 in|345|350|kPag|biogas|gas|severe|flare|none|asme8|outage|5|K-82|first|||
Biogas|PSV-83|4|ST-2|1 in|D|1 1/2 in|620|620|kPag|condensate|liquid|moderate|closed|none|asme8|outage|3|V-83|first|||
Biogas|PSE-84|4|DF-7|6 in||6 in|150|175|kPag|biogas|gas|severe|flare|none|disc|disc|0|D-84|first|||
"""  # noqa: E501


@dataclass(frozen=True)
class Group:
    unit: str
    tags: str
    count: int
    model: str
    inlet: str
    orifice: str
    outlet: str
    set: Decimal
    mawp: str
    unit_of_pressure: str
    fluid: str
    phase: str
    severity: str
    discharge: str
    isolation: str
    tolerance: str
    programme: str
    spares: int
    equipment: str
    role: str
    back: str
    kind: str
    multiplier: str
    site: str = SITE
    series: str = "W"  # what the refs of its records begin with

    @property
    def start(self) -> date:
        """The day its unit was commissioned, or the group itself where it came later."""
        return STARTED.get(self.tags, COMMISSIONED[self.unit])

    @property
    def cdtp(self) -> Decimal:
        """(set - constant back pressure) x multiplier, exact."""
        less = Decimal(self.back) if self.kind == "constant" else Decimal(0)
        return (self.set - less) * Decimal(self.multiplier or "1")

    def pressure(self, number: object) -> str:
        return f"{number} {self.unit_of_pressure}"

    @property
    def cdtp_text(self) -> str:
        """The cold test pressure where it differs from the set pressure, else empty."""
        plain = self.cdtp.normalize()
        return "" if plain == self.set else self.pressure(f"{plain:f}")


@dataclass(frozen=True)
class Position:
    tag: str
    group: Group
    equipment: str

    @property
    def unit(self) -> str:
        return self.group.unit

    @property
    def site(self) -> str:
        return self.group.site

    @property
    def is_standby(self) -> bool:
        return self.group.programme == "changeover" and self.tag.endswith("B")


def _group(line: str, site: str = SITE, series: str = "W") -> Group:
    cells = dict(zip(_COLUMNS.split(), line.split("|"), strict=True))
    numbers = {"count": int(cells["count"]), "spares": int(cells["spares"])}
    where = {"site": site, "series": series}
    values = {**cells, **numbers, **where, "set": Decimal(cells["set"])}
    return Group(**values)  # type: ignore[arg-type]


def _further() -> Iterator[Group]:
    for site, series, lines in FURTHER:
        yield from (_group(line, site, series) for line in lines.strip().splitlines())


GROUPS = (*(_group(line) for line in _GROUPS.strip().splitlines()), *_further())


def _position(group: Group, index: int) -> Position:
    if group.programme == "changeover":
        number = f"{index // 2 + 1:02d}"
        return Position(
            f"{group.tags}{number}{'AB'[index % 2]}", group, f"{group.equipment}{number}"
        )
    number = f"{index + 1}" if group.tags[-3:].isdigit() else f"{index + 1:02d}"
    return Position(f"{group.tags}{number}", group, f"{group.equipment}{number}")


def positions_of(group: Group) -> tuple[Position, ...]:
    return tuple(_position(group, index) for index in range(group.count))


POSITIONS = tuple(position for group in GROUPS for position in positions_of(group))
