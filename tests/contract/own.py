"""What the tests of the owner's own rules and tolerances share."""

import csv
import io


def sheet(heads, *rows):
    """A sheet as text; cells hold no bar, and JSON cells no line ends."""
    return "\n".join(" | ".join(row) for row in [heads, *rows])


def written(plant, name):
    text = plant.export()[name].decode()
    return {row["id"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}


def refused(plant, *columns, **sheets):
    before = plant.export()
    said = plant.load(**sheets)
    assert said.failed and plant.export() == before
    assert said.faults == list(columns)
    for row in said.rows:
        assert row["expected"], row
    return said.rows[0]
