"""What was found, set and left, by noun."""

from inspections.models.bench import ContactCheck, Document, FieldEdit, Photo
from inspections.models.findings import Finding, Question
from inspections.models.inspections import Disposition, Inspection, Medium, Method
from inspections.models.instructions import Instruction, PartLimit
from inspections.models.readings import PopStage, PopTest, SettingPoint, SettingReading, Stage

__all__ = [
    "ContactCheck",
    "Disposition",
    "Document",
    "FieldEdit",
    "Finding",
    "Inspection",
    "Instruction",
    "Medium",
    "Method",
    "PartLimit",
    "Photo",
    "PopStage",
    "PopTest",
    "Question",
    "SettingPoint",
    "SettingReading",
    "Stage",
]
