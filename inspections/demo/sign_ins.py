"""Who signs in at the demo: one account a role, and a second mechanic to verify the first.

The ship and the station have one each who does all; engineer and auditor look at every site.
"""

from dataclasses import dataclass

from fleet.permissions import ADMINISTRATOR, AUDITOR, ENGINEER, MECHANIC, PLANNER
from inspections.demo.people import CHIEF, MECHANICS, STATION_ENGINEER
from inspections.demo.people import ENGINEER as THE_ENGINEER
from inspections.demo.sheets import SHIP, SITE, SITES, STATION


@dataclass(frozen=True)
class SignIn:
    username: str
    name: str
    roles: tuple[str, ...]
    sites: tuple[str, ...] = (SITE,)


SIGN_INS = (
    SignIn("planner", "Wanda Kestle", (PLANNER,)),
    SignIn("mechanic", MECHANICS[0], (MECHANIC,)),
    SignIn("second", MECHANICS[1], (MECHANIC,)),
    SignIn("engineer", THE_ENGINEER, (ENGINEER,), SITES),
    SignIn("auditor", "Sten Abara", (AUDITOR,), SITES),
    SignIn("administrator", "Lowri Hask", (ADMINISTRATOR,), SITES),
    SignIn("chief", CHIEF, (PLANNER, MECHANIC, ENGINEER), (SHIP,)),
    SignIn("station", STATION_ENGINEER, (PLANNER, MECHANIC, ENGINEER), (STATION,)),
)
