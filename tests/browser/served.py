"""The site as a child process, each time on a fresh copy of a database loaded once."""

import fcntl
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.parse import urlsplit, urlunsplit
from urllib.request import urlopen

import psycopg

ROOT = Path(__file__).resolve().parent.parent.parent
AS_OF = "2026-10-31"  # the demo plant's stopped clock
PATIENCE_SECONDS = 60


@dataclass(frozen=True)
class Loaded:
    """A database that is copied and never served itself; `url` names it."""

    url: str
    folder: Path

    @contextmanager
    def copied(self, name: str) -> Iterator[str]:
        """The address of a fresh copy, gone afterwards."""
        if self.url.startswith("sqlite"):
            copy = self.folder / f"{name}.sqlite3"
            shutil.copy(self.url.removeprefix("sqlite:///"), copy)
            yield f"sqlite:///{copy}"
            copy.unlink()
            return
        source, target = database_name(self.url), f"{database_name(self.url)}_{name}"
        administer(self.url, f'DROP DATABASE IF EXISTS "{target}"')
        administer(self.url, f'CREATE DATABASE "{target}" TEMPLATE "{source}"')
        yield renamed(self.url, target)
        administer(self.url, f'DROP DATABASE "{target}" WITH (FORCE)')


@dataclass(frozen=True)
class Site:
    address: str
    environment: dict[str, str]
    folder: Path

    def manage(self, *arguments: str) -> str:
        """Run one of the site's own commands on its database; answers what it printed."""
        return manage(self.environment, *arguments)


def database_name(url: str) -> str:
    return urlsplit(url).path.lstrip("/")


def renamed(url: str, name: str) -> str:
    return urlunsplit(urlsplit(url)._replace(path=f"/{name}"))


def administer(url: str, statement: str) -> None:
    with psycopg.connect(renamed(url, "postgres"), autocommit=True) as connection:
        connection.execute(statement)


def environment(url: str, folder: Path) -> dict[str, str]:
    """As in production: no DEBUG. Nothing of the tests' own settings leaks in."""
    kept = {k: v for k, v in os.environ.items() if k in {"PATH", "HOME", "LANG", "TMPDIR"}}
    return kept | {
        "DJANGO_SETTINGS_MODULE": "fleet.settings",
        "DATABASE_URL": url,
        "SECRET_KEY": "for browser tests only",
        "ALLOWED_HOSTS": "127.0.0.1",
        "MEDIA_ROOT": str(folder / "media"),
        "FIXED_TODAY": AS_OF,
    }


def manage(env: dict[str, str], *arguments: str) -> str:
    command = [sys.executable, "manage.py", *arguments]
    done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{arguments}:\n{done.stdout}\n{done.stderr}"
    return done.stdout


@contextmanager
def loaded(folder: Path) -> Iterator[Loaded]:
    """The demo plant, loaded once: an SQLite file, or a database on the DATABASE_URL's server."""
    given = os.environ.get("DATABASE_URL", "")
    on_server = given.startswith("postgres")
    url = f"sqlite:///{folder / 'loaded.sqlite3'}"
    if on_server:
        url = renamed(given, f"{database_name(given)}_browser_{os.getpid()}")
        administer(url, f'CREATE DATABASE "{database_name(url)}"')
    try:
        env = environment(url, folder)
        manage(env, "migrate", "-v0")
        collect_static(env)
        manage(env, "demo", "--no-serve")
        yield Loaded(url, folder)
    finally:
        if on_server:
            administer(url, f'DROP DATABASE "{database_name(url)}" WITH (FORCE)')


def collect_static(env: dict[str, str]) -> None:
    """Once a run, whoever of its workers comes first: all serve the same files."""
    run = os.environ.get("PYTEST_XDIST_TESTRUNUID", str(os.getpid()))
    done = Path(tempfile.gettempdir()) / f"relief-fleet-static-{run}"
    with (ROOT / "manage.py").open() as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            manage(env, "collectstatic", "--noinput", "-v0")
            done.touch()


@contextmanager
def served(plant: Loaded, name: str) -> Iterator[Site]:
    """The site on a free loopback port, until the block ends."""
    with plant.copied(name) as url, socket.create_server(("127.0.0.1", 0)) as listener:
        site = Site(
            f"http://127.0.0.1:{listener.getsockname()[1]}",
            environment(url, plant.folder),
            plant.folder,
        )
        fd = listener.fileno()
        command = [sys.executable, "-m", "gunicorn", "fleet.wsgi", "-w", "2", "-b", f"fd://{fd}"]
        log = (plant.folder / f"{name}.log").open("w")
        with (
            log,
            subprocess.Popen(
                command, cwd=ROOT, env=site.environment, stdout=log, stderr=log, pass_fds=[fd]
            ) as child,
        ):
            try:
                wait_for(site.address, child, Path(log.name))
                yield site
            finally:
                child.terminate()


def wait_for(address: str, child: subprocess.Popen, log: Path) -> None:
    until = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < until:
        assert child.poll() is None, f"the site stopped:\n{log.read_text()}"
        try:
            with urlopen(f"{address}/sign-in/", timeout=PATIENCE_SECONDS):
                return
        except (URLError, ConnectionError):
            time.sleep(0.1)
    raise AssertionError(f"the site did not answer:\n{log.read_text()}")
