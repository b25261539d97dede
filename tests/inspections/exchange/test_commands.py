"""import_workbook and export_workbook: what they print where, and how they end."""

import csv
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from fleet.models import Position, Site, User
from inspections.models import Inspection
from tests.inspections.exchange.books import Book


def run(capsys, *arguments, **options):
    """(stdout, stderr) of a command that may end in a CommandError, which is raised."""
    try:
        call_command(*arguments, **options)
    finally:
        run.said = capsys.readouterr()
    return run.said


@pytest.mark.django_db
def test_it_loads_and_says_what_it_wrote(tmp_path, capsys):
    said = run(capsys, "import_workbook", str(Book().write(tmp_path)))
    assert "read positions: 2 rows" in said.out
    assert "wrote positions added: 2" in said.out
    assert "positions" in said.err and "due dates" in said.err  # progress
    assert Inspection.objects.get().recorded_by.username == "command line"
    again = run(capsys, "import_workbook", str(tmp_path))
    assert "nothing to change" in again.out


@pytest.mark.django_db
def test_a_dry_run_writes_nothing(tmp_path, capsys):
    said = run(capsys, "import_workbook", str(Book().write(tmp_path)), "--dry-run")
    assert "would write positions added: 2" in said.out
    assert not Position.objects.exists()


@pytest.mark.django_db
def test_faults_end_in_failure_and_fill_their_file(tmp_path, capsys):
    book = Book()
    book["positions"][0]["set_pressure"] = "150 psoi"
    book["devices"][0]["colour"] = "red"
    path = tmp_path / "faults.csv"
    with pytest.raises(CommandError, match="1 fault: nothing was written"):
        run(capsys, "import_workbook", str(book.write(tmp_path / "book")), "--faults", str(path))
    assert "positions, row 2, set_pressure: “150 psoi” expected" in run.said.err
    rows = list(csv.DictReader(path.open(encoding="utf-8")))
    found = {(r["severity"], r["sheet"], r["row"], r["column"], r["typed"]) for r in rows}
    assert found == {
        ("note", "devices", "1", "colour", ""),
        ("fault", "positions", "2", "set_pressure", "150 psoi"),
    }
    assert not Position.objects.exists()


@pytest.mark.django_db
def test_the_options_reach_the_load(tmp_path, capsys):
    person = User.objects.create_user("eve", name="Eve Tarn")
    book = Book()
    for row in book["positions"]:
        del row["site"]
    book["positions"][0]["set_pressure"] = "1,035 kPag"
    book["installations"][0]["installed_on"] = "03/04/2020"
    book["inspections"][0]["verified_by"] = ""
    run(
        capsys, "import_workbook", str(book.write(tmp_path)), "--site", "Northmere",
        "--decimal-mark", ".", "--date-order", "DMY", "--by", "eve", "--leave-unverified",
    )  # fmt: skip
    assert Site.objects.get().name == "Northmere"
    duty = Position.objects.get(tag="PSV-1").duties.get()
    assert duty.set_pressure.magnitude == 1035
    spell = Position.objects.get(tag="PSV-1").installations.get()
    assert spell.installed_on.isoformat() == "2020-04-03"
    record = Inspection.objects.get()
    assert record.locked_at is None and record.recorded_by == person


@pytest.mark.django_db
@pytest.mark.parametrize(
    "arguments",
    [("import_workbook", "/nowhere.xlsx"), ("import_workbook", "/tmp", "--by", "nobody"),
     ("export_workbook", "/tmp/a.pdf"), ("export_workbook", "/tmp/a", "--site", "Nowhere")],
)  # fmt: skip
def test_what_cannot_be_done_fails(arguments, capsys):
    with pytest.raises(CommandError):
        run(capsys, *arguments)


@pytest.mark.django_db
def test_export_says_what_it_wrote(tmp_path, capsys):
    Book().load(tmp_path)
    said = run(capsys, "export_workbook", str(tmp_path / "out.xlsx"))
    assert "wrote inspections: 1 rows" in said.out and (tmp_path / "out.xlsx").exists()


@pytest.mark.parametrize("command", ["import_workbook", "export_workbook", "run_job"])
def test_every_command_explains_itself(command):
    done = subprocess.run(
        [sys.executable, settings.BASE_DIR / "manage.py", command, "--help"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "usage" in done.stdout
