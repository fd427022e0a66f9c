"""Every browser module loads in real Chromium, and none takes a forbidden road to the page."""

import re
from pathlib import Path

import pytest

from build_tools.knowledge import markup

ROOT = Path(__file__).resolve().parents[2]
ASSETS = ROOT / "site_overrides" / "assets"
MODULES = sorted(path.relative_to(ASSETS).as_posix() for path in ASSETS.rglob("*.js"))

# What the page's policy forbids, and what could turn data into markup or code.
FORBIDDEN = re.compile(
    r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\.style\b|cssText|"
    r"\beval\(|new Function\(|\bsrcdoc\b|setAttribute\(.style"
)


def without_comments(text):
    return re.sub(r"/\*.*?\*/|(?<![:\"'])//[^\n]*", "", text, flags=re.DOTALL)


def test_every_module_loads(page, site_url):
    page.goto(f"{site_url}stay-safe/")
    outcomes = page.evaluate(
        """async ([base, names]) => {
          const outcomes = [];
          for (const name of names) {
            await import(base + "assets/" + name).then(
              () => outcomes.push([name, "loaded"]),
              (error) => outcomes.push([name, `${error.name}: ${error.message}`]),
            );
          }
          return outcomes;
        }""",
        [site_url, MODULES],
    )
    assert len(outcomes) == len(MODULES) > 20
    # A module that joins itself to a page says which element it misses; nothing else may fail.
    missing = "Error: The page lacks"
    assert [one for one in outcomes if one[1] != "loaded" and not one[1].startswith(missing)] == []


@pytest.mark.parametrize("name", MODULES)
def test_module_writes_no_markup_and_runs_no_text(name):
    found = FORBIDDEN.findall(without_comments((ASSETS / name).read_text("utf-8")))
    assert found == []


@pytest.mark.parametrize("name", MODULES)
def test_module_is_named_as_the_others_are(name):
    assert re.fullmatch(r"([a-z0-9]+(-[a-z0-9]+)*/)*[a-z0-9]+(-[a-z0-9]+)*\.js", name)


def test_chances_are_said_alike_on_pages_and_in_the_checker(page, site_url):
    shares = [n / 997 for n in range(998)] + [0.0, 0.01, 0.5, 0.95, 0.965, 1.0]
    page.goto(f"{site_url}stay-safe/")
    words = page.evaluate(
        """async ([base, shares]) => {
          const { fractionWords } = await import(base + "assets/kit/figures.js");
          return shares.map(fractionWords);
        }""",
        [site_url, shares],
    )
    assert words == [markup.fraction_words(share) for share in shares]
