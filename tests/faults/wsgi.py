"""The application at the small laboratory's own time of day, and with answers that can be lost on the way."""

import os
import signal

LOSE = "HTTP_X_LOSE_THE_ANSWER"


def built():
    """Made by the server that serves it: whoever only imports this file keeps the real clock."""
    from labrecords.wsgi import application as labrecords_application  # first: it sets Django up

    from labrecords import web  # isort: skip
    from tests import world  # isort: skip

    web.CLOCK = lambda: world.NOW

    def application(environ, start_response):
        """Answer; where the sender asks for it, the worker dies once all is done and before a word of it is sent."""
        answer = labrecords_application(environ, start_response)
        if LOSE in environ:
            os.kill(os.getpid(), signal.SIGKILL)
        return answer

    return application
