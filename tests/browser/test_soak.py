"""Hours of a restless reader: random taps, typing, Back, reloads, a second tab, no network.

The reader has a right to three things whatever they do: the page never breaks (no word on the
console, no refusal by its own policy), nothing goes out, and a reload shows the same advice.
Half-way a second edition is put on the server, and taken up while both tabs are open.
The sequences are drawn from a seed, so a failure can be seen again.
"""

import random

import pytest
from playwright.sync_api import Error, expect

from build_tools.site.offline import describe_edition
from tests.browser.phone import FLAT, LISTEN, outside
from tests.browser.test_offline import (
    KEPT,
    check_for_update,
    host,  # noqa: F401 - a fixture is found by its name here
    next_edition,
    until_waiting,
    visit_and_keep,
)

PLACES = ("checker/", f"checker/#s={FLAT}", "readiness/", "readings/", "logs/")
TYPED = (
    *("12.4", "12,1", "14.2 V", "-3", "1e308", "0", "999999999", "abc", "12.6V engine off", ""),
    *("won't start, lights go dim", "P0456 P0171", "7E8 06 41 01 00 07 65 00", "\U0001f697 \u202e"),
    *("battery light on", "<b>x</b>", "EVAP not ready"),
)
# What a hand can do next: each element that shows and can be used, on a page of the site.
USABLE = """() => {
  const all = document.querySelectorAll("main button, main input, main select, main summary, main textarea");
  const shown = [...all].filter((one) => !one.disabled && one.type !== "file" && one.checkVisibility());
  window.soak = shown;
  return shown.map((one) => `${one.localName} ${one.type ?? ""}`);
}"""
# Leaves for somewhere the browser shows to the user itself: print, share, a saved file.
LEAVES = ("print", "share", "download", "save as", "calendar", "copy")


def ask(page, script, given=None):
    """Run a script in the page; where a tap has just led elsewhere, in the page it led to."""
    for _ in range(5):
        try:
            return page.evaluate(script, given)
        except Error as error:
            if "context was destroyed" not in str(error):
                raise
            page.wait_for_load_state("load")
    raise AssertionError("the page never comes to rest")


def act(page, draw, text):
    """Do one thing a hand could do; an element that has gone meanwhile is left alone."""
    kinds = ask(page, USABLE)
    if not kinds:
        return
    place = draw.randrange(len(kinds))
    kind = kinds[place]
    label = ask(page, "(place) => window.soak?.[place]?.textContent ?? ''", place).lower()
    if any(word in label for word in LEAVES):
        return
    if kind.startswith("select"):
        ask(
            page,
            """([place, share]) => {
              const field = window.soak?.[place];
              if (!field) return;
              field.selectedIndex = Math.floor(share * field.options.length);
              field.dispatchEvent(new Event("change", { bubbles: true }));
            }""",
            [place, draw.random()],
        )
    elif kind.startswith("textarea") or kind in {"input text", "input search", "input number"}:
        ask(
            page,
            """([place, text]) => {
              const field = window.soak?.[place];
              if (!field) return;
              field.value = text;
              field.dispatchEvent(new Event("input", { bubbles: true }));
              field.dispatchEvent(new Event("change", { bubbles: true }));
            }""",
            [place, text],
        )
    else:
        ask(page, "(place) => window.soak?.[place]?.click()", place)


