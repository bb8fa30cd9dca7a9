"""The guard against a query per row works: without it, the tests of pages would prove less than they say."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory
from zeal import NPlusOneError

from labrecords.models import Specimen
from tests import world as cast
from tests.guard import once_per_row


def once_for_each(request):
    return HttpResponse(", ".join(item.pack.label for item in Specimen.objects.all()))


def test_a_query_per_row_is_caught(db):
    cast.build()
    with pytest.raises(NPlusOneError):
        once_per_row(once_for_each)(RequestFactory().get("/"))
