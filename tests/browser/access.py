"""Whether a page stands in somebody's way, as it is now: rules, targets, width, text cut off."""

from tests.browser.phone import violations

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

TOO_SMALL = """() => [...document.querySelectorAll(
    "a, button, summary, select, textarea, input:not([type=hidden], [type=checkbox], [type=radio]), .tick > label")]
  .filter((each) => each.checkVisibility() && !each.closest(".skip, .visually-hidden"))
  // A link in a text, a table or a drawing is exempt: its line decides its height (axe asks for 24 px).
  .filter((each) => !(each.matches("a") && each.closest(
    "p, dd, td, th, caption, figcaption, small, .steps, .mark, svg, :is(ul, ol):not([class])")))
  .filter((each) => !(each.matches("a") && getComputedStyle(each).display === "inline" && each.closest("li, dt, h2, h3")
    && each.parentElement.textContent.trim() !== each.textContent.trim()))
  .map((each) => [each.outerHTML.slice(0, 90), each.getBoundingClientRect().height])
  .filter(([, height]) => height < 43.5)"""

# A phone zooms out over what is too wide, and `innerWidth` grows with it: `clientWidth` does not.
TOO_WIDE = """() => document.documentElement.scrollWidth <= document.documentElement.clientWidth ? [] :
  [...document.querySelectorAll("body *")]
    .filter((each) => each.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5)
    .filter((each) => !each.closest(".table-wrap, pre, .skip"))
    .map((each) => each.outerHTML.slice(0, 90)).slice(0, 5)"""

# Text that does not fit its own box is cut off; what scrolls on purpose is not.
CUT_OFF = """() => [...document.querySelectorAll("body *")]
  .filter((each) => each.checkVisibility() && each.clientWidth > 1 && !each.closest("svg, .visually-hidden"))
  .filter((each) => ["hidden", "clip"].includes(getComputedStyle(each).overflowX))
  .filter((each) => each.scrollWidth > each.clientWidth + 1)
  .map((each) => each.outerHTML.slice(0, 90))"""


def hold_fit(page):
    """Hold the page to the rules of access as it stands."""
    assert violations(page, runOnly=WCAG) == []
    assert page.evaluate(TOO_SMALL) == []
    assert page.evaluate(TOO_WIDE) == []
    assert page.evaluate(CUT_OFF) == []
