"""Lists of both worlds: columns, what they sort by, and how a cell is said or drawn."""

from inspections.tables.compliance import ComplianceTable
from inspections.tables.settings import SettingsTable

__all__ = ["ComplianceTable", "SettingsTable"]
