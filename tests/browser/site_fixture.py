"""The built site, served under a sub-path as on a shared host, once for all browser tests."""

from __future__ import annotations

import functools
import threading
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from build_tools.site.build_site import build

ROOT = Path(__file__).resolve().parents[2]
PREFIX = "/some/place/"
# A name reserved by RFC 2606: the site knows an address, as on a real host, and nobody has it.
KNOWN_ADDRESS = "https://example.org/some/place/"

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
    """Build the site as for a host whose address is known, and give its folder."""
    out = tmp_path_factory.mktemp("browser") / "site"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SITE_URL", KNOWN_ADDRESS)
        assert build(ROOT, out) == []
    return out


@pytest.fixture(scope="session")
def site_url(built_site):
    server, address = serve_folder(built_site)
    yield address
    server.shutdown()
    server.server_close()
