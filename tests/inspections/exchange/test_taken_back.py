"""A fitting taken back as a mistake stays away when its sheet is loaded again."""

from datetime import UTC, datetime

import pytest

from fleet.actions import installations
from fleet.models import Installation
from inspections.exchange import dump, load
from tests import factories

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 2, 12, tzinfo=UTC)
SHEETS = {
    "positions": "site,tag,unit,set_pressure\nNorth,PSV-1,Still,150 psig\n",
    "devices": "device,kind\nD-1,spring\n",
    "installations": "site,tag,device,installed_on\nNorth,PSV-1,D-1,2024-03-01\n",
}


def test_the_sheet_it_came_from_does_not_bring_it_back(tmp_path):
    book = tmp_path / "book"
    book.mkdir()
    for name, text in SHEETS.items():
        (book / f"{name}.csv").write_text(text, encoding="utf-8")
    by = factories.UserFactory()
    assert not load(book, by=by, at=AT).faults
    [spell] = Installation.objects.all()
    installations.void(spell, reason="wrong tag", by=by, at=AT)

    report = load(book, by=by, at=AT)

    assert [note.code for note in report.notes] == ["taken_back"]
    assert not Installation.objects.exists()
    dump(tmp_path / "out")
    kept = (tmp_path / "out" / "installations.csv").read_text(encoding="utf-8").splitlines()
    assert len(kept) == 1  # the heads alone
