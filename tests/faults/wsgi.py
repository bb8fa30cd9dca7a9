"""The application at the small laboratory's own time of day, and with answers that can be lost on the way."""

import os
import signal

from labrecords.wsgi import application as labrecords_application

LOSE = "HTTP_X_LOSE_THE_ANSWER"


def _at_the_laboratorys_time() -> None:
    from labrecords import web
    from tests import world

    web.now = lambda: world.NOW  # before any view is loaded


_at_the_laboratorys_time()


def application(environ, start_response):
    """Answer; where the sender asks for it, the worker dies once all is done and before a word of it is sent."""
    answer = labrecords_application(environ, start_response)
    if LOSE in environ:
        os.kill(os.getpid(), signal.SIGKILL)
    return answer
