"""The built site, served under a sub-path as on a shared host, once for all browser tests."""

import functools
import threading
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest

from tests.shared_folder import ROOT, whole_site

PREFIX = "/some/place/"

# Unfilled, as in the preview, the worker keeps nothing and retires itself: other tests need
# no copy of the whole site each. test_offline serves the real one.
RETIRING_WORKER = ROOT / "site_overrides" / "sw.js"


class _Handler(SimpleHTTPRequestHandler):
    def translate_path(self, path):
        if path == f"{PREFIX}sw.js":
            return str(RETIRING_WORKER)
        inside = path.removeprefix(PREFIX) if path.startswith(PREFIX) else "outside-the-site"
        return super().translate_path("/" + inside)

    def log_message(self, *_):
        pass


def serve_folder(folder):
    """Serve a folder on a free port of this machine; return the server and its address."""
    server = ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(_Handler, directory=str(folder))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server, f"http://127.0.0.1:{server.server_address[1]}{PREFIX}"


@pytest.fixture(scope="session")
def built_site(tmp_path_factory):
    return whole_site(tmp_path_factory)


@pytest.fixture(scope="session")
def site_url(built_site):
    server, address = serve_folder(built_site)
    yield address
    server.shutdown()
    server.server_close()
