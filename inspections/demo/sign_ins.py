"""Who signs in at the demo: one account a role, and a second mechanic to verify the first."""

from dataclasses import dataclass

from fleet.permissions import ADMINISTRATOR, AUDITOR, ENGINEER, MECHANIC, PLANNER
from inspections.demo.people import ENGINEER as THE_ENGINEER
from inspections.demo.people import MECHANICS


@dataclass(frozen=True)
class SignIn:
    username: str
    name: str
    roles: tuple[str, ...]


SIGN_INS = (
    SignIn("planner", "Wanda Kestle", (PLANNER,)),
    SignIn("mechanic", MECHANICS[0], (MECHANIC,)),
    SignIn("second", MECHANICS[1], (MECHANIC,)),
    SignIn("engineer", THE_ENGINEER, (ENGINEER,)),
    SignIn("auditor", "Sten Abara", (AUDITOR,)),
    SignIn("administrator", "Lowri Hask", (ADMINISTRATOR,)),
)
