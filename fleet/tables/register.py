"""The columns of the register: positions, and devices."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from fleet.listing import Loaded
from fleet.models import Device, PositionStatus
from fleet.reports.devices import DEVICE_SORTS, DeviceRow, Devices
from fleet.reports.positions import POSITION_SORTS, PositionRow, Positions
from fleet.reports.reasons import activity_words
from fleet.tables.cells import cells, day, link, tag
from fleet.templatetags.drawings import state

KINDS = dict(Device.Kind.choices)


class PositionTable(tables.Table):
    """Positions: what each asks for, what is fitted, what it owes next."""

    tag = tables.Column(verbose_name="Position", attrs=cells("key"))
    equipment = tables.Column(verbose_name="Protects", attrs=cells("wide"), default="")
    set_pressure = tables.Column(verbose_name="Set pressure", attrs=cells("n"), empty_values=())
    fluid = tables.Column(verbose_name="Fluid", default="")
    device = tables.Column(
        verbose_name="Fitted", orderable=False, attrs=cells("fitted"), empty_values=()
    )
    status = tables.Column(verbose_name="Status", attrs=cells("wide"))
    due = tables.Column(verbose_name="Owes next", attrs=cells("say"), empty_values=())

    class Meta:
        empty_text = "No position matches what is asked."

    def __init__(self, positions: Positions) -> None:
        super().__init__(Loaded(positions, POSITION_SORTS, "tag"))
        self.has_sites = len(positions.user.site_ids()) > 1

    def render_tag(self, record: PositionRow) -> SafeString:
        site = record.site if self.has_sites else ""
        return tag("position", record.pk, record.tag, site, record.unit)

    def render_set_pressure(self, record: PositionRow) -> str:
        return str(record.set_pressure) if record.set_pressure else "not given"

    def render_device(self, record: PositionRow) -> SafeString:
        if record.device_pk is None:
            return state("no_device")
        what = ", ".join(part for part in (record.model, KINDS.get(record.kind, "")) if part)
        return format_html(
            "{}<small>{}</small>", link("device", record.device_pk, record.device), what
        )

    def render_status(self, record: PositionRow) -> str:
        return PositionStatus(record.status).label

    def render_due(self, record: PositionRow) -> SafeString | str:
        if not record.due_status:
            return ""
        owes = activity_words(record.owes)
        if record.due_on is None:
            return state(record.due_status, "", owes)
        return format_html(
            "{}<small>{}, {}</small>", state(record.due_status), owes, day(record.due_on)
        )


class DeviceTable(tables.Table):
    """Devices, and where each one is."""

    device = tables.Column(verbose_name="Device", attrs=cells("key"))
    serial = tables.Column(verbose_name="Serial", default="")
    model = tables.Column(verbose_name="Model", default="")
    kind = tables.Column(verbose_name="Kind")
    tag = tables.Column(verbose_name="Where it is", orderable=False, empty_values=())
    status = tables.Column(verbose_name="Status")
    shelf_expires_on = tables.Column(verbose_name="Shelf life ends", attrs=cells("n"), default="")

    class Meta:
        empty_text = "No device matches what is asked."

    def __init__(self, devices: Devices) -> None:
        super().__init__(Loaded(devices, DEVICE_SORTS, "device"))

    def render_device(self, record: DeviceRow) -> SafeString:
        return tag(
            "device", record.pk, record.device, record.orifice and f"orifice {record.orifice}"
        )

    def render_model(self, record: DeviceRow) -> str:
        return f"{record.maker} {record.model}".strip()

    def render_kind(self, record: DeviceRow) -> str:
        return KINDS.get(record.kind, record.kind)

    def render_tag(self, record: DeviceRow) -> SafeString | str:
        if record.position_pk is None:
            return "fitted elsewhere" if record.fitted_on else "not fitted"
        return format_html(
            "{}<small>{}, since {}</small>",
            link("position", record.position_pk, record.tag),
            record.unit,
            day(record.fitted_on),
        )

    def render_status(self, record: DeviceRow) -> str:
        return "in service" if record.fitted_on else Device.Status(record.status).label

    def render_shelf_expires_on(self, record: DeviceRow) -> SafeString:
        return day(record.shelf_expires_on)
