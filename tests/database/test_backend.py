"""The backend that starts the server, in processes with settings of their own."""

import json

from tests.database.conftest import child, finish

SET_UP = """
import json, pathlib, sys
import django
from django.conf import settings
from labrecords.database.server import Server

server = Server(pathlib.Path(sys.argv[1]), durable=False)
default = {
    "ENGINE": "labrecords.database",
    "HOST": str(server.socket_dir),
    "NAME": "labrecords",
    "USER": "labrecords_app",
}
settings.configure(
    DATABASES={"default": default},
    EMBEDDED_SERVER=server,
    OWNER_DATABASE={**default, "USER": "labrecords_owner", "NAME": "another"},
    USE_TZ=True,
)
django.setup()
from django.core.management import call_command
from django.db import OperationalError, connection, transaction
from labrecords.database.roles import as_owner

def ask(query):
    with connection.cursor() as cursor:
        cursor.execute(query)
        return cursor.fetchone()[0]

def refusal(act):
    try:
        act()
    except Exception as error:
        return f"{type(error).__name__}: {error}"
"""


def run(server, code):
    """Run code after SET_UP on a server's folder; give what it puts into `answer`."""
    printed = finish(child(SET_UP + code + "\nprint(json.dumps(answer))", server.data))
    return json.loads(printed.splitlines()[-1])


def test_commands_that_need_no_database_start_nothing(make_server):
    server = make_server()
    run(server, "call_command('check'); connection.vendor; answer = None")
    assert not server.data.exists()
    assert not server.socket_dir.exists()


def test_a_query_starts_the_server_the_first_time_and_after_it_went(used_server):
    used_server.stop()
    code = """
answer = [ask("SELECT current_user")]
connection.close()
server.stop()
answer.append(ask("SELECT 2"))
"""
    assert run(used_server, code) == ["labrecords_app", 2]
    assert used_server.running()


def test_a_missing_database_is_tried_once_more_and_no_further(server):
    code = """
calls, ensure = [], server.ensure
server.ensure = lambda: (calls.append(1), ensure())
connection.settings_dict["NAME"] = "missing"
answer = [refusal(connection.ensure_connection), len(calls)]
"""
    said, calls = run(server, code)
    assert said.startswith("OperationalError")
    assert 'database "missing" does not exist' in said
    assert calls == 1


def test_a_socket_folder_open_to_others_is_not_connected_to(server):
    code = """
server.socket_dir.chmod(0o755)
answer = [refusal(connection.ensure_connection)]
server.socket_dir.chmod(0o700)
answer.append(refusal(connection.ensure_connection))
"""
    refused, connected = run(server, code)
    assert refused.startswith("StartError")
    assert connected is None


def test_without_a_built_in_server_nothing_is_started(make_server):
    server = make_server()
    code = "settings.EMBEDDED_SERVER = None\nanswer = refusal(connection.ensure_connection)"
    assert run(server, code).startswith("OperationalError")
    assert not server.data.exists()


def test_as_owner_changes_the_account_not_the_database_and_changes_it_back(server):
    code = """
who = "SELECT current_user || ' in ' || current_database()"
answer = [ask(who)]
with as_owner():
    answer.append(ask(who))
answer.append(ask(who))
try:
    with as_owner():
        raise LookupError
except LookupError:
    answer.append(ask(who))
"""
    app, owner = "labrecords_app in labrecords", "labrecords_owner in labrecords"
    assert run(server, code) == [app, owner, app, app]


def test_as_owner_says_what_to_set_and_refuses_within_a_transaction(server):
    code = """
def enter():
    with as_owner():
        pass

with transaction.atomic():
    answer = [refusal(enter), ask("SELECT current_user")]
settings.OWNER_DATABASE = None
answer.append(refusal(enter))
"""
    within, still, without = run(server, code)
    assert within.startswith("TransactionManagementError")
    assert still == "labrecords_app"
    assert without.startswith("ImproperlyConfigured: Set MIGRATION_DATABASE_URL")
