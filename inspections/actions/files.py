"""Files of records, kept under their own digest: written whole, taken away with the last record."""

import os
from collections.abc import Iterable
from pathlib import Path
from tempfile import NamedTemporaryFile

from django.core.files.storage import default_storage


def write(name: str, data: bytes) -> None:
    """Whole or not at all: a file that stands under its name is never half of one."""
    path = Path(default_storage.path(name))
    path.parent.mkdir(parents=True, exist_ok=True)
    with NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    Path(file.name).chmod(0o640)
    Path(file.name).replace(path)


def unlink(names: Iterable[str]) -> None:
    for name in names:
        Path(default_storage.path(name)).unlink(missing_ok=True)
