"""Search among the things of two companies."""

from django.urls import reverse

from tests.pages.test_matrix import signed_in
from tests.tokens import without_token


def test_the_number_of_a_report_leads_to_its_study(two):
    browser = signed_in(two.cast.world.edda).client
    for report in (two.cast.clara, two.cast.otto):
        for typed in (report.number, report.number.lower().replace("-", "")):
            assert browser.get(reverse("search"), {"q": typed}).url == reverse("study", args=[report.study.code])


def test_control_a_client_is_not_told_whether_there_is_such_a_report(two):
    browser = signed_in(two.cast.world.clara).client
    foreign, missing = (browser.get(reverse("search"), {"q": q}) for q in (two.cast.otto.number, "R-1999-0001"))
    assert foreign.status_code == missing.status_code == 403
    assert without_token(foreign.content) == without_token(missing.content)
