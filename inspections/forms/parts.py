"""Parts: what was measured, what was seen and done, and the counted loop of contact checks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django import forms
from django.forms import BoundField

from inspections.actions.step import Step
from inspections.actions.workmanship import limits_of
from inspections.calc.limits import Limit, key_of
from inspections.calc.parts import MEASURED, trade_of
from inspections.forms.inputs import StepForm
from inspections.models import Finding

COLUMNS = ("part", "condition", "action", "measure", "value")
ANSWER = "What was done, or why it stays"
UNBROKEN, BROKEN = "unbroken", "broken"
RINGS = (("", "not checked yet"), (UNBROKEN, "unbroken ring"), (BROKEN, "broken ring"))


@dataclass(frozen=True)
class Measurement:
    """One figure the page asks for: of a limit of the model, or as is usual for its kind.

    hint: the limit in words, or what is commonly looked for with its source; never judged by.
    """

    key: str
    part: str
    measure: str
    hint: str
    limit: Limit | None = None

    @property
    def name(self) -> str:
        return f"m_{self.key}"

    @property
    def words(self) -> str:
        return f"{self.part}, {self.measure}"


def measurements_of(device) -> list[Measurement]:
    """What the model has limits for, then what is usually measured besides."""
    asked = {
        key: Measurement(key, limit.part, limit.measure, f"limit: {limit.words()}", limit)
        for key, limit in limits_of(device).items()
    }
    for usual in trade_of(device.kind).usual:
        said = f"{usual.hint} ({usual.source})" if usual.source else usual.hint
        key = key_of(usual.part, usual.measure)
        asked.setdefault(key, Measurement(key, usual.part, usual.measure, said))
    return list(asked.values())


def _no_longer_asked(data, keys: set[str]) -> list[Measurement]:
    """Figures sent for what a limit asked when the page was opened, and is gone now: kept."""
    sent = (name[2:-6] for name in data if name.startswith("m_") and name.endswith("-value"))
    words = "its limit was taken away meanwhile"
    return [
        Measurement(key, key.replace("_", " ")[:80], "figure", words)
        for key in sent
        if key not in keys and data.get(f"m_{key}-value")
    ]


class InspectForm(StepForm):
    """Figures, findings by part, contact checks: what is stored, and blank places."""

    step, title = "inspect", "Inspect and repair"
    COLUMNS = COLUMNS
    LABELS = {
        "part": "Part",
        "condition": "What was seen",
        "action": "What was done",
        "measure": "Measured",
        "value": "Figure",
    }
    BLANK = 3
    BOXES = {"part": 80, "condition": 200, "action": 200, "measure": 80, "value": 60}
    LISTS = {"part": "parts", "condition": "conditions", "action": "actions"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        device = self.record.inspection.device
        self.trade, self.asked = trade_of(device.kind), measurements_of(device)
        self.asked += _no_longer_asked(self.data, {asked.key for asked in self.asked})
        self.measured, self.findings = self._parted(self.record.findings)
        self.offered = self._offered()
        self.count = max(len(self.findings) + len(self.offered) + self.BLANK, _rows_in(self.data))
        self._add_measurements()
        self._add_rows()
        self.checks = self._check_count() if self.trade.is_lapped else 0
        self._add_checks()

    def _parted(self, findings: list[Finding]) -> tuple[dict[str, Finding], list[Finding]]:
        """Lines that hold a figure alone stand under what was measured; the rest are findings."""
        asked, measured, rest = {m.key for m in self.asked}, {}, []
        for finding in findings:
            key = key_of(finding.part, finding.measure)
            if finding.condition == MEASURED and key in asked and key not in measured:
                measured[key] = finding
            else:
                rest.append(finding)
        return measured, rest

    def _offered(self) -> list[str]:
        """Parts that this kind of device is asked about, and of which nothing is said yet."""
        said = {finding.part.casefold() for finding in self.findings}
        return [part for part in self.trade.asked if part not in said]

    def _is_offered(self, given: Sequence[str]) -> bool:
        """A row that holds an offered part and nothing else says nothing."""
        return given[0] in self.trade.asked and not any(given[1:])

    def _add(self, name: str, label: str, length: int, initial: str, words: str = "") -> None:
        field = forms.CharField(
            label=label, required=False, max_length=length, show_hidden_initial=True
        )
        field.widget.attrs |= {"autocomplete": "off"} | ({"list": words} if words else {})
        self.fields[name] = field
        self.initial.setdefault(name, initial)

    def _add_measurements(self) -> None:
        for asked in self.asked:
            stored = self.measured.get(asked.key)
            self._add(f"{asked.name}-value", asked.words, 60, stored.value if stored else "")
            done = stored.action if stored else ""
            self._add(
                f"{asked.name}-action", "What was done, or why it stays", 200, done, "actions"
            )

    def _add_rows(self) -> None:
        for row in range(self.count):
            finding = self.findings[row] if row < len(self.findings) else None
            place = row - len(self.findings)
            offered = self.offered[place] if 0 <= place < len(self.offered) else ""
            for column in COLUMNS:
                stored = getattr(finding, column, offered if column == "part" else "")
                words = self.LISTS.get(column, "")
                self._add(f"{row}-{column}", self.LABELS[column], self.BOXES[column], stored, words)

    def _check_count(self) -> int:
        """Those on record, and a place for the next one."""
        last = max((check.order for check in self.record.contact_checks), default=0)
        return max([last + 1, *_numbers(self.data, "check-", "-ring")])

    def _add_checks(self) -> None:
        stored = {check.order: check for check in self.record.contact_checks}
        for order in range(1, self.checks + 1):
            check, name = stored.get(order), f"check-{order}"
            ring = forms.ChoiceField(
                label=f"Contact check {order}",
                choices=RINGS,
                required=False,
                show_hidden_initial=True,
            )
            self.fields[f"{name}-ring"] = ring
            said = "" if check is None else UNBROKEN if check.is_unbroken else BROKEN
            self.initial.setdefault(f"{name}-ring", said)
            self._add(f"{name}-note", "Then what was done", 200, check.note if check else "")

    def stored(self):
        return {}

    # for the page

    def measurements(self) -> Iterator[tuple[Measurement, BoundField, BoundField]]:
        for asked in self.asked:
            yield asked, self[f"{asked.name}-value"], self[f"{asked.name}-action"]

    def rows(self) -> list[list[BoundField]]:
        return [[self[f"{row}-{column}"] for column in COLUMNS] for row in range(self.count)]

    @property
    def rows_folded(self) -> int:
        """Rows that stand open: what is written and what is asked, or one; the blank ones fold."""
        return max(len(self.findings) + len(self.offered), 1)

    @property
    def is_unfolded(self) -> bool:
        """Is anything typed into them, or wrong?"""
        folded = self.rows()[self.rows_folded :]
        return any(box.value() or box.errors for row in folded for box in row)

    def contact(self) -> list[tuple[int, BoundField, BoundField]]:
        orders = range(1, self.checks + 1)
        return [(n, self[f"check-{n}-ring"], self[f"check-{n}-note"]) for n in orders]

    def words_for(self, name):
        row, _, column = name.partition("-")
        if row.isdecimal():
            return f"finding {int(row) + 1}, {column}"
        if row == "check":
            return f"contact check {name.split('-')[1]}, {self.fields[name].label}".lower()
        asked = next(asked for asked in self.asked if asked.name == row)
        return asked.words if column == "value" else f"{asked.words}: what was done"

    # what was typed

    def clean(self):
        data = super().clean()
        for row in range(self.count):
            given = {column: data.get(f"{row}-{column}", "") for column in COLUMNS}
            if self._is_offered(list(given.values())):
                continue
            for needed in ("part", "condition"):
                if any(given.values()) and not given[needed]:
                    self.add_error(f"{row}-{needed}", f"which {needed}?")
        for asked in self.asked:
            if data.get(f"{asked.name}-action") and not data.get(f"{asked.name}-value"):
                self.add_error(f"{asked.name}-value", "the figure this is about")
        self._clean_checks(data)
        return data

    def _clean_checks(self, data) -> None:
        """In order, one after another; a broken ring says what was done before the next check."""
        rings = [data.get(f"check-{n}-ring", "") for n in range(1, self.checks + 1)]
        last = max((n for n, ring in enumerate(rings, start=1) if ring), default=0)
        for order, ring in enumerate(rings, start=1):
            note = data.get(f"check-{order}-note", "")
            if not ring and (order < last or note):
                self.add_error(f"check-{order}-ring", "was the ring unbroken or broken?")
            if ring == BROKEN and order < last and not note:
                self.add_error(f"check-{order}-note", "what was done before the next check?")

    def rebased(self, typed):
        """A finding typed into a row that was blank, and that somebody has filled meanwhile, is
        another finding: it moves to a row that is still blank."""
        moved, blank = typed.copy(), max(len(self.findings), _rows_in(typed))
        for row, finding in enumerate(self.findings):
            mine = [typed.get(f"{row}-{column}", "") for column in COLUMNS]
            base = [typed.get(f"initial-{row}-{column}", "") for column in COLUMNS]
            stored = [getattr(finding, column) for column in COLUMNS]
            was_blank = not any(base) or self._is_offered(base)
            is_typed = any(mine) and not self._is_offered(mine)
            if not was_blank or not is_typed or mine == stored:
                continue
            for column, value in zip(COLUMNS, mine, strict=True):
                moved[f"{blank}-{column}"], moved[f"{row}-{column}"] = value, ""
                moved[f"initial-{blank}-{column}"] = ""
            blank += 1
        return moved

    def to_step(self):
        findings, orders = [], {}
        for given in [*self._findings(), *self._figures()]:
            orders[given["part"]] = orders.get(given["part"], 0) + 1
            findings.append({**given, "order": orders[given["part"]]})
        return Step(self.step, findings=findings, checks=dict(self._contact_checks()))

    def _findings(self) -> Iterator[dict[str, str]]:
        for row in range(self.count):
            given = {column: self.cleaned_data[f"{row}-{column}"] for column in COLUMNS}
            if given["part"] and not self._is_offered(list(given.values())):
                yield given

    def _figures(self) -> Iterator[dict[str, str]]:
        for asked in self.asked:
            value = self.cleaned_data[f"{asked.name}-value"]
            if value:
                action = self.cleaned_data[f"{asked.name}-action"]
                said = (asked.part, MEASURED, action, asked.measure, value)
                yield dict(zip(COLUMNS, said, strict=True))

    def _contact_checks(self) -> Iterator[tuple[int, dict | None]]:
        for order in range(1, self.checks + 1):
            ring = self.cleaned_data[f"check-{order}-ring"]
            note = self.cleaned_data[f"check-{order}-note"]
            yield order, {"is_unbroken": ring == UNBROKEN, "note": note} if ring else None


def _numbers(data, start: str, end: str) -> Iterator[int]:
    """The numbers that stand between `start` and `end` in the names sent."""
    for name in data:
        if name.startswith(start) and name.endswith(end):
            number = name[len(start) : -len(end)]
            if number.isdecimal() and len(number) < 4:
                yield int(number)


def _rows_in(data) -> int:
    """How many rows of findings were sent; they are counted from 0."""
    return max((number + 1 for number in _numbers(data, "", "-part")), default=0)
