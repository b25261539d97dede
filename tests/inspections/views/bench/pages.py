"""A page's form, filled in and sent as a browser does: everything on it goes back."""

from html.parser import HTMLParser

from django.test import Client
from django.urls import reverse

from inspections.models import Inspection

RING = "lower_ring"


class _Form(HTMLParser):
    """The fields of the form with an id or class, or of the last one that posts."""

    def __init__(self):
        super().__init__()
        self.forms: list[tuple[dict, dict]] = []
        self.select = self.area = ""

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.forms.append((given, {}))
        if not self.forms:
            return
        fields = self.forms[-1][1]
        name, value = given.get("name") or "", given.get("value") or ""
        if tag == "input" and given.get("type") not in ("checkbox", "radio", "submit") and name:
            fields[name] = value
        elif tag == "select":
            self.select = name
            fields[name] = None
        elif tag == "option" and self.select:
            if "selected" in given or fields[self.select] is None:
                fields[self.select] = value
        elif tag == "textarea":
            self.area = name
            fields[name] = ""

    def handle_endtag(self, tag):
        if tag == "select":
            self.select = ""
        if tag == "textarea":
            self.area = ""

    def handle_data(self, data):
        if self.area:
            self.forms[-1][1][self.area] += data.removeprefix("\n")


def fields_of(response, action: str = "") -> dict[str, str]:
    """The fields of the page's posting form: the one that posts there, else the walk's, else the
    last."""
    reader = _Form()
    reader.feed(response.content.decode())
    posting = [(a, f) for a, f in reader.forms if a.get("method") == "post"]
    posting = [(a, f) for a, f in posting if "sign-out" not in (a.get("action") or "")]
    for attributes, fields in posting:
        if attributes.get("action") == action if action else attributes.get("class") == "walk":
            return fields
    return posting[-1][1]


def client_of(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def url(job, step: str) -> str:
    return reverse("bench_step", args=[job.pk, step])


def send(client, job, step, *, page=None, follow=True, **typed):
    """Fill the step's page in and send it: everything on it goes back, as a browser does."""
    page = page or client.get(url(job, step))
    fields = fields_of(page) | {name.replace("__", "-"): value for name, value in typed.items()}
    return client.post(url(job, step), fields, follow=follow)


def stored(job) -> Inspection:
    return Inspection.objects.get(pk=job.pk)
