"""What a role in an arrangement says of the duty: which limit holds, and what contradicts it."""

ROLES = {"duty": "first", "additional": "additional", "fire": "fire"}
AGREES = {
    "duty": ("first", "boiler"),
    "additional": ("additional", "boiler"),
    "fire": ("fire",),
}
SHARED = "multiple"


def limiting_role(duty_role: str, arranged: str) -> str:
    """The duty role that limits the set pressure: the position's own, else that of the device's
    role among several that share one duty ("" for none)."""
    return duty_role or ROLES.get(arranged, "")


def role_contradiction(duty_role: str, kind: str, role: str) -> str:
    """Why the role contradicts the duty, or "" where it does not or nothing is given."""
    if kind != SHARED or not duty_role or duty_role in AGREES.get(role, (duty_role,)):
        return ""
    return f"its role is {role}, but its duty role is {duty_role}"
