"""The browser's modules for tests, run in the embedded engine or in Chromium.

A test names the modules it needs and gives a body of code; the same body runs in both.
"""

import json
from functools import cache

from build_tools.browser.embedded import browser_modules
from build_tools.browser.linker import ASSETS, constant_name

ROOMS = ("answer", "case", "engine", "exercise", "knowledge", "logs", "measure", "obd", "vendor")


@cache
def engine():
    """Return the one engine of a process, with every module loaded that needs no page."""
    paths = [path for room in ROOMS for path in sorted((ASSETS / room).glob("*.js"))]
    names = [str(path.relative_to(ASSETS).with_suffix("")) for path in paths]
    return browser_modules(*names, "pages/checker/advice-text")


class Told(dict):
    """An answer whose fields can be read as attributes as well."""

    __getattr__ = dict.__getitem__


def told(answer):
    """Return an answer of JSON values with every object in it readable by attribute."""
    if isinstance(answer, list):
        return [told(one) for one in answer]
    if isinstance(answer, dict):
        return Told({name: told(one) for name, one in answer.items()})
    return answer


def call(module, function, *given):
    """Call an exported function of a module, named by its path below the assets."""
    return told(engine().call(module, function, *given))


def value(expression):
    """Return the value of an expression over the modules' constants."""
    return told(engine().evaluate(expression))


def embedded(modules, body, given=None):
    """Run a body of code over `input`, with each module under the name it is given."""
    names = ", ".join(modules)
    parts = ", ".join(constant_name(ASSETS / f"{path}.js") for path in modules.values())
    text = json.dumps(json.dumps(given))
    return engine().evaluate(f"(({names}, input) => {{ {body} }})({parts}, JSON.parse({text}))")


def in_page(page):
    """Return what runs the same bodies in a page on which the modules can be imported."""

    def run(modules, body, given=None):
        loads = "".join(
            f"const {name} = await import('/{path}.js');" for name, path in modules.items()
        )
        return page.evaluate(f"async (input) => {{ {loads} {body} }}", given)

    return run
