"""Room 5: turn values into the words and safe markup that pages share.

Numbers become plain words here, once, so every page says "about 1 in 3" alike. Prose from
the knowledge is Markdown and is cleaned before it becomes HTML. No page is built here.
"""

import functools
import re
from collections.abc import Iterable, Mapping

import markdown
import nh3
from markupsafe import Markup

from build_tools.knowledge.entries import Price
from build_tools.knowledge.quantities import Unit

_PROSE_TAGS = {"p", "ul", "ol", "li", "strong", "em", "code", "a", "br", "blockquote", "h3"}
_HALF = 0.5
_SMALLEST = 0.01
# Steps a reader can picture; between two of them the nearer one is said.
_FRACTIONS = ((1, 2), (3, 5), (2, 3), (3, 4), (4, 5), (9, 10), (19, 20))
_DENOMINATORS = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50, 100)
WHO_WORDS = {
    "owner": "you can do it yourself",
    "owner-with-tools": "you can do it yourself with simple tools",
    "workshop": "a workshop",
}
SKILL_WORDS = {"easy": "easy", "some": "some skill", "workshop": "workshop skill"}


def fraction_words(share: float) -> str:
    """Say a probability as "about 1 in 3", or "less than 1 in 100".

    Nothing is ever called certain: shares above 19 in 20 read "more than 19 in 20".
    """
    if share < _SMALLEST:
        return "less than 1 in 100"
    top, bottom = _FRACTIONS[-1]
    if share > top / bottom + 0.015:
        return f"more than {top} in {bottom}"
    if share < _HALF:
        # Compared as "one in how many", which is how the words are read.
        nearest = min(_DENOMINATORS, key=lambda n: (abs(n - 1 / share) / n, n))
        return f"about 1 in {nearest}"
    top, bottom = min(_FRACTIONS, key=lambda f: (abs(f[0] / f[1] - share), f))
    return f"about {top} in {bottom}"


def money_words(amount: float, currency: str) -> str:
    """Say an amount of money, "nothing" for none."""
    return "nothing" if amount == 0 else _in_currency(amount, currency)


def _in_currency(amount: float, currency: str) -> str:
    return f"${amount:g}" if currency == "USD" else f"{amount:g} {currency}"


def range_words(low: float, high: float, currency: str) -> str:
    """Say a price range, "nothing" when nothing is bought."""
    if low == high:
        return money_words(low, currency)
    return f"{_in_currency(low, currency)} to {_in_currency(high, currency)}"


def price_words(price: Price) -> str:
    """Say a price range without its year."""
    return range_words(price.low, price.high, price.currency)


def minutes_words(minutes: float) -> str:
    """Say a time: minutes up to two hours, then hours."""
    if minutes < 120:  # noqa: PLR2004 - two hours, the point where minutes stop being pictured
        return f"{minutes:g} min"
    return f"{minutes / 60:.1f}".removesuffix(".0") + " h"


def time_words(minutes: float, wait_hours: float) -> str:
    """Say the owner's own minutes, and the hours of waiting apart from them."""
    own = minutes_words(minutes)
    return f"{own} of yours, then about {wait_hours:g} h of waiting" if wait_hours else own


def number_words(value: float) -> str:
    """Write a number with a true minus sign and no digits beyond those it was given with."""
    return f"{value:g}".replace("-", "\N{MINUS SIGN}")


def unit_symbol(unit: str, units: Mapping[str, Unit]) -> str:
    """Return how a unit is shown; a ratio has no sign of its own."""
    if unit == "ratio":
        return ""
    return units[unit].symbol if unit in units else unit


def with_unit(value: float, symbol: str) -> str:
    """Write a number and its unit, kept on one line."""
    return f"{number_words(value)}\N{NO-BREAK SPACE}{symbol}".rstrip("\N{NO-BREAK SPACE}")


@functools.cache
def prose(text: str) -> Markup:
    """Turn Markdown from the knowledge into clean HTML: no scripts, images or styles.

    Links keep relative addresses and `https:`; everything else is dropped by an allow list.
    """
    html = markdown.markdown(text.strip(), output_format="html")
    clean = nh3.clean(
        html, tags=_PROSE_TAGS, attributes={"a": {"href"}}, url_schemes={"https"}, link_rel=None
    )
    return Markup(clean)  # noqa: S704 - just cleaned by the allow list


@functools.cache
def plain(text: str) -> str:
    """Return prose as plain text on one line, for descriptions."""
    return re.sub(r"\s+", " ", Markup(nh3.clean(prose(text), tags=set())).unescape()).strip()  # noqa: S704 - all tags are removed


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Join words the way one says them: a, b and c."""
    found = list(words)
    if len(found) < 2:  # noqa: PLR2004 - one word needs no joint
        return "".join(found)
    return f"{', '.join(found[:-1])} {joint} {found[-1]}"


def upper_first(text: str) -> str:
    """Raise the first letter and leave the rest."""
    return text[:1].upper() + text[1:]


def lower_first(text: str) -> str:
    """Lower the first letter, unless the first word is an abbreviation such as EFB."""
    if len(text) > 1 and (text[1].islower() or text[1] == " "):
        return text[0].lower() + text[1:]
    return text
