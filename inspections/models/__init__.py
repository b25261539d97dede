"""What was found, set and left, by noun."""

from inspections.models.bench import ContactCheck, Document, FieldEdit, Photo
from inspections.models.findings import Finding, Question
from inspections.models.inspections import Disposition, Inspection, Medium, Method
from inspections.models.instructions import Instruction, PartLimit
from inspections.models.readings import PopStage, PopTest, SettingPoint, SettingReading, Stage
from inspections.models.states import Acknowledgement, FlagState, Screening, SettingState

__all__ = [
    "Acknowledgement",
    "ContactCheck",
    "Disposition",
    "Document",
    "FieldEdit",
    "Finding",
    "FlagState",
    "Inspection",
    "Instruction",
    "Medium",
    "Method",
    "PartLimit",
    "Photo",
    "PopStage",
    "PopTest",
    "Question",
    "Screening",
    "SettingPoint",
    "SettingReading",
    "SettingState",
    "Stage",
]
