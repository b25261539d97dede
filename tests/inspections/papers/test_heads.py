"""The head of a column stays over its own column: the next one is never written over it."""

import pytest

from fleet.papers.lettering import SANS, register_fonts, width_of
from fleet.papers.sheets import GAP, LABEL, WIDE
from inspections.papers.readings import FINDINGS, POPS, SETTINGS


@pytest.mark.parametrize("columns", [POPS, SETTINGS, FINDINGS])
def test_heads_fit_over_their_columns(columns):
    register_fonts()
    for column in columns:
        assert width_of(column.title, SANS, LABEL) <= column.width - GAP / 2, column.title
    assert sum(column.width for column in columns) == pytest.approx(WIDE, abs=0.1)
