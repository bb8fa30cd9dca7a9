"""At the bench: a badge and a PIN change the person, within what the session and the badge are good for."""

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import people, runs
from labrecords.models import Run, SignIn
from labrecords.rules.authority import ACTS, BY_BADGE
from labrecords.views import sessions
from tests import world as cast
from tests.badges.conftest import OTHER_PIN, PIN

WHO, SIGN_IN = reverse("who"), reverse("sign-in")


@pytest.fixture
def bench(world, clock):
    """A browser in which Runa has signed in with name and password."""
    browser = Client()
    browser.post(SIGN_IN, {"username": "runa", "password": cast.PASSWORD})
    return browser


def at(run, specimen=None):
    return reverse("run", args=[run.pk]) + (f"?specimen={specimen.label}" if specimen else "")


def show(browser, badge, pin, onward=""):
    where = f"{WHO}?next={onward.replace('?', '%3F')}" if onward else WHO
    return browser.post(where, {"badge": getattr(badge, "label", badge), "pin": pin})


def here(browser) -> str:
    """The user whose session it is."""
    return browser.session.get("_auth_user_id", "")


def test_acts_by_badge_are_a_technicians_and_sign_nothing():
    assert set(BY_BADGE) == {
        "see the laboratory",
        "receive samples",
        "open a run",
        "enter a result",
        "take a check",
        "correct a result",
        "void a specimen",
        "report nonconforming work",
    }
    assert set(ACTS) > set(BY_BADGE)


def test_another_person_takes_over_and_the_specimen_stays_in_hand(world, bench, toves, tove, clock):
    answer = show(bench, toves, OTHER_PIN, at(world.run, world.specimens[2]))
    assert here(bench) == str(tove.pk)
    label = world.specimens[2].label
    where = reverse("open-run", args=[world.study.code])
    assert answer.url == f"{where}?from={world.run.pk}&specimen={label}"  # Runa's run stays Runa's
    people.authorise(
        person=tove,
        method_version=world.study.setup.method_version,
        technique=world.study.setup.technique,
        from_on=clock.now.date(),
        until_on=clock.now.date(),
        evidence="Observed runs.",
        by=world.magnus,
        at=clock.now,
    )
    own = cast.open_run(world, person=tove, by=tove, at=clock.now)
    assert show(bench, toves, OTHER_PIN, at(world.run, world.specimens[2])).url == at(own, world.specimens[2])


def test_the_person_of_the_run_comes_back_to_it(world, bench, runas, toves):
    show(bench, toves, OTHER_PIN)
    assert show(bench, runas, PIN, at(world.run, world.specimens[1])).url == at(world.run, world.specimens[1])
    assert here(bench) == str(world.runa.pk)
    assert bench.get(at(world.run)).context["mine"] is True


def test_after_a_closed_run_the_way_leads_to_the_bench(world, bench, toves, clock):
    runs.close_run(run=Run.objects.get(pk=world.run.pk), by=world.runa, at=clock.now)
    assert show(bench, toves, OTHER_PIN, at(world.run)).url == reverse("bench")


@pytest.mark.parametrize("onward", ["https://elsewhere.example/", "//elsewhere.example", "/nowhere/", "/runs/x/"])
def test_the_way_on_leads_nowhere_else(bench, toves, onward):
    assert show(bench, toves, OTHER_PIN, onward).url == reverse("bench")


def test_a_run_that_is_not_there_leads_to_the_bench(bench, toves, world):
    assert show(bench, toves, OTHER_PIN, reverse("run", args=[world.study.pk])).url == reverse("bench")


def test_any_other_page_is_the_same_for_both(bench, toves, world):
    page = reverse("study", args=[world.study.code])
    assert show(bench, toves, OTHER_PIN, page).url == page


@pytest.mark.parametrize(
    ("badge", "pin", "words"),
    [
        ("{}", "000000", "do not belong together"),
        ("{}", "", "Fill this in."),
        ("PB-000001-?", OTHER_PIN, "is not a label code"),
        ("SP-000123-N", OTHER_PIN, "That is the label of a specimen. Wanted here is your badge."),
    ],
)
def test_what_is_not_right_changes_nobody(world, bench, toves, badge, pin, words):
    answer = show(bench, badge.format(toves.label), pin)
    assert (answer.status_code, here(bench)) == (422, str(world.runa.pk))
    assert words in answer.content.decode()


def test_guesses_wait(world, bench, toves):
    for _ in range(6):
        answer = show(bench, toves, "111222")
    assert (answer.status_code, answer["Retry-After"], here(bench)) == (429, "1", str(world.runa.pk))
    assert "Wait 1 second, then try again." in answer.content.decode()


