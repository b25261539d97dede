"""Who stands with whom: boilers and columns with several valves, changeovers, discs, a pilot."""

from collections.abc import Iterator

from inspections.demo.plant import POSITIONS

Row = dict[str, object]
Arranged = tuple[str, str, tuple[tuple[str, str], ...]]  # name, kind, (tag, role) of each member


def _several(name: str, duty: str, **others: str) -> Arranged:
    """One duty valve and others beside it: role -> their tags, commas between."""
    further = [(tag, role) for role, tags in others.items() for tag in tags.split(",")]
    return (name, "multiple", ((duty, "duty"), *further))


def _vellin() -> Iterator[Arranged]:
    for n in (1, 2, 3):
        yield _several(f"Boiler B-51{n}", f"SV-511{n}", additional=f"SV-512{n}")
    for n in (1, 2):
        yield _several(f"Boiler B-52{n}", f"SV-521{n}", additional=f"SV-522{n},SV-523{n}")
    for n in (1, 2, 3, 4):
        yield _several(f"Column C-110{n}", f"PSV-110{n}", additional=f"PSV-180{n}")
        yield _several(f"Column C-340{n}", f"PSV-340{n}", fire=f"PSV-370{n}")
    for n, number in ((1, "7"), (2, "9")):
        yield _several(f"Locomotive No. {number}", f"SV-951{n}", additional=f"SV-952{n}")
        members = ((f"PSV-280{n}", "valve"), (f"PSE-280{n}", "upstream_disc"))
        yield (f"Vessel D-280{n}", "combination", members)
    yield ("Station S-6401", "pilot", (("PSV-6401", "main"), ("PLT-6401", "pilot")))
    for place in POSITIONS:
        if place.is_standby:
            members = ((f"{place.tag[:-1]}A", "duty"), (place.tag, "standby"))
            yield (f"Vessel {place.equipment}", "changeover", members)


def _marine() -> Iterator[Arranged]:
    for n, side in ((1, "port"), (2, "starboard")):
        others = f"BSV-102{n},BSV-103{n}"
        yield _several(f"Main boiler, {side}", f"BSV-101{n}", additional=others)


def arrangement_rows() -> list[Row]:
    site = {place.tag: place.site for place in POSITIONS}
    return [
        {"site": site[tag], "arrangement": name, "kind": kind, "tag": tag, "role": role}
        for name, kind, members in (*_vellin(), *_marine())
        for tag, role in members
    ]
