"""A second factor from the first day to the lost telephone, with the browser's own virtual authenticator.

The person is the walk's own, so that nobody else's sign-in asks for more than it did.
"""

import re

import pyotp
import pytest
from playwright.sync_api import expect

from tests.browser import steps
from tests.browser.house import watch
from tests.browser.looks import WIDE, faults_of

pytestmark = pytest.mark.browser

WHO, PASSWORD = "ottilie", "nine slow herons wading"
KEY = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


@pytest.fixture
def ottilie(house, enter, chromium):
    """A page of an engineer who has just joined, with a virtual authenticator (DevTools protocol, WebAuthn)."""
    manager = enter("harriet")
    manager.goto(f"{house.url}/people/new/")
    steps.fill(manager, {"User name": WHO, "Name, as": "Ottilie Brandt", "First password": PASSWORD})
    manager.get_by_label("engineer").check()
    manager.get_by_role("button", name="Add").click()
    context = chromium.new_context(viewport=WIDE, reduced_motion="reduce")
    page = context.new_page()
    complaints = watch(page)
    devices = context.new_cdp_session(page)
    devices.send("WebAuthn.enable")
    made = devices.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})

    def verified(yes: bool) -> None:
        """Whether the authenticator finds that it is its owner."""
        given = {"authenticatorId": made["authenticatorId"], "isUserVerified": yes}
        devices.send("WebAuthn.setUserVerified", given)

    yield page, verified
    context.close()
    assert complaints == []


def name_and_password(page, house, to="/"):
    page.goto(f"{house.url}/sign-in/?next={to}")
    steps.fill(page, {"Username": WHO, "Password": PASSWORD})
    page.get_by_role("button", name="Sign in").click()


def heading(page, words):
    expect(page.get_by_role("heading", level=1)).to_have_text(words)


def add_passkey(page):
    page.get_by_role("link", name="Signing in").click()
    assert faults_of(page) == []
    page.get_by_role("link", name="Add a passkey").click()
    steps.fill(page, {"Your name for it": "this computer", "Your password, again": PASSWORD})
    page.get_by_role("button", name="Make the passkey").click()
    heading(page, "Recovery codes")
    expect(page.get_by_role("button", name="Print them")).to_be_visible()
    assert faults_of(page) == []
    codes = page.locator(".recovery-codes li").all_inner_texts()
    assert len(set(codes)) == 10
    page.get_by_role("link", name="I have kept them").click()
    expect(page.get_by_text("passkey “this computer”, at localhost")).to_be_visible()
    return codes


def sign_out(page):
    page.get_by_role("button", name="Sign out").click()
    heading(page, "Sign in")


def sign_with_the_passkey(page, house, verified):
    """A locked study is continued; the amendment is signed with password and passkey."""
    code = steps.plan(page, house, title="Seals signed with a passkey", packs=2)
    page.goto(f"{house.url}/studies/{code}/amend/")
    expect(page.get_by_label("Code of your")).to_have_count(0)
    expect(page.get_by_text("Your browser asks for the passkey")).to_be_visible()
    steps.fill(page, {"Why the study": "Another supplier.", "Your password, again": PASSWORD})
    verified(False)
    page.get_by_role("button", name="Sign the amendment").click()
    expect(page.get_by_role("alert")).to_contain_text("No passkey was given")
    assert faults_of(page) == []
    verified(True)
    page.get_by_role("button", name="Sign the amendment").click()
    expect(page.get_by_role("status")).to_contain_text(f"continues {code}")


def add_app(page):
    page.get_by_role("link", name="Signing in").click()
    page.get_by_role("link", name="Add an authenticator app").click()
    assert faults_of(page) == []
    secret = page.locator(".code.secret").inner_text().replace(" ", "")
    picture = page.get_by_alt_text("QR code of the secret")
    assert picture.evaluate("image => image.complete && image.naturalWidth > 100")
    given = {"Your name for it": "telephone", "Code that the app": pyotp.TOTP(secret).now(), "Your password": PASSWORD}
    steps.fill(page, given)
    page.get_by_role("button", name="Add the app").click()
    expect(page.get_by_role("status")).to_contain_text("is taken from now on")
    return secret


def test_from_the_first_day_to_the_lost_telephone(house, enter, ottilie):
    page, verified = ottilie
    name_and_password(page, house)
    codes = add_passkey(page)
    sign_out(page)

    name_and_password(page, house, to="/equipment/")
    heading(page, "Second step")
    expect(page.get_by_role("button", name="Sign out")).to_have_count(0)  # nobody is signed in yet
    assert faults_of(page) == []
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/equipment/")
    sign_with_the_passkey(page, house, verified)
    secret = add_app(page)
    sign_out(page)

    name_and_password(page, house)
    page.get_by_label("Code of your").fill("000000")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name=re.compile("It is not a code"))).to_be_visible()
    assert faults_of(page) == []
    later = pyotp.TOTP(secret).at(0, counter_offset=step_now(page) + 1)  # the one before was used to add the app
    page.get_by_label("Code of your").fill(later)
    page.get_by_role("button", name="Sign in").click()
    heading(page, re.compile("Today|Your day|Ottilie"))
    sign_out(page)

    name_and_password(page, house)
    page.get_by_label("Code of your").fill(codes[0])
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Signing in").click()
    expect(page.get_by_text("9 left.")).to_be_visible()
    page.get_by_role("link", name="End this computer").click()
    assert faults_of(page) == []
    page.get_by_label("Your password, again").fill(PASSWORD)
    page.get_by_role("button", name="End it").click()
    expect(page.get_by_role("status")).to_contain_text("is taken no longer")

    manager = enter("harriet")
    manager.goto(f"{house.url}/people/{WHO}/")
    assert faults_of(manager) == []
    manager.get_by_role("link", name="End telephone").click()
    assert faults_of(manager) == []
    manager.get_by_label("Reason").fill("Lost on the ferry.")
    manager.get_by_role("button", name="End it").click()
    expect(manager.get_by_role("status")).to_contain_text("is taken no longer")
    sign_out(page)
    name_and_password(page, house)
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def step_now(page) -> int:
    return page.evaluate("Math.floor(Date.now() / 30000)")
