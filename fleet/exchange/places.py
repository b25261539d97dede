"""Which site, position or device a row means; a row that means none is told so."""

from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.models import Device, DeviceModel, Position, Site


def site_name(run: Run, row: Row) -> str | None:
    """The site a row names, or the run's, or the only one there is; None after a fault."""
    name = row["site"] or run.options.site
    if not name and len(run.lookups.sites) == 1:
        name = next(iter(run.lookups.sites))
    if not name:
        run.say(row.fault("site", "the site of this row; or name one for the whole run"))
        return None
    return name if _is_allowed(run, row, name) else None


def _is_allowed(run: Run, row: Row, name: str) -> bool:
    only = run.options.only_site
    if only is None or only.name == name:
        return True
    words = f"a row of {only.name}; nothing of another site may be loaded here"
    run.say(row.fault("site", words, typed=name, code="other_site"))
    return False


def site_of(run: Run, row: Row) -> Site | None:
    """The site of a row that need not name one: found by its tag where that is unambiguous."""
    if not row["site"] and not run.options.site and row["tag"]:
        found = {p.site_id: p for p in run.lookups.positions_by_tag.get(row["tag"], [])}
        if len(found) == 1:
            site_id = next(iter(found))
            site = next(s for s in run.lookups.sites.values() if s.pk == site_id)
            return site if _is_allowed(run, row, site.name) else None
    name = site_name(run, row)
    if name is None:
        return None
    site = run.lookups.sites.get(name)
    if site is None and not run.is_broken("site", name):
        run.say(row.fault("site", "a site that has a position", typed=name, code="unknown"))
    return site


def position_of(run: Run, row: Row, field: str = "tag") -> Position | None:
    site = site_of(run, row)
    if site is None:
        return None
    position = run.lookups.positions.get((site.pk, row[field]))
    if position is None and not run.is_broken("position", row[field]):
        words = f"a tag of {site.name} from the positions sheet or the register"
        run.say(row.fault(field, words, code="unknown"))
    return position


def device_of(run: Run, row: Row) -> Device | None:
    device = run.lookups.devices.get(row["device"])
    if device is None:
        if not run.is_broken("device", row["device"]):
            words = "a device from the devices sheet or the register"
            run.say(row.fault("device", words, code="unknown"))
        return None
    return device if may_touch(run, row, "device", device.site_id) else None


def may_touch(run: Run, row: Row, field: str, site_id: int | None) -> bool:
    """False, and a fault, where a thing of another site would be changed from this one."""
    only = run.options.only_site
    if only is None or site_id in (None, only.pk):
        return True
    run.say(row.fault(field, "belongs to another site", code="other_site"))
    return False


def model_of(run: Run, row: Row) -> DeviceModel | None:
    """The model a setting point names; without its maker only if the name is unambiguous."""
    if row["maker"]:
        return run.lookups.models.get((row["maker"], row["model"]))
    found = run.lookups.models_by_name.get(row["model"], [])
    if len(found) > 1:
        makers = ", ".join(sorted(model.maker or "no maker" for model in found))
        run.say(row.fault("maker", f"the maker: {row['model']} is a model of {makers}"))
    return found[0] if len(found) == 1 else None
