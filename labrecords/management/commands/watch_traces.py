"""`watch_traces`: takes trace files from the folder into which a tester writes them. Runs until it is stopped."""

import pathlib
import signal
import threading

from django.core.management.base import BaseCommand, CommandError

from labrecords.database.errors import UNREACHABLE
from labrecords.management.watching import Patience, Watch
from labrecords.queries import access, people, studies

LOOKS_MS = 500


class Command(BaseCommand):
    help = (
        "Takes the trace files that a tester writes into DIR, once each is whole: to the study whose specimen it "
        "names, else into the tray on the bench page. They move to DIR/taken, or to DIR/refused with a .txt that says "
        "why. No result is kept: somebody presses Keep at the bench. Runs until it is stopped."
    )

    def add_arguments(self, parser):
        parser.add_argument("folder", type=pathlib.Path, metavar="DIR")
        parser.add_argument("--as", dest="username", required=True, help="user name of a person or a tester's account")
        parser.add_argument("--tester", default="", metavar="LABEL", help="read files as confirmed for this tester")
        parser.add_argument("--settled", type=float, default=2.0, help="seconds without a change before it is read; 2")
        parser.add_argument("--unread", type=float, default=20.0, help="the same, for what cannot be read; 20")
        parser.add_argument("--polling", action="store_true", help="for a network folder, which reports no changes")

    def handle(self, *_args, folder, username, tester, settled, unread, polling, **_options):
        from watchfiles import watch

        self._check(folder, username, tester)
        watching = Watch(folder, username=username, tester=tester, patience=Patience(settled, unread), say=self._say)
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        self._say(f"Watching {folder} as {username}. Ctrl-C ends it.")
        watching.turn()
        turns = watch(
            folder,
            watch_filter=None,
            debounce=LOOKS_MS,
            rust_timeout=LOOKS_MS,
            yield_on_timeout=True,
            recursive=False,
            force_polling=polling or None,
            stop_event=stop,
        )
        try:
            for _ in turns:
                if stop.is_set():
                    break
                watching.turn()
        except (access.NotAllowed, access.NotFound) as problem:
            raise CommandError(f"Nothing more is taken: {problem}") from problem
        self._say("Stopped. What was not taken yet is taken when this is started again.")

    def _check(self, folder: pathlib.Path, username: str, tester: str) -> None:
        """Raise CommandError for what can be seen to be wrong; a database that is away is waited for."""
        if not folder.is_dir():
            raise CommandError(f"{folder} is not a folder. Make it first, and have the tester write into it.")
        try:
            access.demand(people.person(username), "enter a result")
            if tester and studies.equipment(tester).kind != "tester":
                raise CommandError(f"{tester} is not a tester.")
        except access.NotFound as problem:
            raise CommandError(f"There is no {problem}.") from problem
        except access.NotAllowed as problem:
            raise CommandError(str(problem)) from problem
        except UNREACHABLE:
            return

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
