"""Screenshots of every page of the demo: `python -m tests.browser.screenshots FOLDER [light dark narrow print]`.

Says what the console, the policy and axe complain of on each page, and which pages scroll sideways when narrow.
README's pictures are made by `tests.browser.pictures`.
"""

import os
import pathlib
import re
import sys
from collections.abc import Iterator

import django
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from tests.browser import steps
from tests.browser.every_page import EXAMPLES, STATES, visits
from tests.browser.house import CHROMIUM, FLAGS, House, running, settled, sign_in, watch
from tests.browser.looks import NARROW, SIDEWAYS, WIDE

# Each look: the size of the window, and what the page is told to be shown for.
LOOKS = {
    "light": (WIDE, {"color_scheme": "light"}),
    "dark": (WIDE, {"color_scheme": "dark"}),
    "narrow": (NARROW, {"color_scheme": "light"}),
    "print": (WIDE, {"media": "print"}),
}
# States that no other table has: who, and the address.
MORE = [
    ("edmund", "/studies/?sort=-client&words=seal"),
    ("edmund", "/studies/?words=nosuch"),
    ("edmund", "/equipment/which-cell/?weak_n=4&strong_n=12"),
    ("edmund", "/methods/uncertainty/new/?from=S-2026-0008"),
    (
        "edmund",
        "/studies/sizes/?kind=bound&distance=0.3&sd=0.1&unit=lbf/in&coverage=0.95&confidence=0.95&chance=0.9",
    ),
    ("harriet", "/equipment/TS-000002-Y/"),
    ("harriet", "/trail/?study=S-2026-0002"),
]


def main(folder: pathlib.Path, looks: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with running() as house, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        spare = steps.spare(house, lambda who: visit(browser, house, who))
        for who, path in every(spare):
            page, complaints = visit(browser, house, who)
            for look in looks:
                shoot(page, house.url + path, folder / f"{slug(path)}-{look}.png", look)
                say(path, look, complaints, page)
            page.context.close()
        browser.close()


def every(spare: steps.Spare) -> Iterator[tuple[str | None, str]]:
    """Whoever a page is for, and its address: every address there is, and the same pages in other states."""
    people = {who for who, _ in EXAMPLES.values()} | {who for who, _, _ in STATES}
    for who in sorted(people, key=str):
        yield from ((who, path) for path, _ in visits(who, spare))
    yield from MORE


SIGNED_IN: dict[str, dict] = {}


def visit(browser, house: House, who: str | None):
    """A page of somebody who has signed in once, and the list of what is complained of on it."""
    if who and who not in SIGNED_IN:
        context = browser.new_context()
        sign_in(context.new_page(), house, who)
        SIGNED_IN[who] = context.storage_state()
        context.close()
    page = browser.new_context(storage_state=SIGNED_IN.get(who), viewport=WIDE, reduced_motion="reduce").new_page()
    return page, watch(page)


def shoot(page, address: str, file: pathlib.Path, look: str) -> None:
    size, shown = LOOKS[look]
    page.set_viewport_size(size)
    page.emulate_media(**{"media": "screen"} | shown)
    page.goto(address)
    settled(page)
    page.evaluate("document.fonts.ready.then(() => true)")
    page.screenshot(path=file, full_page=True)


def slug(path: str) -> str:
    """The name of a page's picture.

    >>> slug("/studies/?words=seal"), slug("/")
    ('studies-words-seal', 'home')
    """
    return re.sub(r"[^A-Za-z0-9.]+", "-", path).strip("-")[:80] or "home"


def say(path: str, look: str, complaints: list[str], page) -> None:
    found = [f"{item['id']}: {len(item['nodes'])} x {item['nodes'][0]['html'][:100]}" for item in violations(page)]
    wide = page.evaluate(SIDEWAYS)
    told = complaints + found + ([f"scrolls sideways by {wide} px"] if wide > 0 and look != "print" else [])
    complaints.clear()
    print(f"{path} ({look}): {'; '.join(told) or 'nothing to say'}", flush=True)


def violations(page) -> list[dict]:
    return Axe().run(page).response["violations"]


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "labrecords.settings")
    os.environ.setdefault("SECRET_KEY", "only to know the addresses")
    django.setup()
    main(pathlib.Path(sys.argv[1]), sys.argv[2:] or list(LOOKS))
