"""Lists: columns, what they sort by, and how a cell is said or drawn."""

from fleet.tables.due import DueTable
from fleet.tables.outages import OutageTable, ScopeTable
from fleet.tables.plans import PlanTable
from fleet.tables.register import DeviceTable, PositionTable

__all__ = ["DeviceTable", "DueTable", "OutageTable", "PlanTable", "PositionTable", "ScopeTable"]
