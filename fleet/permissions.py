"""Who may do what: one readable table.

A right is a word; a role is a set of rights at one site. Views name the right they need; nothing
else decides. Outside a user's sites rows do not exist (404); without the right they are told (403).
"""

PLANNER = "planner"
MECHANIC = "mechanic"
ENGINEER = "engineer"
AUDITOR = "auditor"
ADMINISTRATOR = "administrator"
ROLES = (PLANNER, MECHANIC, ENGINEER, AUDITOR, ADMINISTRATOR)

READ = "read"
PLAN_OUTAGES = "plan_outages"
APPROVE_LATE_SCOPE = "approve_late_scope"
FIT_DEVICE = "fit_device"
RECORD_JOB = "record_job"
RECORD_HAPPENING = "record_happening"
VERIFY_JOB = "verify_job"
CORRECT_RECORD = "correct_record"
ANSWER_QUESTION = "answer_question"
ANSWER_PROPOSAL = "answer_proposal"
REQUEST_DEFERRAL = "request_deferral"
APPROVE_DEFERRAL = "approve_deferral"
DECIDE_INTERVAL = "decide_interval"
LOAD_WORKBOOK = "load_workbook"
MANAGE_RULES = "manage_rules"
INSTRUCT_SETTING = "instruct_setting"
EDIT_MODEL = "edit_model"
ACKNOWLEDGE_FLAG = "acknowledge_flag"
MANAGE_PEOPLE = "manage_people"
MAKE_CALENDAR = "make_calendar"
PRINT_PACK = "print_pack"

RIGHTS: dict[str, frozenset[str]] = {
    READ: frozenset(ROLES),
    PLAN_OUTAGES: frozenset({PLANNER}),
    APPROVE_LATE_SCOPE: frozenset({ENGINEER}),
    FIT_DEVICE: frozenset({PLANNER, MECHANIC, ENGINEER}),
    RECORD_JOB: frozenset({MECHANIC}),
    RECORD_HAPPENING: frozenset({PLANNER, MECHANIC, ENGINEER}),
    VERIFY_JOB: frozenset({MECHANIC, ENGINEER}),
    CORRECT_RECORD: frozenset({MECHANIC, ENGINEER}),
    ANSWER_QUESTION: frozenset({ENGINEER}),
    ANSWER_PROPOSAL: frozenset({ENGINEER}),
    REQUEST_DEFERRAL: frozenset({PLANNER, ENGINEER}),
    APPROVE_DEFERRAL: frozenset({ENGINEER}),
    DECIDE_INTERVAL: frozenset({ENGINEER}),
    LOAD_WORKBOOK: frozenset({PLANNER, ENGINEER, ADMINISTRATOR}),
    MANAGE_RULES: frozenset({ENGINEER}),
    INSTRUCT_SETTING: frozenset({ENGINEER}),
    EDIT_MODEL: frozenset({ENGINEER}),
    ACKNOWLEDGE_FLAG: frozenset({ENGINEER}),
    MANAGE_PEOPLE: frozenset({ADMINISTRATOR}),
    MAKE_CALENDAR: frozenset(ROLES),
    PRINT_PACK: frozenset({PLANNER, MECHANIC, ENGINEER}),
}


def roles_with(right: str) -> frozenset[str]:
    """The roles that carry a right. An unknown right is a programming error: KeyError."""
    return RIGHTS[right]
