"""Screenshots of every page of the demo: `python -m tests.browser.screenshots FOLDER [light dark narrow]`.

Says what the console, the policy and axe complain of on each page, and which pages scroll sideways when narrow.
README's pictures are made here too (`readme`).
"""

import pathlib
import sys

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from tests.browser.house import CHROMIUM, FLAGS, House, running, sign_in, watch

PAGES = [
    ("edmund", "home-engineer", "/"),
    ("edmund", "studies", "/studies/"),
    ("edmund", "plan", "/studies/new/"),
    ("edmund", "study-released", "/studies/S-2026-0001/"),
    ("edmund", "study-testing", "/studies/S-2026-0004/"),
    ("edmund", "study-draft", "/studies/S-2026-0005/"),
    ("edmund", "window", "/studies/S-2026-0006/window/"),
    ("edmund", "changes", "/studies/S-2026-0007/changes/"),
    (
        "edmund",
        "sizes",
        "/studies/sizes/?kind=bound&distance=0.3&sd=0.1&unit=lbf/in&coverage=0.95&confidence=0.95&chance=0.9",
    ),
    ("edmund", "precision", "/studies/S-2026-0008/precision/"),
    ("harriet", "validation", "/studies/S-2026-0008/validation/"),
    ("edmund", "order", "/studies/S-2026-0008/validation/order/"),
    (
        "edmund",
        "for-the-client",
        "/studies/compare/for-the-client/?one=S-2026-0002%2F1&other=S-2026-0006%2F2",
    ),
    ("edmund", "limits", "/limits/"),
    ("edmund", "budget", "/methods/uncertainty/U-2026-0001/"),
    ("edmund", "new-budget", "/methods/uncertainty/new/?from=S-2026-0008"),
    ("edmund", "budgets", "/methods/uncertainty/"),
    ("sorrel", "limit", "/limits/L-2026-0001/1/"),
    ("edmund", "compare", "/studies/compare/?one=S-2026-0002%2F1&other=S-2026-0001%2F1"),
    ("edmund", "amend", "/studies/S-2026-0001/amend/"),
    ("edmund", "equipment", "/equipment/"),
    ("edmund", "people", "/people/"),
    ("edmund", "refusals", "/refusals/"),
    ("edmund", "help", "/help/"),
    ("edmund", "components", "/help/components/"),
    ("edmund", "studies-sorted", "/studies/?sort=-client&words=seal"),
    ("edmund", "studies-nothing-fits", "/studies/?words=nosuch"),
    ("edmund", "reviews", "/reviews/"),
    ("edmund", "api", "/api/"),
    ("tilly", "home-technician", "/"),
    ("tilly", "bench", "/bench/"),
    ("tilly", "open-run", "/studies/S-2026-0004/open-run/"),
    ("harriet", "home-manager", "/"),
    ("edmund", "void", "/specimens/SP-000074-9/void/"),
    ("edmund", "specimen", "/specimens/SP-000074-9/"),
    ("harriet", "item", "/equipment/LC-000001-5/"),
    ("harriet", "item-out", "/equipment/TS-000002-Y/"),
    ("harriet", "calibrate", "/equipment/LC-000001-5/calibrate/"),
    ("harriet", "checks", "/equipment/LC-000005-Y/checks/"),
    ("edmund", "which-cell", "/equipment/which-cell/?weak_n=4&strong_n=12"),
    ("harriet", "due", "/due/"),
    ("harriet", "trail", "/trail/?study=S-2026-0002"),
    ("harriet", "matrix", "/people/authorisations/"),
    ("harriet", "nonconformity", "/nonconforming/NC-2026-0001/"),
    ("tilly", "lot", "/lots/LT-000004-6/"),
    ("sorrel", "review", "/studies/S-2026-0003/review/"),
    ("edmund", "protocol", "/studies/S-2026-0005/protocol/"),
    ("edmund", "put-protocol", "/studies/S-2026-0009/protocol/put/"),
    ("edmund", "links", "/studies/S-2026-0002/links/"),
    ("edmund", "records", "/studies/S-2026-0002/records/"),
    ("edmund", "signing-in", "/account/signing-in/"),
    ("edmund", "add-app", "/account/signing-in/app/"),
    ("clara", "portal-links", "/reports/R-2026-0002/1/links/"),
    ("clara", "portal-protocols", "/protocols/"),
    ("clara", "portal-protocol", "/protocols/S-2026-0009/1/"),
    ("clara", "portal", "/reports/"),
    ("clara", "report", "/reports/R-2026-0002/1/"),
    ("clara", "not-yours", "/reports/R-2026-0001/1/"),
]
SIZES = {"light": (1280, 900), "dark": (1280, 900), "narrow": (320, 800)}


def main(folder: pathlib.Path, looks: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with running() as house, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for look in looks:
            shoot(browser, house, folder, look)
        browser.close()


def shoot(browser, house: House, folder: pathlib.Path, look: str) -> None:
    width, height = SIZES[look]
    scheme = "dark" if look == "dark" else "light"
    contexts = {}
    for who, name, path in PAGES:
        if who not in contexts:
            context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
            contexts[who] = context.new_page()
            sign_in(contexts[who], house, who)
        page = contexts[who]
        complaints = watch(page)
        page.goto(house.url + path)
        page.wait_for_load_state("networkidle")
        page.screenshot(path=folder / f"{name}-{look}.png", full_page=True)
        say(name, look, complaints, page)


def say(name: str, look: str, complaints: list[str], page) -> None:
    found = [f"{item['id']}: {len(item['nodes'])} x {item['nodes'][0]['html'][:100]}" for item in violations(page)]
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    told = complaints + found + ([f"scrolls sideways by {wide} px"] if wide > 0 else [])
    print(f"{name} ({look}): {'; '.join(told) or 'nothing to say'}")  # noqa: T201 - a command speaks by printing


def violations(page) -> list[dict]:
    return Axe().run(page).response["violations"]


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]), sys.argv[2:] or list(SIZES))
