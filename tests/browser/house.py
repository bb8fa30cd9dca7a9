"""Starts the demo as README says, in a folder of its own, and signs its people in with a real browser."""

import contextlib
import fcntl
import os
import pathlib
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

ROOT = pathlib.Path(__file__).parent.parent.parent
# The same engine without a window opens a page in a third of the time.
SHELL = shutil.which("chromium-headless-shell")
CHROMIUM = os.environ.get("CHROMIUM") or SHELL or shutil.which("chromium") or "/usr/bin/chromium"
# Quiet: a browser under test looks nothing up outside this computer.
FLAGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
ACCOUNT = re.compile(r"^  (\S+)\s+(\S+)\s{2,}\S.*$", re.MULTILINE)


@dataclass
class House:
    """A running demo: its address, its people's passwords and PINs, the token, and the folder of files to drop."""

    url: str
    passwords: dict[str, str]
    pins: dict[str, str]  # of badges, by their code
    token: str
    traces: pathlib.Path
    home: pathlib.Path
    printed: str = field(repr=False)


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return taken.getsockname()[1]


@contextlib.contextmanager
def running(copy_of: pathlib.Path | None = None) -> Iterator[House]:
    """The demo, served until the block ends; then all of it is cleared away.

    It is built anew, or is a copy of the one that stands in a folder, which whoever comes first builds there.
    """
    home, port = pathlib.Path(tempfile.mkdtemp(prefix="labrecords-demo-")), free_port()
    log = home / "printed.txt"
    before = _copied(copy_of, home) if copy_of else ""
    with log.open("w") as out:
        serve = [sys.executable, "manage.py", "demo", "--port", str(port)]
        served = subprocess.Popen(serve, cwd=ROOT, env=_environment(home), stdout=out, stderr=subprocess.STDOUT)
    try:
        yield _house(f"http://localhost:{port}", home, before + _printed(log, served, port))
    finally:
        served.terminate()
        served.wait(20)
        _manage(home, "database", "stop", check=False)
        shutil.rmtree(home, ignore_errors=True)


def _environment(home: pathlib.Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
    return kept | {"LABRECORDS_HOME": str(home), "DJANGO_SETTINGS_MODULE": "labrecords.settings"}


def _manage(home: pathlib.Path, *words: str, check: bool = True) -> str:
    command = [sys.executable, "manage.py", *words]
    done = subprocess.run(command, cwd=ROOT, env=_environment(home), capture_output=True, text=True)
    assert done.returncode == 0 or not check, f"{' '.join(words)} failed:\n{done.stdout}{done.stderr}"
    return done.stdout


def _copied(built: pathlib.Path, home: pathlib.Path) -> str:
    """Copy the demo that stands in a folder, built now if nobody has; what was printed when it was, as of the copy."""
    with built.with_suffix(".lock").open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (built / "built.txt").exists():
            printed = _manage(built, "demo", "--no-serve")
            _manage(built, "database", "stop")
            (built / "built.txt").write_text(printed)
        subprocess.run(["cp", "-a", f"{built}/.", home], check=True)  # with their owner, who runs the database
    return (home / "built.txt").read_text().replace(str(built), str(home))


def _printed(log: pathlib.Path, served: subprocess.Popen, port: int) -> str:
    deadline = time.monotonic() + 180
    while time.monotonic() < deadline and served.poll() is None:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return log.read_text()
        time.sleep(0.2)
    raise AssertionError(f"The demo did not start:\n{log.read_text()}")


def _house(url: str, home: pathlib.Path, printed: str) -> House:
    return House(
        url=url,
        passwords=dict(ACCOUNT.findall(printed)),
        pins=dict(re.findall(r"(PB-\S+) with (\d+)", printed)),
        token=re.search(r"programming interface: (\S+)", printed)[1],
        traces=pathlib.Path(re.search(r"Trace files to drop .*: (\S.*)", printed)[1].strip()),
        home=home,
        printed=printed,
    )


def sign_in(page, house: House, who: str) -> None:
    """Sign a person in through the page."""
    page.goto(f"{house.url}/sign-in/")
    page.get_by_label("Username").fill(who)
    page.get_by_label("Password").fill(house.passwords[who])
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda address: "sign-in" not in address)


RECORD_VIOLATIONS = """
document.addEventListener("securitypolicyviolation", (event) => {
  console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`);
});
"""


def watch(page) -> list[str]:
    """Collect whatever the console, a script or the policy complains of, from now on."""
    complaints: list[str] = []
    page.add_init_script(RECORD_VIOLATIONS)
    page.on("console", lambda message: _note(complaints, message))
    page.on("pageerror", lambda error: complaints.append(f"script: {error}"))
    page.on("requestfailed", lambda request: _failed(complaints, request))
    return complaints


def _failed(complaints: list[str], request) -> None:
    # what was still on its way when the next page was asked for is aborted by the browser itself
    if request.failure != "net::ERR_ABORTED":
        complaints.append(f"request: {request.url} {request.failure}")


def settled(page) -> None:
    """Wait until every figure of the page has been drawn."""
    for figure in page.locator("figure[data-figure]").all():
        figure.locator("svg.main-svg").first.wait_for()


def _note(complaints: list[str], message) -> None:
    # a browser reports an answer of 4xx as an error of the console; our refusals answer so on purpose
    answered = "Failed to load resource" in message.text and re.search(r"status of 4(01|03|04|09|22)", message.text)
    if message.type in ("error", "warning") and not answered:
        complaints.append(f"{message.type}: {message.text}")
