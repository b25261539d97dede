"""Who works at the site and at the makers' test benches. All invented."""

MECHANICS = ("Ines Farrant", "Tobias Okell", "Marged Pryce", "Ruben Staal")
INSPECTORS = ("Halina Dwyer", "Osei Lindqvist")
ENGINEER = "Priya Thornbury"
MANAGER = "Callum Voss"

SITE_SHOP, SITE_SHOP_NUMBER = "Vellin Strand valve shop", "VSW-QC-02"
OUTSIDE_SHOP, OUTSIDE_SHOP_NUMBER = "Orrowby Bench and Seat", "OBS-0417"
