"""`database start|stop|status`: the built-in database server."""

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from labrecords.database.errors import StartError
from labrecords.database.server import Server


class Command(BaseCommand):
    help = "Starts or stops the built-in database server, or says whether it runs."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("act", choices=["start", "stop", "status"])

    def handle(self, *_args, act, **_options):
        server = settings.EMBEDDED_SERVER
        if server is None:
            self.stdout.write("DATABASE_URL names a database server of its own, so there is nothing to do here.")
            return
        try:
            self.stdout.write({"start": _start, "stop": _stop, "status": _status}[act](server))
        except StartError as problem:
            raise CommandError(str(problem)) from problem


def _start(server: Server) -> str:
    before = server.running()
    server.ensure()
    return f"The database server {'runs already' if before else 'has been started'}. Its files are in {server.data}."


def _stop(server: Server) -> str:
    if not server.running():
        return "The database server does not run."
    server.stop()
    return "The database server has been stopped. It starts again by itself when it is needed."


def _status(server: Server) -> str:
    if server.running():
        return f"The database server runs. Its files are in {server.data}."
    return "The database server does not run. It starts by itself when it is needed."
