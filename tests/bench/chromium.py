"""Chromium and small servers for the benches: packed as hosts pack, slow as a phone is."""

import contextlib
import functools
import gzip
import hashlib
import shutil
import threading
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from playwright.sync_api import sync_playwright

THROTTLE = 4
# "Slow 4G" of the browser's own developer tools: 562 ms, 1.44 Mbit/s down, 0.675 up.
SLOW_4G = {
    "offline": False,
    "latency": 562,
    "downloadThroughput": 1.44e6 / 8,
    "uploadThroughput": 0.675e6 / 8,
}
PHONE = {"width": 360, "height": 740}
PACKED = {".html", ".css", ".js", ".json", ".svg", ".webmanifest", ".xml", ".txt"}


@contextlib.contextmanager
def chromium():
    """Start the system's Chromium, without the sandbox that root cannot use."""
    path = shutil.which("chromium") or shutil.which("google-chrome")
    with sync_playwright() as tools:
        browser = tools.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        yield browser
        browser.close()


class PackingHandler(SimpleHTTPRequestHandler):
    """Serve a folder gzipped over connections that stay open.

    As static hosts do, assets are kept for an hour and pages are asked for anew; an answer
    that has not changed is not sent again.
    """

    protocol_version = "HTTP/1.1"

    def do_GET(self):
        path = Path(self.translate_path(self.path))
        if path.is_dir():
            path /= "index.html"
        if self.path == "/" and not path.is_file():
            # A folder of modules has no page to import them into.
            self._send(b"<!doctype html><html lang=en><title>empty</title></html>", ".html")
        elif path.is_file():
            self._send(self.packed(path), path.suffix, packed=path.suffix in PACKED)
        else:
            self.send_error(404)

    @staticmethod
    @functools.cache
    def packed(path):
        body = path.read_bytes()
        return gzip.compress(body, 9) if path.suffix in PACKED else body

    def _send(self, body, suffix, *, packed=False):
        tag = f'"{hashlib.sha256(body).hexdigest()[:16]}"'
        is_known = self.headers.get("If-None-Match") == tag
        self.send_response(304 if is_known else 200)
        self.send_header("ETag", tag)
        self.send_header("Content-Type", self.guess_type(f"x{suffix}"))
        self.send_header("Cache-Control", "no-cache" if suffix == ".html" else "max-age=3600")
        # Lets the page's clock tell steps of 5 microseconds.
        self.send_header("Cross-Origin-Opener-Policy", "same-origin")
        self.send_header("Cross-Origin-Embedder-Policy", "require-corp")
        if packed:
            self.send_header("Content-Encoding", "gzip")
        if is_known:
            self.end_headers()
            return
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def handle_one_request(self):
        # A browser that closes a context leaves lines open; that is no news.
        with contextlib.suppress(ConnectionResetError, BrokenPipeError):
            super().handle_one_request()
            return
        self.close_connection = True

    def log_message(self, *_):
        pass


@contextlib.contextmanager
def served(folder):
    """Serve a folder on a free port of this machine and give its address."""
    handler = functools.partial(PackingHandler, directory=str(folder))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/"
        server.shutdown()