def test_by_badge_an_engineer_does_the_benchs_work_and_nothing_else(world, bench, clock):
    from labrecords.actions import badges

    eddas = badges.make(pin=PIN, password=cast.PASSWORD, by=world.edda, at=clock.now)
    show(bench, eddas, PIN)
    assert bench.get(reverse("bench")).status_code == 200
    answer = bench.get(reverse("new-study"))
    assert answer.status_code == 403
    page = answer.content.decode()
    assert "is here by badge and PIN. To plan a study, sign in with name and password." in page
    bench.post(f"{SIGN_IN}?password=1", {"username": "edda", "password": cast.PASSWORD})
    assert bench.get(reverse("new-study")).status_code == 200


def test_who_is_here_with_the_password_keeps_what_that_allows(world, clock):
    from labrecords.actions import badges

    eddas = badges.make(pin=PIN, password=cast.PASSWORD, by=world.edda, at=clock.now)
    browser = Client()
    browser.post(SIGN_IN, {"username": "edda", "password": cast.PASSWORD})
    assert show(browser, eddas, PIN).status_code == 302
    assert browser.get(reverse("new-study")).status_code == 200


def test_where_nobody_signed_in_no_badge_is_taken(runas):
    browser = Client()
    answer = show(browser, runas, PIN)
    assert answer.url == f"{SIGN_IN}?password=1&next=%2Fbench%2F"
    assert not SignIn.objects.exists()


def test_where_a_client_or_the_manager_signed_in_no_badge_is_taken(world, runas):
    for person in (world.clara, world.magnus):
        browser = Client()
        browser.force_login(person)
        browser.get(reverse("help"))
        assert show(browser, runas, PIN).url.startswith(SIGN_IN)
        assert here(browser) == str(person.pk)


def test_after_ten_minutes_the_pin_is_asked_for_again_and_the_page_comes_back(world, bench, toves, tove, clock):
    show(bench, toves, OTHER_PIN)
    clock.forward(minutes=9)
    assert bench.get(reverse("bench")).status_code == 200
    clock.forward(minutes=11)
    page = at(world.run, world.specimens[1])
    asked = bench.get(page)
    assert (asked.status_code, here(bench)) == (302, "")
    waits = bench.get(asked.url)
    assert waits.url.startswith(WHO)
    assert "The bench waits." in bench.get(waits.url).content.decode()
    back = bench.post(waits.url, {"badge": toves.label, "pin": OTHER_PIN})
    assert here(bench) == str(tove.pk)
    assert back.url.endswith(f"specimen={world.specimens[1].label}")


def test_the_day_ends_ten_hours_after_the_password_whoever_came_since(world, bench, runas, toves, clock):
    for hour in range(10):
        badge, pin = (toves, OTHER_PIN) if hour % 2 else (runas, PIN)
        assert show(bench, badge, pin).url == reverse("bench")
        clock.forward(minutes=60)
    clock.forward(minutes=1)
    assert show(bench, runas, PIN).url.startswith(f"{SIGN_IN}?password=1")
    assert here(bench) == ""


def test_whoever_leaves_leaves_the_bench_to_the_next_badge(world, bench, toves, tove):
    left = bench.post(reverse("lock-bench") + f"?next={at(world.run)}")
    assert (left.url, here(bench)) == (f"{WHO}?next={at(world.run).replace('/', '%2F')}", "")
    assert bench.get(reverse("studies")).status_code == 302
    show(bench, toves, OTHER_PIN)
    assert here(bench) == str(tove.pk)


def test_whoever_signs_out_takes_the_day_along(bench, runas):
    bench.post(reverse("sign-out"))
    assert show(bench, runas, PIN).url.startswith(SIGN_IN)


def test_the_sign_in_with_the_password_is_a_step_away(bench):
    bench.post(reverse("lock-bench"))
    assert bench.get(SIGN_IN).url.startswith(WHO)
    assert bench.get(f"{SIGN_IN}?password=1").status_code == 200


def test_the_session_key_changes_with_the_person(bench, toves):
    before = bench.session.session_key
    show(bench, toves, OTHER_PIN)
    assert bench.session.session_key != before
    assert bench.session[sessions.BY_BADGE] is True


def test_a_badge_in_the_address_is_filled_in(bench, toves):
    assert f'value="{toves.label}"' in bench.get(f"{WHO}?badge={toves.label.replace('-', '')}").content.decode()


def test_at_the_bench_a_scanned_badge_is_known_as_one(world, bench, toves):
    answer = bench.get(reverse("run-label", args=[world.run.pk]), {"text": toves.label.replace("-", "")})
    assert answer.json() == {"verdict": "person", "words": "", "label": toves.label, "go": ""}


def test_whose_role_asks_for_a_second_factor_is_not_led_away_by_badge(world, bench, runas, toves, settings):
    settings.SECOND_FACTOR_ROLES = {"technician"}
    assert bench.get(reverse("bench")).url == reverse("own-factors")
    show(bench, toves, OTHER_PIN)
    assert bench.get(reverse("bench")).status_code == 200
