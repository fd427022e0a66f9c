"""Hours of a restless reader: random taps, typing, Back, reloads, a second tab, no network.

The reader has a right to three things whatever they do: the page never breaks (no word on the
console, no refusal by its own policy), nothing goes out, and a reload shows the same advice.
The sequences are drawn from a seed, so a failure can be seen again.
"""

from __future__ import annotations

import random

import pytest
from playwright.sync_api import Error

from tests.browser.phone import FLAT, LISTEN, outside

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


def wander(page, other, site_url, draw, actions):
    """Yield what a reload changed, action by action."""
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
            for _ in range(600 if before else 0):
                if (after := settled(page)) == before:
                    break
                page.wait_for_timeout(100)
            else:
                assert not before or after == before, page.url
        else:
            act(page, draw, draw.choice(TYPED))


@pytest.mark.parametrize(
    ("seed", "actions"),
    [(1, 120), *(pytest.param(seed, 500, marks=pytest.mark.long) for seed in (2, 3, 4, 5))],
)
def test_nothing_breaks_and_a_reload_changes_no_advice(new_context, site_url, seed, actions):
    context = new_context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    context.add_init_script(LISTEN)
    heard, asked = [], []
    context.on("request", lambda request: asked.append(request.url))
    pages = [context.new_page(), context.new_page()]
    for page in pages:
        page.on("console", lambda message: heard.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: heard.append(f"error: {error}"))
        page.on("dialog", lambda dialog: dialog.accept())
    wander(*pages, site_url, random.Random(seed), actions)
    # Without a network the browser itself says that something could not be fetched; nothing else.
    cut = ("ERR_INTERNET_DISCONNECTED", "error occurred when fetching the script")
    assert [line for line in heard if not any(words in line for words in cut)] == []
    assert outside(asked, site_url) == []
