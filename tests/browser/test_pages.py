"""Every page, for somebody it is for: no complaint of console or policy, axe finds nothing, it fits 320 pixels."""

import pytest
from django.urls import get_resolver

from tests.browser.every_page import EXAMPLES, NO_PAGE, STATES, names, visits
from tests.browser.looks import faults_of, faults_of_the_skip_link

pytestmark = pytest.mark.browser


def test_every_address_is_looked_at_or_named_as_no_page():
    known = list(names(get_resolver("labrecords.urls").url_patterns))
    assert set(known) == EXAMPLES.keys() | NO_PAGE
    assert not EXAMPLES.keys() & NO_PAGE


@pytest.mark.parametrize(
    "who", ["nobody", "bram", "clara", "constance", "edmund", "harriet", "otto", "sorrel", "tilly"]
)
def test_pages_of(house, enter, spare, who):
    page = enter(None if who == "nobody" else who, color_scheme="light")
    told = {}
    for path, status in visits(None if who == "nobody" else who, spare):
        answer = page.goto(house.url + path)
        assert answer.status == status, path
        if faults := faults_of(page) + faults_of_the_skip_link(page):
            told[path] = faults
    assert told == {}


def test_everybody_named_has_their_turn():
    [turns] = [mark.args[1] for mark in test_pages_of.pytestmark if mark.name == "parametrize"]
    wanted = {who or "nobody" for who, _ in EXAMPLES.values()} | {who for who, _, _ in STATES}
    assert set(turns) == wanted


@pytest.fixture
def faulty(house, visit):
    """A sound page, on which faults are about to be made, with what has been complained of so far."""
    page, complaints = visit("edmund", color_scheme="light")
    page.goto(f"{house.url}/methods/")
    yield page, complaints
    page.context.close()


# For each fault, how it is made, and how it is told. Were the eyes above blind, their tests would pass for nothing.
FAULTS = {
    "axe image-alt": "document.querySelector('main').append(document.createElement('img'))",
    "axe color-contrast": "document.querySelector('h1').style.color = '#ccc'",
    "scrolls sideways": "const wide = document.createElement('div'); wide.style.minWidth = '700px'; "
    "wide.textContent = 'wide'; document.querySelector('main').append(wide)",
    "has not exactly one h1": "document.querySelector('main').append(document.createElement('h1'))",
    "has no title": "document.title = ' – Laboratory'",
    "names no language": "document.documentElement.removeAttribute('lang')",
}


def test_faults_are_seen(faulty):
    page, _ = faulty
    assert faults_of(page) == []
    for made in FAULTS.values():
        page.evaluate(f"(() => {{ {made} }})()")
    seen = faults_of(page)
    assert [fault for fault in FAULTS if not any(told.startswith(fault) for told in seen)] == []


@pytest.mark.parametrize("broken", ["link.remove()", "link.href = '#nowhere'", "link.tabIndex = -1"])
def test_a_broken_skip_link_is_seen(faulty, broken):
    page, _ = faulty
    page.evaluate(f"(() => {{ const link = document.querySelector('a.skip'); {broken} }})()")
    assert faults_of_the_skip_link(page) != []


BREACHES = {
    "style": "document.body.insertAdjacentHTML('beforeend', '<p style=\"color:red\">inline</p>')",
    "script": "const script = document.createElement('script'); script.textContent = '1'; document.body.append(script)",
    "img": "const image = new Image(); image.src = 'https://pictures.example/x.png'; document.body.append(image)",
}


@pytest.mark.parametrize("kind", BREACHES)
def test_a_breach_of_the_policy_is_seen(faulty, kind):
    page, complaints = faulty
    assert complaints == []
    with page.expect_console_message(lambda message: message.text.startswith("policy: ")):
        page.evaluate(f"(() => {{ {BREACHES[kind]} }})()")
    assert any(f"policy: {kind}-src" in complaint for complaint in complaints)


def test_an_inline_style_in_the_page_itself_is_seen(faulty):
    """Sent by the server, under its own policy, and not put in afterwards."""
    page, complaints = faulty

    def with_a_style(route):
        answer = route.fetch()
        route.fulfill(response=answer, body=answer.text().replace("<h1>", '<h1 style="color: red">'))

    page.route("**/methods/", with_a_style)
    page.goto(page.url)
    page.get_by_role("heading", level=1).wait_for()
    assert any("policy: style-src" in complaint for complaint in complaints)


def test_an_error_of_a_script_is_seen(faulty):
    page, complaints = faulty
    with page.expect_event("pageerror"):
        page.evaluate("setTimeout(() => { throw new Error('on purpose') })")
    assert complaints == ["script: on purpose"]
