"""Every model has a factory, a name for people, a line in the glossary and a verdict on keeping."""

import inspect
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection
from factory.django import DjangoModelFactory

from fleet import locks
from fleet.models.base import Keeping
from tests import factories

ROOT = Path(__file__).resolve().parent.parent
MODELS = [m for app in ("fleet", "inspections") for m in apps.get_app_config(app).get_models()]
FACTORIES = {
    value._meta.model: value
    for _, value in inspect.getmembers(factories, inspect.isclass)
    if issubclass(value, DjangoModelFactory) and value._meta.model
}


def names(models):
    return sorted(model.__name__ for model in models)


def glossary(text: str) -> set[str]:
    section = re.split(r"^## ", text.partition("\n## Glossary\n")[2], flags=re.M)[0]
    return set(re.findall(r"^- \*\*(\w+)\*\*: \S", section, flags=re.M))


def test_every_model_has_a_factory():
    assert names(set(MODELS) - set(FACTORIES)) == []


def test_every_model_has_a_line_in_the_glossary():
    words = glossary((ROOT / "DEVELOPERS.md").read_text())
    assert [name for name in names(MODELS) if name not in words] == []


def test_every_model_names_itself_for_people():
    def own(model):
        ours = [c for c in model.__mro__ if c.__module__.split(".")[0] in ("fleet", "inspections")]
        return any("__str__" in c.__dict__ for c in ours)

    assert names(model for model in MODELS if not own(model)) == []


def test_every_model_declares_how_it_is_kept():
    assert names(m for m in MODELS if not isinstance(getattr(m, "keeping", None), Keeping)) == []


def test_every_locked_model_says_what_locks_it():
    locked = [model for model in MODELS if model.keeping is Keeping.LOCKED]
    says = [m for m in locked if hasattr(m, "locked_by") != hasattr(m, "locked_with")]
    assert names(says) == names(locked)


@pytest.mark.django_db
def test_what_is_declared_is_what_is_locked():
    laid = {lock.table for lock in locks.locks(connection)}
    kept = {m._meta.db_table for m in MODELS if m.keeping is not Keeping.MUTABLE}
    assert laid == kept


@pytest.mark.django_db
def test_every_lock_stands_after_a_full_migrate():
    assert locks.missing(connection) == []


@pytest.mark.django_db
@pytest.mark.parametrize("model", FACTORIES, ids=lambda model: model.__name__)
def test_every_factory_makes_a_row_that_says_what_it_is(model):
    row = FACTORIES[model]()
    assert model.objects.get(pk=row.pk) == row
    assert str(row).strip() and f"object ({row.pk})" not in str(row)


def test_the_glossary_is_read_from_its_own_section():
    text = "- **A**: x\n\n## Glossary\n- **Site**: a plant\n- **B**:\n## Next\n- **C**: y"
    assert glossary(text) == {"Site"}
