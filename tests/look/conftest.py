"""A browser, and a server that gives it pages under the policy of the real one."""

import functools
import http.server
import pathlib
import threading

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.house import CHROMIUM

STATIC = pathlib.Path(__file__).parents[2] / "static"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]


class Handler(http.server.SimpleHTTPRequestHandler):
    """Serves static/ from the project and everything else from the folder given."""

    def translate_path(self, path):
        if path.startswith("/static/"):
            return str(STATIC / path.removeprefix("/static/"))
        return super().translate_path(path)

    def end_headers(self):
        self.send_header("Content-Security-Policy", POLICY)
        super().end_headers()

    def do_POST(self):
        self.send_response(204)
        self.end_headers()

    def log_message(self, *_args):
        pass


@pytest.fixture
def site(tmp_path):
    """Folder of pages and the address it is served at."""
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=tmp_path)) as server:
        threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True).start()
        yield tmp_path, f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


@pytest.fixture(scope="module")
def browser():
    """Chromium: the walks' own where it is there, else the one that Playwright installed."""
    program = CHROMIUM if pathlib.Path(CHROMIUM).exists() else None
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def opened(browser, site):
    """Open HTML as a page; gives the page and the list of what its console said, breaches included."""
    folder, address = site
    contexts = []

    def opened(html, **context):
        (folder / "page.html").write_text(html)
        contexts.append(browser.new_context(**context))
        page = contexts[-1].new_page()
        said = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto(f"{address}/page.html")
        return page, said

    yield opened
    for context in contexts:
        context.close()
