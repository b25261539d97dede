"""The job sheet for shops that still print: what is known, and a box for everything to be read."""

from datetime import date

from fleet.drawings.axis import day_words
from fleet.papers.sheets import Sheets
from fleet.reports.reasons import activity_words
from inspections.papers.job_blanks import cautions_of, known, record
from inspections.reports.job_sheet import JobSheet


def pdf(sheet: JobSheet, printed_on: date) -> bytes:
    """`printed_on` stands at the head: what is known may be another thing tomorrow."""
    job = sheet.job
    title = f"Job sheet {job.ref}"
    sheets = Sheets(title, f"{title}, device {job.device}, printed {day_words(printed_on)}")
    sheets.heading(title, [_lede(sheet, printed_on)])
    if job.corrects is not None:
        sheets.note(f"This job corrects record {job.corrects.ref}.", "soon")
    known(sheets, sheet)
    for words in cautions_of(job.device):
        sheets.words(f"△ {words}")
    record(sheets, sheet)
    return sheets.end()


def _lede(sheet: JobSheet, printed_on: date) -> str:
    job, work = sheet.job, activity_words(sheet.job.activity)
    place = f"from {job.position}" if job.position else "not fitted anywhere yet"
    return (
        f"{work[0].upper()}{work[1:]} of {job.device}, {place}. Printed {day_words(printed_on)}."
        " What is written here counts once it is entered, signed and verified."
    )
