"""What a tablet at the bench says of itself, and what it holds."""

import re
from io import BytesIO

from PIL import Image
from playwright.sync_api import Page, expect


def line(page: Page):
    return page.locator("#kept [role=status]")


def kept(page: Page) -> None:
    """All of it has come to the server."""
    expect(line(page)).to_contain_text("All typed kept here and on the server", timeout=40_000)


HELD = """async () => {
  let held = 0;
  for (const name of await caches.keys())
    if (name.startsWith("bench-pages-")) held += (await (await caches.open(name)).keys()).length;
  return navigator.serviceWorker.controller ? held : 0;
}"""


def kept_pages(page: Page) -> None:
    """Every step of the job, and the list of jobs, are on the tablet."""
    wanted = page.locator(".steps a").count() + 1
    for _ in range(150):
        if page.evaluate(HELD) >= wanted:
            return
        page.wait_for_timeout(200)
    raise AssertionError("the pages were not kept")


def job_of(page: Page) -> int:
    return int(re.search(r"/bench/(\d+)/", page.url)[1])


def photo(name: str, color: str) -> dict:
    out = BytesIO()
    Image.new("RGB", (900, 700), color).save(out, "JPEG")
    return {"name": name, "mimeType": "image/jpeg", "buffer": out.getvalue()}
