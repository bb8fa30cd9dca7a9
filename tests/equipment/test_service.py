"""In and out of service, described anew, and what two people do at once."""

from datetime import timedelta

import pytest
from django.urls import reverse

from labrecords.actions import equipment
from labrecords.models import Equipment, EquipmentEvent, Result
from labrecords.queries import access
from labrecords.queries.equipment import status_at
from tests import world as cast
from tests.equipment.conftest import refused


def happened(world, kind, **changed):
    told = {"equipment": world.cell, "kind": kind, "reason": "looked at", "by": world.magnus, "at": world.at}
    return equipment.happened(**told | changed)


@pytest.mark.parametrize("kind", ["out of service", "adjusted", "repaired"])
def test_what_was_touched_gives_no_results_until_it_is_put_back(world, kind):
    moment = world.at - timedelta(minutes=30)
    happened(world, kind, happened_at=moment)
    with refused("out-of-service", Result):
        cast.enter(world)
    happened(world, "back in service", happened_at=moment + timedelta(minutes=10), reason="Mass read right.")
    assert cast.enter(world).result


@pytest.mark.parametrize("kind", ["checked", "maintained"])
def test_what_was_only_looked_at_goes_on(world, kind):
    happened(world, kind)
    assert cast.enter(world).result


def test_states_that_do_not_follow_are_refused(world):
    with refused("state-refused", EquipmentEvent):
        happened(world, "back in service")
    happened(world, "out of service")
    with refused("state-refused", EquipmentEvent):
        happened(world, "out of service")
    happened(world, "retired")
    for kind in ("back in service", "checked"):
        with refused("state-refused", EquipmentEvent):
            happened(world, kind)
    assert status_at(world.cell, world.at) == "retired"


def test_the_second_of_two_who_save_sees_what_the_first_wrote(client, world):
    url = reverse("describe-equipment", args=[world.cell.label])
    client.force_login(world.magnus)
    mine = {"name": "Cell 50 N", "location": "bench 7", "reason": "Moved.", "edition": "1"}
    equipment.describe(
        equipment=world.cell, edition=1, location="bench 9", reason="Moved.", by=world.magnus, at=world.at
    )
    answer = client.post(url, mine)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "bench 9" in page  # what is there now
    assert 'value="bench 7"' in page  # what was typed
    assert Equipment.objects.get(pk=world.cell.pk).location == "bench 9"
    assert 'name="edition" value="2"' in page
    assert client.post(url, mine | {"edition": "2"}).status_code == 302
    kept = Equipment.objects.get(pk=world.cell.pk)
    assert (kept.location, kept.edition) == ("bench 7", 3)
    assert "bench 9 to bench 7" in kept.events.filter(kind="changed").first().reason


def test_what_an_item_is_does_not_change(world):
    with pytest.raises(ValueError, match="capacity_n of an item does not change"):
        equipment.describe(equipment=world.cell, edition=1, reason="x", capacity_n=10.0, by=world.magnus, at=world.at)
    assert Equipment.objects.get(pk=world.cell.pk).edition == 1


def test_a_technician_keeps_no_equipment(world):
    with pytest.raises(access.NotAllowed):
        happened(world, "out of service", by=world.runa)
    assert not EquipmentEvent.objects.exists()
