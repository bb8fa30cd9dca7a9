import cProfile
import pstats

from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import world as cast


def test_p(db):
    with CaptureQueriesContext(connection) as q:
        p = cProfile.Profile()
        p.enable()
        cast.build()
        p.disable()
    print(len(q))
    pstats.Stats(p).sort_stats("cumtime").print_stats(35)
