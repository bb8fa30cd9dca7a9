"""Every page: no complaint of console or policy, axe finds nothing, and it fits 320 pixels."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import URLPattern, get_resolver

from tests.browser.house import settled

pytestmark = pytest.mark.browser

# What each page is shown with: who it is for, and the values in its address. Pages that only take a POST, and
# addresses that answer with a file, have no page of their own.
EXAMPLES = {
    "home": ("edmund", {}),
    "help": ("edmund", {}),
    "studies": ("edmund", {}),
    "new-study": ("edmund", {}),
    "study": ("edmund", {"code": "S-2026-0002"}),
    "plan-study": ("edmund", {"code": "S-2026-0005"}),
    "amend-study": ("edmund", {"code": "S-2026-0002"}),
    "withdraw-study": ("edmund", {"code": "S-2026-0005"}),
    "receive-lot": ("tilly", {"code": "S-2026-0004"}),
    "open-run": ("bram", {"code": "S-2026-0004"}),
    "review-study": ("sorrel", {"code": "S-2026-0003"}),
    "release-study": ("constance", {"code": "S-2026-0003"}),
    "lot": ("tilly", {"label": "first lot"}),
    "specimen": ("tilly", {"label": "first specimen"}),
    "void-specimen": ("tilly", {"label": "first specimen"}),
    "replace-specimen": ("tilly", {"label": "first specimen"}),
    "bench": ("tilly", {}),
    "run": ("tilly", {"run_id": "open run"}),
    "receive-traces": ("tilly", {"run_id": "open run"}),
    "match-traces": ("tilly", {"run_id": "open run", "file_id": "first file"}),
    "reviews": ("edmund", {}),
    "decide-deviation": ("harriet", {"deviation_id": "first deviation"}),
    "equipment": ("harriet", {}),
    "register-equipment": ("harriet", {}),
    "equipment-item": ("harriet", {"label": "LC-000001-5"}),
    "calibrate": ("harriet", {"label": "LC-000001-5"}),
    "people": ("harriet", {}),
    "new-person": ("harriet", {}),
    "person": ("harriet", {"username": "tilly"}),
    "person-roles": ("harriet", {"username": "tilly"}),
    "close-account": ("harriet", {"username": "tilly"}),
    "authorise": ("harriet", {"username": "tilly"}),
    "clients": ("harriet", {}),
    "new-client": ("harriet", {}),
    "new-project": ("harriet", {}),
    "methods": ("harriet", {}),
    "issue-method": ("harriet", {}),
    "refusals": ("harriet", {}),
    "portal:reports": ("otto", {}),
    "portal:report": ("otto", {"number": "R-2026-0001", "issue": "1"}),
    "portal:specimen": ("otto", {"number": "R-2026-0001", "issue": "1", "label": "SP-000001-A"}),
    "api:reference": ("edmund", {}),
}
NO_PAGE = {
    *("sign-in", "sign-out", "lock-study", "finish-study", "condition-lot", "cut-lot", "lot-custody", "close-run"),
    *("equipment-service", "give-token", "revoke-token", "withdraw-authorisation", "review-calibration"),
    *("portal:newest", "portal:every-file", "portal:file"),
}


def names(patterns, space=""):
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            if pattern.name:
                yield f"{space}{pattern.name}"
        else:
            yield from names(pattern.url_patterns, f"{pattern.namespace}:" if pattern.namespace else space)


def test_every_address_is_looked_at_or_named_as_no_page():
    known = set(names(get_resolver("labrecords.urls").url_patterns))
    pages = {name for name in known if not name.startswith("api:")} | {"api:reference"}
    assert pages == EXAMPLES.keys() | NO_PAGE


@pytest.fixture(scope="module")
def found(house, chromium):
    """Addresses that only the demo knows, read off its pages as a person would."""
    from tests.browser.house import sign_in

    page = chromium.new_page()
    sign_in(page, house, "tilly")
    page.goto(f"{house.url}/bench/")
    run = page.get_by_role("link", name="S-2026-0004 run").first.get_attribute("href").split("/")[2]
    page.goto(f"{house.url}/studies/S-2026-0002/")
    lot = page.get_by_role("link", name="Lot ").first.get_attribute("href").split("/")[2]
    page.goto(f"{house.url}/lots/{lot}/")
    specimen = page.get_by_role("link", name="SP-").first.get_attribute("href").split("/")[2]
    page.goto(f"{house.url}/runs/{run}/files/")
    links = page.locator("main a[href*='/files/']").all()
    file = next(
        (link.get_attribute("href").split("/")[4] for link in links if link.get_attribute("href").count("/") == 5), ""
    )
    page.context.clear_cookies()
    sign_in(page, house, "edmund")
    page.goto(f"{house.url}/reviews/")
    deviations = page.get_by_role("link", name="Decide the deviation of")
    deviation = deviations.first.get_attribute("href").split("/")[2] if deviations.count() else ""
    page.context.clear_cookies()
    sign_in(page, house, "otto")
    page.goto(f"{house.url}/reports/R-2026-0001/1/")
    foreign = page.get_by_role("link", name="SP-").first.get_attribute("href").split("/")[-2]
    page.close()
    return {
        "first lot": lot,
        "first specimen": specimen,
        "open run": run,
        "first file": file,
        "first deviation": deviation,
        "SP-000001-A": foreign,
    }


def address(name, values, found):
    from django.urls import reverse

    told = {key: found.get(value, value) for key, value in values.items()}
    return reverse(name, urlconf="labrecords.urls", kwargs=told) if all(told.values()) else None


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("who", sorted({who for who, _ in EXAMPLES.values()}))
def test_axe_console_and_width(house, enter, found, who, scheme):
    width = 320 if scheme == "dark" else 1280
    page = enter(who, color_scheme=scheme, viewport={"width": width, "height": 900})
    told = {}
    for name, (person, values) in EXAMPLES.items():
        path = address(name, values, found) if person == who else None
        if path is not None:
            page.goto(house.url + path)
            settled(page)
            if faults := list(faults_of(page)):
                told[name] = faults
    assert told == {}


def faults_of(page):
    for item in Axe().run(page).response["violations"]:
        yield f"axe {item['id']}: {item['nodes'][0]['html'][:120]}"
    if page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"):
        yield "scrolls sideways"
    if page.locator("h1").count() != 1:
        yield "has not exactly one h1"
    if not page.title() or page.locator("html").get_attribute("lang") != "en-GB":
        yield "lacks a title or a language"


def test_the_watch_sees_a_breach_of_the_policy(house, chromium):
    """The control: were the watch blind, the tests above would pass for nothing."""
    from tests.browser.house import sign_in, watch

    page = chromium.new_page()
    complaints = watch(page)
    sign_in(page, house, "edmund")
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color:red\">inline</p>')")
    page.wait_for_timeout(200)
    assert any("style" in complaint for complaint in complaints)
    page.close()
