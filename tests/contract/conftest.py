"""Every contract stands on an empty migrated database and a stopped clock."""

import pytest

from tests.contract.plant import TODAY, Plant


@pytest.fixture
def plant(db, settings, tmp_path) -> Plant:
    settings.FIXED_TODAY = TODAY
    return Plant(tmp_path)
