"""Room browser: run the browser's modules outside a browser, in an embedded engine.

Some features are asked for by a page and by a command, and by nothing else of ours: logs,
drive plans, case links. They exist once, as modules of the browser, and the commands run
those. The engine has the language and no browser round it; the few standard functions the
modules use are in standard.js.
"""

import atexit
import json
from collections.abc import Iterable
from functools import cache
from math import isfinite
from pathlib import Path
from typing import Any

from build_tools.browser.linker import (
    ASSETS,
    LinkError,
    Surroundings,
    constant_name,
    in_order,
    linked,
    refuse_later,
)

STANDARD = Path(__file__).with_name("standard.js")
NOT_INSTALLED = (
    "this needs the package mini-racer, which runs the browser's modules: "
    "python -m pip install 'before-parts[commands]', or make setup"
)
_SURROUNDINGS = Surroundings(
    name=constant_name,
    address=lambda path: json.dumps(f"module:{constant_name(path)}"),
    later=refuse_later,
)


class NotInstalledError(Exception):
    """Say that the embedded engine is not installed, and how to install it."""


class ModuleFailedError(Exception):
    """Carry the message of an error that a module raised."""


class BrowserModules:
    """Modules of the browser, loaded once, and all they need.

    Raises:
        NotInstalledError: if the embedded engine is missing.
        LinkError: if a module cannot be linked.
    """

    def __init__(self, entries: Iterable[str]) -> None:
        """Load modules by their paths below the assets, without the ending: `logs/voltlog`."""
        try:
            from py_mini_racer import MiniRacer  # noqa: PLC0415 - an optional extra
        except ImportError as error:
            raise NotInstalledError(NOT_INSTALLED) from error
        self._engine: MiniRacer = MiniRacer()
        # Left to the end of the process, its thread may wait for ever for what is gone by then.
        atexit.register(self._engine.close)
        modules = in_order(ASSETS / f"{entry}.js" for entry in entries)
        text = linked(modules, _SURROUNDINGS)
        self._run(f'"use strict";\n{STANDARD.read_text("utf-8")}\n{text}')

    def call(self, module: str, function: str, *given: object) -> Any:  # noqa: ANN401 - any JSON
        """Call an exported function with JSON values and return its answer as JSON values.

        What is no number or has no end travels as null; an answer of `undefined` is None.

        Raises:
            ModuleFailedError: with the message of the error, if the function fails.
        """
        name = constant_name(ASSETS / f"{module}.js")
        # As text in text: a name like __proto__ is then a name like any other.
        return self.evaluate(f"{name}.{function}(...JSON.parse({json.dumps(_as_json(given))}))")

    def evaluate(self, expression: str) -> Any:  # noqa: ANN401 - any JSON
        """Return the value of an expression over the modules' constants, as JSON values."""
        # Only JSON crosses: the engine's own strings may hold half a character, which stops it.
        answer = json.loads(self._run(f"answerOf(() => ({expression}))"))
        if "failed" in answer:
            raise ModuleFailedError(answer["failed"])
        return answer.get("value")

    def _run(self, text: str) -> Any:  # noqa: ANN401 - the engine's own values
        from py_mini_racer import JSEvalException  # noqa: PLC0415 - an optional extra

        try:
            return self._engine.eval(text)
        except JSEvalException as error:
            raise LinkError(f"the linked modules do not load: {error}") from error


def _as_json(value: object) -> str:
    try:
        return json.dumps(value, allow_nan=False)
    except ValueError:
        return json.dumps(_finite(value), allow_nan=False)


def _finite(value: Any) -> Any:  # noqa: ANN401 - any JSON
    if isinstance(value, dict):
        return {name: _finite(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(one) for one in value]
    return None if isinstance(value, float) and not isfinite(value) else value


@cache
def browser_modules(*entries: str) -> BrowserModules:
    """Return these modules loaded; the same ones are loaded once in a process."""
    return BrowserModules(entries)


__all__ = [
    "BrowserModules",
    "LinkError",
    "ModuleFailedError",
    "NotInstalledError",
    "browser_modules",
]
