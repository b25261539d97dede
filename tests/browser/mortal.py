"""The site as a child process that can be killed outright and started again where it was."""

import os
import signal
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg

from tests.browser.served import ROOT, Loaded, Site, environment, wait_for

HEAD = "fleet_audithead"  # every writer takes it first


class Mortal:
    """`site`: where it answers, dead or alive."""

    def __init__(self, url: str, plant: Loaded, name: str) -> None:
        with socket.create_server(("127.0.0.1", 0)) as listener:
            self.port = listener.getsockname()[1]
        self.url, self.log = url, plant.folder / f"{name}.log"
        address = f"http://127.0.0.1:{self.port}"
        self.site = Site(address, environment(url, plant.folder), plant.folder)
        self.child: subprocess.Popen | None = None

    def start(self) -> None:
        command = [sys.executable, "-m", "gunicorn", "fleet.wsgi", "-w", "2"]
        command += ["-b", f"127.0.0.1:{self.port}"]
        with self.log.open("a") as log:
            self.child = subprocess.Popen(
                command,
                cwd=ROOT,
                env=self.site.environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        wait_for(self.site.address, self.child, self.log)

    def kill(self) -> None:
        """SIGKILL, to the workers too: nothing is finished, nothing is said."""
        if self.child is not None:
            os.killpg(self.child.pid, signal.SIGKILL)
            self.child.wait()
            self.child = None

    @contextmanager
    def writing(self) -> Iterator[None]:
        """While this lasts every writer waits in the midst of his request."""
        if self.url.startswith("sqlite"):
            path = self.url.removeprefix("sqlite:///")
            held = sqlite3.connect(path, isolation_level=None)
            held.execute("BEGIN IMMEDIATE")
        else:
            held = psycopg.connect(self.url)
            held.execute(f"SELECT * FROM {HEAD} FOR UPDATE")
        try:
            yield
        finally:
            held.rollback()
            held.close()

    def lock(self, record: int) -> None:
        """As verification does at its end; who verified it is no matter here."""
        connection = self._connected()
        connection.execute(
            "UPDATE inspections_inspection SET accepted_by_id = recorded_by_id,"
            " locked_at = '2026-10-31 12:00:00+00:00'"
            f" WHERE id = {record}"
        )
        connection.commit()
        connection.close()

    def rows(self, question: str) -> list[tuple]:
        """What the database answers, asked beside the site."""
        connection = self._connected()
        try:
            return connection.execute(question).fetchall()
        finally:
            connection.close()

    def _connected(self) -> sqlite3.Connection | psycopg.Connection:
        if self.url.startswith("sqlite"):
            return sqlite3.connect(self.url.removeprefix("sqlite:///"))
        return psycopg.connect(self.url)


@contextmanager
def mortal(plant: Loaded, name: str) -> Iterator[Mortal]:
    with plant.copied(name) as url:
        server = Mortal(url, plant, name)
        server.start()
        try:
            yield server
        finally:
            server.kill()
