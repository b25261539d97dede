"""Equipment named by positions, with the one pressure it is allowed."""

from fleet.actions import plant
from fleet.calc.units import Quantity
from fleet.exchange.compare import same
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.faults import NOTE
from fleet.models import Equipment, Site

Key = tuple[int, str]


def mention_equipment(run: Run, placed: list[tuple[Row, Site]]) -> dict[Key, Equipment]:
    """Equipment by site and name, after what the rows say of it has been written."""
    rated = _ratings(run, placed)
    known = run.lookups.equipment
    wanted = {(site.pk, row["equipment"]) for row, site in placed if row["equipment"]}
    new = [
        Equipment(site_id=key[0], name=key[1], mawp=rated[key][1] if key in rated else None)
        for key in sorted(wanted - set(known))
    ]
    plant.add_mentioned(new, by=run.by, at=run.at)
    run.count("equipment added", len(new))
    _rerate(run, {key: rated[key] for key in rated if key in known})
    known.update({(row.site_id, row.name): row for row in new})
    return known


def _ratings(run: Run, placed: list[tuple[Row, Site]]) -> dict[Key, tuple[Row, Quantity]]:
    """The allowed pressure of each equipment; two of them contradict each other."""
    found: dict[Key, tuple[Row, Quantity]] = {}
    for row, site in placed:
        mawp = row["equipment_mawp"]
        if mawp is None:
            continue
        if not row["equipment"]:
            run.say(row.fault("equipment", "the equipment this pressure is allowed on"))
            continue
        first, other = found.setdefault((site.pk, row["equipment"]), (row, mawp))
        if not same(mawp, other):
            words = f"one allowed pressure for {row['equipment']}; row {first.number} says {other}"
            run.say(row.fault("equipment_mawp", words, code="two_mawps"))
    return found


def _rerate(run: Run, rated: dict[Key, tuple[Row, Quantity]]) -> None:
    changed = []
    for key, (row, mawp) in rated.items():
        equipment = run.lookups.equipment[key]
        if not same(mawp, equipment.mawp):
            before = equipment.mawp or "not given"
            words = f"was {before}; {equipment.name} is re-rated"
            run.say(row.fault("equipment_mawp", words, severity=NOTE, code="rerated"))
            equipment.mawp = mawp
            changed.append(equipment)
    plant.rerate(changed, by=run.by, at=run.at)
    run.count("equipment re-rated", len(changed))