def settled(page):
    """Wait until nothing is drawn any more, and return what the page advises."""
    page.wait_for_load_state("load")
    ask(page, "() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
    return ask(
        page,
        # What another tab said stands only after a reload, and the page says so; and what is
        # folded away need not be open again.
        """() => document.querySelector("[data-overtaken]")?.checkVisibility() ? [] :
            [...document.querySelectorAll("[data-main-heading], .standing .bars__line")]
            .filter((one) => one.checkVisibility()).map((one) => one.textContent.split(", was")[0])
            .slice(0, 4)""",
    )


def take_up(page, other, served, newer):
    """Put a second edition on the server and use it; what the page advises stays as it was."""
    page.goto(served.address)
    expect(page.locator("[data-edition]")).to_have_text(KEPT)
    page.goto(f"{served.address}checker/")
    before = at_rest(page, [])
    served.folder = newer
    check_for_update(page)
    until_waiting(page)
    assert page.evaluate("globalThis.edition") is None
    page.get_by_role("button", name="Use it now").click()
    for one in (page, other):
        until_second(one)
    assert at_rest(page, before) == before, page.url


def files_of(edition):
    """Return the names of the files an edition keeps on a device unasked."""
    return describe_edition(getattr(edition, "folder", edition))["files"]


def until_second(page):
    """Ask until the page, which loads anew meanwhile, runs the second edition's script."""
    for _ in range(600):
        if ask(page, "globalThis.edition ?? ''") == "second":
            return
        page.wait_for_timeout(100)
    pytest.fail("the second edition was not taken up")


def at_rest(page, wanted):
    """Return what the page advises once it is as wanted or stays another way for a minute.

    Nothing wanted is anything: a page that has not drawn yet advises nothing.
    """
    for _ in range(600):
        if (found := settled(page)) and (found == wanted or not wanted):
            break
        page.wait_for_timeout(100)
    return found


def wander(page, other, site_url, draw, actions):
    """Act at random; a reload changes nothing."""
    page.goto(site_url + PLACES[0])
    for _ in range(actions):
        chance = draw.random()
        if chance < 0.06:
            settled(page)
            page.goto("about:blank")
            page.goto(site_url + draw.choice(PLACES))
        elif chance < 0.10:
            ask(page, "history.back()")
            page.wait_for_load_state("load")
        elif chance < 0.14:
            page.context.set_offline(True)
            act(page, draw, draw.choice(TYPED))
            page.context.set_offline(False)
        elif chance < 0.18:
            other.goto(site_url + draw.choice(PLACES))
            settled(other)
            act(other, draw, draw.choice(TYPED))
            settled(other)
        elif chance < 0.26:
            before = settled(page)
            page.reload()
            # A page that has not drawn yet advises nothing; after a reload it may draw in pieces.
            assert not before or at_rest(page, before) == before, page.url
        else:
            act(page, draw, draw.choice(TYPED))


@pytest.fixture
def editions(host, built_site, tmp_path):  # noqa: F811 - the fixture above, by its name
    """Serve the site, and lay a second edition of it ready."""
    newer = next_edition(built_site, tmp_path / "newer", every_page=True)
    return host(built_site), newer


@pytest.mark.parametrize(
    ("seed", "actions"),
    [(1, 120), *(pytest.param(seed, 500, marks=pytest.mark.long) for seed in (2, 3, 4, 5))],
)
def test_nothing_breaks_and_neither_reload_nor_update_changes_advice(
    new_context, editions, seed, actions
):
    served, newer = editions
    context = new_context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    context.add_init_script(LISTEN)
    heard, asked = [], []
    context.on("request", lambda request: asked.append(request.url))
    pages = [context.new_page(), context.new_page()]
    for page in pages:
        page.on(
            "console",
            lambda message: heard.append(
                f"{message.type}: {message.text} {message.location['url']}"
            ),
        )
        page.on("pageerror", lambda error: heard.append(f"error: {error}"))
        page.on("dialog", lambda dialog: dialog.accept())
    draw = random.Random(seed)
    # Offline, only what is kept opens: the walk begins once it is.
    visit_and_keep(pages[0], served)
    wander(*pages, served.address, draw, actions // 2)
    pages[1].goto(f"{served.address}checker/")
    take_up(*pages, served, newer)
    wander(*pages, served.address, draw, actions - actions // 2)
    # Without a network the browser itself says that something could not be fetched, and says so of
    # nothing that is kept on the device but the tab's picture, which pages not kept ask for too.
    cut = ("ERR_INTERNET_DISCONNECTED", "error occurred when fetching the script")
    kept = {served.address + name for one in editions for name in files_of(one)}
    kept -= {f"{served.address}assets/icons/icon.svg"}
    assert [
        line
        for line in heard
        if not any(words in line for words in cut)
        and ("net::ERR_FAILED" not in line or line.rsplit(" ", 1)[-1].split("?")[0] in kept)
    ] == []
    assert outside(asked, served.address) == []
