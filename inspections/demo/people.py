"""Who works at the sites and at the makers' test benches. All invented."""

from inspections.demo.sheets import SHIP, SITE, STATION

MECHANICS = ("Ines Farrant", "Tobias Okell", "Marged Pryce", "Ruben Staal")
INSPECTORS = ("Halina Dwyer", "Osei Lindqvist")
ENGINEER = "Priya Thornbury"
MANAGER = "Callum Voss"
CHIEF = "Sunniva Torrell"
STATION_ENGINEER = "Ansel Quarrie"
STATION_MANAGER = "Beatrix Holm-Oduya"

CREWS = {  # site -> who does the work, and who verifies it
    SITE: (MECHANICS, INSPECTORS),
    SHIP: (("Joss Penhallow", "Ewa Lund-Carrick"), (CHIEF, "Matthias Orrey")),
    STATION: (("Kit Hallam-Reyes", "Dorothea Pim", "Yusuf Brandeis"), ("Noor Eskdale",)),
}

SITE_SHOP, SITE_SHOP_NUMBER = "Vellin Strand valve shop", "VSW-QC-02"
OUTSIDE_SHOP, OUTSIDE_SHOP_NUMBER = "Orrowby Bench and Seat", "OBS-0417"


def mechanics(site: str) -> tuple[str, ...]:
    return CREWS[site][0]


def inspectors(site: str) -> tuple[str, ...]:
    return CREWS[site][1]
