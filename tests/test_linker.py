"""The linker joins modules as the language defines, and refuses what it cannot.

The engine that runs the joined text is V8, a full one; that every module also loads one by
one in a browser is shown by tests/browser/test_js_modules.py.
"""

import json

import pytest
from py_mini_racer import MiniRacer

from build_tools.browser.embedded import BrowserModules, ModuleFailedError, browser_modules
from build_tools.browser.linker import (
    ASSETS,
    LinkError,
    Surroundings,
    constant_name,
    in_order,
    linked,
    refuse_later,
)

HERE = Surroundings(
    name=lambda path: f"in_{path.stem}",
    address=lambda path: json.dumps(f"here:{path.name}"),
    later=lambda path: f"Promise.resolve(in_{path.stem})",
)


def write(folder, **modules):
    for name, text in modules.items():
        (folder / f"{name}.js").write_text(text, encoding="utf-8")
    return folder / "entry.js"


def value_of(folder, expression, **modules):
    entry = write(folder, **modules)
    text = linked(in_order([entry]), HERE)
    return json.loads(MiniRacer().eval(f'"use strict";\n{text}\nJSON.stringify({expression})'))


def test_every_form_of_import_and_export_gives_what_the_language_says(tmp_path):
    found = value_of(
        tmp_path,
        "in_entry.all()",
        parts="export const ONE = 1;\nconst own = 2;\nexport { own as two };\n"
        "export function three() {\n  return own + ONE;\n}\nexport class Four {\n  n = 4;\n}\n",
        passed='export { two, three as trois } from "./parts.js";\nexport default 7 - 1;\n',
        entry='import * as passed from "./passed.js";\n'
        'import {\n  Four as Vier,\n  ONE,\n} from "./parts.js";\n'
        "export const all = () => [ONE, passed.two, passed.trois(), new Vier().n, passed.default];\n",
    )
    assert found == [1, 2, 3, 4, 6]


def test_each_module_runs_once_and_keeps_its_names_to_itself(tmp_path):
    found = value_of(
        tmp_path,
        "in_entry.seen",
        base='globalThis.order = ["base"];\nconst name = "base";\nexport const seen = () => name;\n',
        left='import { seen } from "./base.js";\norder.push("left");\nconst name = "left";\n'
        "export const both = [name, seen()];\n",
        right='import "./base.js";\norder.push("right");\n',
        entry='import { both } from "./left.js";\nimport "./right.js";\nimport "./left.js";\n'
        "export const seen = [order, both];\n",
    )
    assert found == [["base", "left", "right"], ["left", "base"]]


def test_address_and_late_imports_get_what_stands_for_them(tmp_path):
    entry = write(
        tmp_path,
        late="export const x = 1;\n",
        entry='/** @typedef {import("./late.js").X} X */\n'
        'export const where = import.meta.url;\nexport const get = () => import("./late.js");\n',
    )
    (module,) = in_order([entry])
    assert module.later == (tmp_path / "late.js",)
    text = linked([module], HERE)
    assert 'where = "here:entry.js"' in text
    assert "() => Promise.resolve(in_late)" in text
    refusing = Surroundings(HERE.name, HERE.address, refuse_later)
    with pytest.raises(LinkError, match=r"late\.js is imported late"):
        linked([module], refusing)


@pytest.mark.parametrize(
    ("modules", "words"),
    [
        ({"entry": 'import { a } from "./none.js";\n'}, r"none\.js cannot be read"),
        ({"entry": 'import { a } from "lib";\n'}, r'entry\.js imports "lib"'),
        ({"entry": 'import { a-b } from "./a.js";\n', "a": ""}, r"no name to import .*: a-b"),
        ({"entry": 'import all from "./a.js";\n', "a": ""}, r"entry\.js: this form .*: import all"),
        ({"entry": 'export * from "./a.js";\n', "a": ""}, r"entry\.js: this form .*: export \*"),
        # A name whose value changes later would be given out with its first value.
        ({"entry": "export let a = 1;\n"}, r"entry\.js: this form .*: export let a"),
        ({"entry": "export const { a } = { a: 1 };\n"}, r"this form .*: export const \{ a"),
        (
            {
                "entry": 'import "./a.js";\n',
                "a": 'import "./b.js";\n',
                "b": 'export {\n} from "./a.js";\n',
            },
            r"in a circle: a\.js needs b\.js needs a\.js",
        ),
    ],
)
def test_what_cannot_be_linked_is_refused_by_name(tmp_path, modules, words):
    entry = write(tmp_path, **modules)
    with pytest.raises(LinkError, match=words):
        linked(in_order([entry]), HERE)


def test_every_module_of_the_site_can_be_linked():
    modules = in_order(sorted(ASSETS.rglob("*.js")))
    text = linked(modules, Surroundings(constant_name, HERE.address, lambda _: "null"))
    # Compiled, not run: the pages' own modules need a page.
    MiniRacer().eval(f'"use strict";\nasync () => {{\n{text}\n}};')
    names = [constant_name(module.path) for module in modules]
    assert len(set(names)) == len(names)


def test_values_cross_as_json_and_errors_as_their_message():
    modules = browser_modules("logs/csv-reader", "case/link-bytes")
    assert modules is browser_modules("logs/csv-reader", "case/link-bytes")
    table = modules.call("logs/csv-reader", "readTable", "t;v\n0;12,6\n")
    assert table["rows"] == [["0", "12,6"]]
    with pytest.raises(ModuleFailedError, match="Cannot read properties of null"):
        modules.call("logs/csv-reader", "readTable", None)
    # Half a character, an end of line only this language knows, and nothing at all.
    assert modules.evaluate(json.dumps("\ud83d\u2028\0")) == "\ud83d\u2028\0"
    assert modules.evaluate("undefined") is None
    with pytest.raises(LinkError, match=r"no-such\.js cannot be read"):
        BrowserModules(["no-such"])


def test_standard_functions_answer_as_the_language_of_this_test_does():
    modules = browser_modules("case/link-bytes")
    for text in ["", "a", "Größe €", "\U0001f600", "\ufeffx"]:
        raw = list(text.encode())
        assert modules.evaluate(f"Array.from(new TextEncoder().encode({json.dumps(text)}))") == raw
        strict = 'new TextDecoder("utf-8", { fatal: true, ignoreBOM: true })'
        assert modules.evaluate(f"{strict}.decode(Uint8Array.from({raw}))") == text
        assert modules.evaluate(f"atob(btoa({json.dumps(text.encode().decode('latin-1'))}))") == (
            text.encode().decode("latin-1")
        )
    for broken in ([0xC0, 0x80], [0xED, 0xA0, 0x80], [0xE2, 0x82], [0xFF]):
        with pytest.raises(UnicodeDecodeError):
            bytes(broken).decode()
        with pytest.raises(ModuleFailedError):
            modules.evaluate(f"{strict}.decode(Uint8Array.from({broken}))")
