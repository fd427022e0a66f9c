"""What one test leaves in the window that tests use in turn, the next one does not find."""

import pytest

LEFT = """async (url) => {
  localStorage.setItem("left", "1");
  sessionStorage.setItem("left", "1");
  document.cookie = "left=1";
  const kept = await caches.open("left");
  await kept.put("left", new Response("1"));
}"""
FOUND = """async () => [localStorage.length, sessionStorage.length, document.cookie,
  (await caches.keys()).length, innerWidth, navigator.onLine,
  matchMedia("print").matches || matchMedia("(prefers-color-scheme: dark)").matches,
  matchMedia("(prefers-reduced-motion: reduce)").matches]"""


def test_nothing_a_test_leaves_is_there_for_the_next(kept_phone, site_url):
    page, heard, asked = kept_phone.opened()
    page.goto(f"{site_url}stay-safe/")
    before = page.evaluate(FOUND)
    page.evaluate(LEFT)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.emulate_media(media="print", color_scheme="dark", reduced_motion="no-preference")
    page.route("**/glossary/", lambda route: route.abort())
    page.context.new_page().goto(f"{site_url}sources/")
    page.context.set_offline(True)
    page.evaluate("console.error('noise')")
    assert page.evaluate(FOUND) == [1, 1, "left=1", 1, 1280, False, True, False]
    assert heard
    kept_phone.emptied()
    page, heard, asked = kept_phone.opened()
    assert (heard, asked, len(page.context.pages)) == ([], [], 1)
    assert page.goto(f"{site_url}glossary/").ok
    assert page.evaluate(FOUND) == before == [0, 0, "", 0, 360, True, False, True]
    kept_phone.emptied()


def test_what_would_stay_is_refused(phone):
    with pytest.raises(AssertionError, match="window of its own"):
        phone.add_init_script("globalThis.left = 1")
    with pytest.raises(AssertionError, match="window of its own"):
        phone.clock.install()


def test_a_window_that_a_test_closed_is_opened_anew(kept_phone, site_url):
    page, _, _ = kept_phone.opened()
    page.close()
    kept_phone.emptied()
    page, _, asked = kept_phone.opened()
    page.goto(f"{site_url}stay-safe/")
    assert asked
    kept_phone.emptied()
