"""The register's tables, by noun."""

from fleet.models.arrangements import Arrangement, ArrangementMember
from fleet.models.audit import AuditEntry, AuditHead
from fleet.models.base import Keeping
from fleet.models.devices import Device, DeviceModel
from fleet.models.events import EventVoid, ServiceEvent
from fleet.models.happenings import CounterReading, OutOfService, Trigger
from fleet.models.obligations import CountsFrom, Deferral, IntervalDecision, Obligation
from fleet.models.outages import JobHours, Outage, OutageUnit
from fleet.models.people import Membership, User
from fleet.models.plans import Feed, HandPlacing, LateScope, Plan, PlannedJob
from fleet.models.plant import Equipment, Site, Unit
from fleet.models.positions import (
    DutyRole,
    Installation,
    Position,
    PositionDuty,
    PositionStatus,
)
from fleet.models.proposals import DeferralRequest, Proposal
from fleet.models.rules import IntervalRule, ToleranceBand
from fleet.models.spans import DueLine, ObligationSpan, SpanState
from fleet.models.work import Job, Upload

__all__ = [
    "Arrangement",
    "ArrangementMember",
    "AuditEntry",
    "AuditHead",
    "CounterReading",
    "CountsFrom",
    "Deferral",
    "DeferralRequest",
    "Device",
    "DeviceModel",
    "DueLine",
    "DutyRole",
    "Equipment",
    "EventVoid",
    "Feed",
    "HandPlacing",
    "Installation",
    "IntervalDecision",
    "IntervalRule",
    "Job",
    "JobHours",
    "Keeping",
    "LateScope",
    "Membership",
    "Obligation",
    "ObligationSpan",
    "OutOfService",
    "Outage",
    "OutageUnit",
    "Plan",
    "PlannedJob",
    "Position",
    "PositionDuty",
    "PositionStatus",
    "Proposal",
    "ServiceEvent",
    "Site",
    "SpanState",
    "ToleranceBand",
    "Trigger",
    "Unit",
    "Upload",
    "User",
]
