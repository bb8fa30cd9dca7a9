"""Openings that are really committed: each is one transaction with one seal."""

import pytest

from labrecords.models import Event, Seal
from tests.portal import cast as companies
from tests.portal.conftest import browser_of
from tests.portal.test_who import ADDRESSES, of


@pytest.mark.django_db(transaction=True)
def test_each_opening_is_a_sealed_transaction():
    cast = companies.build()
    browser, before = browser_of(cast.world.clara), Seal.objects.count()
    assert browser.get(ADDRESSES["report"].format(**of(cast.clara))).status_code == 200
    assert browser.get(ADDRESSES["file"].format(**of(cast.clara))).status_code == 200
    assert browser.get(ADDRESSES["report"].format(**of(cast.otto))).status_code == 404
    events = list(Event.objects.filter(act="report.opened").order_by("pk").values_list("pk", flat=True))
    seals = list(Seal.objects.order_by("seq").values_list("first_event", "last_event", "events"))[before:]
    assert len(events) == 2
    assert seals == [(event, event, 1) for event in events]
