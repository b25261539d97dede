"""What was found, set and left, by noun."""

from inspections.models.findings import Finding, Question
from inspections.models.inspections import Disposition, Inspection, Medium, Method
from inspections.models.readings import PopTest, SettingPoint, SettingReading, Stage

__all__ = [
    "Disposition",
    "Finding",
    "Inspection",
    "Medium",
    "Method",
    "PopTest",
    "Question",
    "SettingPoint",
    "SettingReading",
    "Stage",
]
