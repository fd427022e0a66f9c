"""Room 5: say what a page may load, and see that every built page says so.

The policy stands in each page itself, so it holds on any static host. The file of response
headers adds what a page cannot say: who may frame it. It opens no network connection.
"""

from pathlib import Path

from build_tools.knowledge.problems import Complaint, Problem, Severity, Span

UNPROTECTED = Complaint(
    code="BLD904",
    slug="no-content-policy",
    severity=Severity.ERROR,
    why="without the policy a slip in one text could run foreign code in the reader's browser",
)
# No inline script or style exists (see site_links), so no hash is needed. Forms may only
# lead to our own pages: without scripts the question on the first page still works.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; "
    "form-action 'self'"
)
_HEADERS = f"""\
/*
  Content-Security-Policy: {POLICY}; frame-ancestors 'none'
  X-Content-Type-Options: nosniff
  Referrer-Policy: no-referrer
  Cross-Origin-Opener-Policy: same-origin
  Permissions-Policy: camera=(), microphone=(), geolocation=(), payment=(), usb=()
/sw.js
  Cache-Control: no-cache
/app.webmanifest
  Content-Type: application/manifest+json
/assets/data/*
  Access-Control-Allow-Origin: *
/schema/*
  Access-Control-Allow-Origin: *
"""
_MARK = '<meta http-equiv="Content-Security-Policy" content="'


def headers_file() -> str:
    """Return the response headers for hosts that read a file `_headers`.

    Its paths start at the root of the host; below a path, put that path before them.
    """
    return _HEADERS


def policy_tag() -> str:
    """Return the tag that puts the policy on a page; it must come before anything it rules."""
    return f'{_MARK}{POLICY}">'


def examine_policy(folder: Path) -> list[Problem]:
    """Return a problem for every built page that loads something before it has the policy."""
    tag = policy_tag()
    problems = []
    for path in sorted(folder.rglob("*.html")):
        text = path.read_text("utf-8")
        at = text.find(tag)
        loads = [place for name in ("<link", "<script", "<body") if (place := text.find(name)) >= 0]
        if at < 0 or any(place < at for place in loads):
            name = path.relative_to(folder).as_posix()
            mend = "include partials/head.html first thing in its head"
            problems.append(UNPROTECTED.at(Span(name), "the page lacks the content policy", mend))
    return problems
