"""One page that tests use in turn: a window of its own costs a test more than all it does in it.

Between two tests everything the first could leave is taken away: what the site keeps, other tabs,
routes, the media and the size. What cannot be taken away is refused; a test that needs it asks
for a window of its own.
"""

from urllib.parse import urlsplit

LASTING = "this would stay for the tests that come after: ask for a window of its own"


class KeptPage:
    """A page that is opened once and emptied after each test."""

    def __init__(self, opening, *, motion):
        """Take what opens a window, as the first test asks, and whether it shows motion."""
        self._opening = opening
        self._media = {"media": "null", "color_scheme": "light", "reduced_motion": motion}
        self.page = None

    def opened(self):
        """Return the empty page, and the lists of what it says and asks for from now on."""
        if self.page is None or self.page.is_closed():
            self._open()
        self.heard.clear()
        self.asked.clear()
        return self.page, self.heard, self.asked

    def _open(self):
        page, self.heard, self.asked = self._opening()
        self.size = page.viewport_size
        self._devtools = page.context.new_cdp_session(page)
        # Scripts and settings of these stay with a window until it closes.
        for owner, name in (
            (page, "add_init_script"), (page, "expose_function"), (page, "expose_binding"),
            (page.clock, "install"), (page.context, "new_cdp_session"),
            (page.context, "add_init_script"), (page.context, "set_extra_http_headers"),
        ):  # fmt: skip
            setattr(owner, name, refuse)
        self.page = page

    def emptied(self):
        """Take away what a test left."""
        page, context = self.page, self.page.context
        if page.is_closed():
            context.close()
            return
        for other in context.pages:
            if other != page:
                other.close()
        page.unroute_all()
        context.set_offline(False)
        page.goto("about:blank")
        # What a tab keeps can be taken away only from a page of the same origin.
        page.route("**/*", lambda route: route.fulfill(content_type="text/html", body=""))
        for origin in {"{0.scheme}://{0.netloc}".format(urlsplit(url)) for url in self.asked}:
            if origin.startswith("http"):
                page.goto(origin)
                page.evaluate("sessionStorage.clear()")
                kept = {"origin": origin, "storageTypes": "all"}
                self._devtools.send("Storage.clearDataForOrigin", kept)
        page.unroute_all()
        page.goto("about:blank")
        page.set_viewport_size(self.size)
        page.emulate_media(**self._media)


def refuse(*_, **__):
    """Refuse what a window cannot lay down again."""
    raise AssertionError(LASTING)
