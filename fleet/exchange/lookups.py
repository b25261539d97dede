"""What the register holds, by the names people use. Read once a run, kept up as rows come."""

from collections import defaultdict
from collections.abc import Iterable
from functools import cached_property

from fleet.models import Device, DeviceModel, Equipment, Position, PositionDuty, Site, Unit, User


class Lookups:
    """Every lookup is read at first use."""

    @cached_property
    def sites(self) -> dict[str, Site]:
        return {site.name: site for site in Site.objects.all()}

    @cached_property
    def units(self) -> dict[tuple[int, str], Unit]:
        return {(unit.site_id, unit.name): unit for unit in Unit.objects.all()}

    @cached_property
    def equipment(self) -> dict[tuple[int, str], Equipment]:
        return {(row.site_id, row.name): row for row in Equipment.objects.all()}

    @cached_property
    def devices(self) -> dict[str, Device]:
        return {row.number: row for row in Device.objects.select_related("model")}

    @cached_property
    def models(self) -> dict[tuple[str, str], DeviceModel]:
        return {(row.maker, row.name): row for row in DeviceModel.objects.all()}

    @cached_property
    def models_by_name(self) -> dict[str, list[DeviceModel]]:
        return _grouped((row.name, row) for row in self.models.values())

    @cached_property
    def people(self) -> dict[str, User]:
        return {person.name.casefold(): person for person in User.objects.all()}

    @cached_property
    def positions(self) -> dict[tuple[int, str], Position]:
        """By site and tag: today's tags, and former ones that nobody has taken since."""
        found = {(row.site_id, row.tag): row for row in Position.objects.all()}
        by_pk = {row.pk: row for row in found.values()}
        former = PositionDuty.objects.order_by("pk").values_list("position", "tag")
        for pk, tag in former.iterator(chunk_size=5000):
            position = by_pk[pk]
            if position.tag != tag:
                found.setdefault((position.site_id, tag), position)
        return found

    @cached_property
    def positions_by_tag(self) -> dict[str, list[Position]]:
        groups: dict[str, list[Position]] = defaultdict(list)
        for (_, tag), row in self.positions.items():
            groups[tag].append(row)
        return groups

    def add_positions(self, rows: Iterable[Position]) -> None:
        for row in rows:
            self.positions[row.site_id, row.tag] = row
            self.__dict__.pop("positions_by_tag", None)

    def add_models(self, rows: Iterable[DeviceModel]) -> None:
        for row in rows:
            self.models[row.maker, row.name] = row
        self.__dict__.pop("models_by_name", None)


def _grouped(pairs: Iterable[tuple]) -> dict:
    groups: dict = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return groups
