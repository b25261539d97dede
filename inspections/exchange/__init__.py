"""The workbook, in and out: `load(source, by=, at=, ...) -> Report` and `dump(path, ...)`."""

from fleet.exchange.run import Options, Report
from inspections.exchange.export import drafts, dump
from inspections.exchange.workbook import load

__all__ = ["Options", "Report", "drafts", "dump", "load"]
