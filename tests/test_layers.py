"""The house keeps its storeys: a file imports only from lower rooms, or sideways on its own floor.

Two apps with the same rooms in the same order. `inspections` may import `fleet` at the same height
or lower; `fleet` never imports `inspections`. calc/ and drawings/ know no Django.
"""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("fleet", "inspections")
FLOORS = (  # from the ground up
    {"calc", "drawings"},
    {"clock", "permissions", "faults"},
    {"models"},
    {"locks", "audit", "replay_facts", "replays", "stamps", "ledger"},
    {"actions"},
    {"reports"},
    {"kept"},
    {"exchange", "exports", "papers", "jobs", "planning", "demo"},
    {"forms", "tables", "filters", "listing", "templatetags", "context"},
    {"views", "management"},
    {"urls", "wsgi"},
)
HEIGHT = {room: height for height, rooms in enumerate(FLOORS) for room in rooms}
PURE = FLOORS[0]
DOORWAYS = {"apps", "settings", "migrations"}  # Django finds these by name; they import freely
MAY_NAME_INSPECTIONS = {"fleet.settings", "fleet.urls"}


def room_of(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def imports_of(module: str, tree: ast.Module, *, is_package: bool) -> list[tuple[int, str]]:
    """Every import anywhere in the file as (line, full module name)."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            package = module.split(".") if is_package else module.split(".")[:-1]
            base = package[: len(package) - node.level + 1] if node.level else []
            start = ".".join([*base, *((node.module or "").split(".") if node.module else [])])
            found += [(node.lineno, f"{start}.{alias.name}") for alias in node.names]
    return found


def local_imports(tree: ast.Module) -> list[int]:
    """Lines of imports inside functions, and of imports by name."""
    lines = []
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            inside = (n for n in ast.walk(function) if n is not function)
            lines += [n.lineno for n in inside if isinstance(n, ast.Import | ast.ImportFrom)]
        if isinstance(function, ast.Name | ast.Attribute):
            name = function.id if isinstance(function, ast.Name) else function.attr
            lines += [function.lineno] if name in {"import_module", "__import__"} else []
    return sorted(set(lines))


def upward(module: str, target: str) -> str:
    """Why `module` may not import `target`; empty when it may."""
    app, room = module.split(".")[0], room_of(module)
    target_app, target_room = target.split(".")[0], room_of(target)
    if room in PURE and target_app.startswith(("django", "csp", "dj_")):
        return f"{room}/ knows no Django"
    if target_app not in APPS:
        return ""
    if app == "fleet" and target_app == "inspections":
        return "fleet never imports inspections"
    if target_room not in HEIGHT:
        return f"{target_app}.{target_room} is no room of the house"
    if HEIGHT[target_room] > HEIGHT[room]:
        return f"{target_room} stands above {room}"
    return ""


def names_inspections(module: str, tree: ast.Module) -> list[int]:
    """Lines where fleet names an inspections module or app as a string."""
    if not module.startswith("fleet.") or module in MAY_NAME_INSPECTIONS:
        return []
    strings = (n for n in ast.walk(tree) if isinstance(n, ast.Constant))
    return [
        n.lineno
        for n in strings
        if isinstance(n.value, str)
        and (n.value == "inspections" or n.value.startswith("inspections."))
    ]


def violations(module: str, source: str, *, is_package: bool = False) -> list[str]:
    """Each broken rule of one file as "module:line why"."""
    tree = ast.parse(source)
    room = room_of(module)
    named = [f"{module}:{n} names inspections" for n in names_inspections(module, tree)]
    if room in DOORWAYS:
        return named
    if room and room not in HEIGHT:
        return [f"{module}:1 is no room of the house"]
    targets = imports_of(module, tree, is_package=is_package)
    found = [
        f"{module}:{line} imports {target}: {why}"
        for line, target in targets
        if (why := upward(module, target) if room else "the package itself imports nothing")
    ]
    found += [f"{module}:{line} imports inside a function" for line in local_imports(tree)]
    return found + named


def files():
    for app in APPS:
        for path in sorted((ROOT / app).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            is_package = parts[-1] == "__init__"
            yield ".".join(parts[:-1] if is_package else parts), path, is_package


def test_every_file_imports_only_downwards():
    found = [
        line
        for module, path, is_package in files()
        for line in violations(module, path.read_text(), is_package=is_package)
    ]
    assert not found, "\n" + "\n".join(found)


@pytest.mark.parametrize(
    ("module", "source", "why"),
    [
        ("fleet.models.plant", "from fleet.actions.plant import add", "stands above"),
        ("fleet.models.plant", "from fleet import ledger", "stands above"),
        ("fleet.models.plant", "from ..ledger import record", "stands above"),
        ("fleet.models.plant", "import inspections.calc.drift", "never imports"),
        ("fleet.views.due", "import inspections", "never imports"),
        ("fleet.ledger", 'get_model("inspections", "Inspection")', "names inspections"),
        ("fleet.ledger", 'x = "inspections.Inspection"', "names inspections"),
        ("fleet.calc.units", "from django.db import models", "no Django"),
        ("inspections.drawings.band", "import django", "no Django"),
        ("fleet.calc.units", "from fleet.clock import today", "stands above"),
        ("inspections.models.evidence", "from fleet.actions import swap", "stands above"),
        ("fleet.actions.plant", "def f():\n    import json", "inside a function"),
        ("fleet.actions.plant", "def f():\n    if 1:\n        from os import path", "inside a"),
        ("fleet.actions.plant", "import importlib\nimportlib.import_module('x')", "inside a"),
        ("fleet.helpers", "", "no room"),
        ("fleet.views.due", "from fleet.settings import DEBUG", "no room"),
        ("fleet", "import json", "imports nothing"),
    ],
)
def test_the_checker_sees_a_planted_violation(module, source, why):
    is_package = module == "fleet"
    assert why in "\n".join(violations(module, source, is_package=is_package))


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("fleet.models.plant", "from django.db import models\nfrom fleet.calc.units import GAUGE"),
        ("fleet.models.plant", "from fleet.models.base import Keeping"),
        ("fleet.models.plant", "from .base import Keeping"),
        ("fleet.ledger", "from fleet import audit, clock"),
        ("inspections.models.evidence", "from fleet.models import Device"),
        ("inspections.views.bench", "from fleet.views.doors import right_needed"),
        ("fleet.urls", 'include("inspections.urls")'),
        ("fleet.apps", "def ready():\n    from fleet import checks"),
        ("fleet.calc.units", '"""Used by inspections as well."""\nimport fractions'),
    ],
)
def test_the_checker_lets_the_permitted_pass(module, source):
    assert violations(module, source) == []
