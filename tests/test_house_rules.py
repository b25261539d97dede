"""The house rules that can be read off the source: sizes, habits, the clock, the top of the tree.

Each rule is a function from text to offences, so that a planted offence can be shown to it.
"""

import ast
import re
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(__file__).resolve().parent.parent
FILE_LINES, FUNCTION_LINES = 300, 40
CODE = ("fleet", "inspections", "tests")
PRODUCT = ("fleet", "inspections")
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml"} | {
    "fleet",
    "inspections",
    "templates",
    "fixtures",
    "tests",
}
CLOCK = Path("fleet/clock.py")


def sources(folders=CODE, suffixes=(".py",), *, migrations=False):
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*")):
            hand_written = migrations or "migrations" not in path.parts
            if path.suffix in suffixes and hand_written and "vendor" not in path.parts:
                yield path.relative_to(ROOT), path.read_text()


def long_functions(source: str) -> list[str]:
    functions = (
        node
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    )
    return [
        f"{f.lineno} {f.name} has {f.end_lineno - f.lineno + 1} lines"
        for f in functions
        if f.end_lineno - f.lineno + 1 > FUNCTION_LINES
    ]


def asks_the_clock(source: str) -> list[int]:
    """Lines that ask what day or time it is now."""
    lines = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute):
            owner = node.value.attr if isinstance(node.value, ast.Attribute) else ""
            owner = node.value.id if isinstance(node.value, ast.Name) else owner
            asked = node.attr in {"today", "now", "utcnow"}
            asked = asked and owner in {"date", "datetime", "timezone", "dt"}
            lines += [node.lineno] if asked or node.attr in {"localdate", "localtime"} else []
        elif isinstance(node, ast.ImportFrom) and node.module == "django.utils.timezone":
            lines += [node.lineno] if {a.name for a in node.names} & {"now", "localdate"} else []
        elif isinstance(node, ast.keyword) and node.arg in {"auto_now", "auto_now_add"}:
            lines.append(node.value.lineno)
    return lines


def star_imports(source: str) -> list[int]:
    imports = (n for n in ast.walk(ast.parse(source)) if isinstance(n, ast.ImportFrom))
    return [node.lineno for node in imports if any(a.name == "*" for a in node.names)]


def wires_signals(source: str) -> list[int]:
    lines = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom):
            names = {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            names = {alias.name for alias in node.names}
        else:
            continue
        if any(
            "signals" in name.split(".") or name.startswith("django.dispatch") for name in names
        ):
            lines.append(node.lineno)
    return lines


def uses_admin_or_generic_keys(source: str) -> list[int]:
    lines = source.splitlines()
    words = re.compile(r"django\.contrib\.admin\b|GenericForeignKey|contenttypes\.fields")
    return [number for number, line in enumerate(lines, 1) if words.search(line)]


def uncommented_dependencies(toml: str) -> list[str]:
    """Dependencies whose line says nothing about why they are there."""
    data = tomllib.loads(toml)["project"]
    extras = data.get("optional-dependencies", {}).values()
    wanted = [*data.get("dependencies", []), *(name for extra in extras for name in extra)]
    return [
        name
        for name in wanted
        if not any(
            re.search(r"#\s*\w{2,}", line.split(f'"{name}"', 1)[1])
            for line in toml.splitlines()
            if f'"{name}"' in line
        )
    ]


def offences(rule, folders=CODE, *, spare=()):
    found = (
        (path, offence)
        for path, text in sources(folders)
        if path not in spare
        for offence in rule(text)
    )
    return [f"{path}:{offence}" for path, offence in found]


def test_no_file_is_too_long():
    texts = list(sources(suffixes=(".py", ".js"))) + list(sources(("templates",), (".html",)))
    long = [
        f"{path} {text.count(chr(10))}" for path, text in texts if text.count("\n") > FILE_LINES
    ]
    assert not long, "\n".join(long)


@pytest.mark.parametrize(
    ("rule", "folders", "spare"),
    [
        (long_functions, CODE, ()),
        (star_imports, CODE, ()),
        (wires_signals, PRODUCT, ()),
        (uses_admin_or_generic_keys, PRODUCT, ()),
        (asks_the_clock, CODE, (CLOCK,)),
    ],
)
def test_the_source_keeps_the_house_rules(rule, folders, spare):
    found = offences(rule, folders, spare=spare)
    assert not found, f"{rule.__name__}:\n" + "\n".join(found)


def test_there_is_no_utils_module():
    names = {"utils", "util", "helpers", "misc", "common", "signals", "admin"}
    assert not [path for path, _ in sources() if path.stem in names]


def test_django_admin_is_not_installed():
    assert not [name for name in settings.INSTALLED_APPS if "admin" in name]


def test_the_top_of_the_tree_holds_only_the_rooms_of_the_house():
    ignored = [line.strip("/") for line in (ROOT / ".gitignore").read_text().split() if line]
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    odd = {n for n in names - TOP if not any(fnmatch(n, pattern) for pattern in ignored)}
    assert not {name for name in odd if not re.fullmatch(r"[a-z.-]+\.lock", name)}
    assert names >= TOP


def test_every_dependency_says_why():
    assert uncommented_dependencies((ROOT / "pyproject.toml").read_text()) == []


def test_the_lock_file_locks_what_is_asked_for():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    packages = tomllib.loads((ROOT / "uv.lock").read_text())["package"]
    own = next(package for package in packages if package["name"] == project["name"])
    locked = {(r["name"], r.get("specifier", "")) for r in own["metadata"]["requires-dist"]}
    extras = project["optional-dependencies"].values()
    asked = [*project["dependencies"], *(name for extra in extras for name in extra)]
    parts = [re.fullmatch(r"([\w-]+)(?:\[.*?\])?(.*)", line).groups() for line in asked]
    assert set(parts) == locked


def test_every_command_is_in_the_readme():
    readme = (ROOT / "README.md").read_text()
    commands = [
        path.stem
        for app in PRODUCT
        for path in (ROOT / app / "management/commands").glob("*.py")
        if not path.stem.startswith("_")
    ]
    assert not [name for name in commands if not re.search(rf"\b{name}\b", readme)]


@pytest.mark.parametrize("command", [r"manage\.py demo", "/pytest -n auto"])
def test_the_readme_gives_the_two_commands_that_ci_runs(command):
    lines = (ROOT / "README.md").read_text().splitlines()
    assert [line for line in lines if re.fullmatch(rf"python3 -m venv .*{command}", line)]


@pytest.mark.parametrize(
    ("rule", "planted"),
    [
        (long_functions, "def f():\n" + "    x = 1\n" * FUNCTION_LINES),
        (star_imports, "def f():\n    from os import *"),
        (wires_signals, "from django.db.models.signals import post_save"),
        (wires_signals, "from django.db.models import signals"),
        (wires_signals, "from django.dispatch import receiver"),
        (wires_signals, "import django.dispatch"),
        (uses_admin_or_generic_keys, "from django.contrib.admin import site"),
        (uses_admin_or_generic_keys, "target = GenericForeignKey()"),
        (asks_the_clock, "x = date.today()"),
        (asks_the_clock, "x = datetime.date.today()"),
        (asks_the_clock, "x = datetime.now(UTC)"),
        (asks_the_clock, "x = models.DateTimeField(default=timezone.now)"),
        (asks_the_clock, "x = timezone.localdate()"),
        (asks_the_clock, "from django.utils.timezone import now"),
        (asks_the_clock, "x = models.DateTimeField(auto_now_add=True)"),
    ],
)
def test_a_planted_offence_is_seen(rule, planted):
    assert rule(planted)


@pytest.mark.parametrize(
    ("rule", "fine"),
    [
        (long_functions, "def f():\n" + "    x = 1\n" * (FUNCTION_LINES - 1)),
        (asks_the_clock, "from fleet import clock\nday = clock.today()\nmoment = clock.now()"),
        (wires_signals, "from fleet.models import Device"),
    ],
)
def test_what_is_allowed_passes(rule, fine):
    assert not rule(fine)


def test_a_dependency_without_a_reason_is_seen():
    toml = '[project]\ndependencies = [\n  "a>=1",  # why it is here\n  "b>=2",\n]\n'
    assert uncommented_dependencies(toml) == ["b>=2"]
