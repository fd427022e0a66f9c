"""Rooms import only lower rooms, in both languages, and nothing grows past its size.

Python's imports are read with the standard library's ast, relative ones resolved; the browser's
from the text, comments left out. A folder that is not in the list fails, so a new room must be
thought about.
"""

import ast
import graphlib
import posixpath
import re
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[1]
TOOLS = PROJECT / "build_tools"
# Each room and what it may import; the top holds __main__.py and set-up.
ROOMS = {
    "browser": {"knowledge"},
    "knowledge": {"engine"},
    "engine": {"knowledge", "measure"},
    "measure": {"knowledge", "engine"},
    "obd": {"knowledge", "engine"},
    "lint": {"knowledge", "engine", "measure", "obd"},
    "reports": {"knowledge", "engine", "lint", "site"},
    "site": {"browser", "knowledge", "engine", "measure", "obd", "reports"},
    "cli": {"browser", "knowledge", "engine", "measure", "obd", "lint", "reports", "site"},
}
PURE = {"engine", "measure", "obd"}
# The parts of room knowledge that open files or know YAML; pure rooms may use the rest of it.
NOT_FOR_PURE = {"yaml_reader", "document_reader", "schema_check", "folders"}
IMPURE = {
    "yaml", "jsonschema", "mkdocs", "pathlib", "datetime", "random", "os", "io", "sys", "time",
    "subprocess", "urllib", "socket", "tempfile", "shutil", "logging",
}  # fmt: skip
# Hands the whole environment on to the site generator's process and reads nothing from it.
HANDS_ON_ENVIRONMENT = "site/build_site.py"
LONGEST_FUNCTION, LONGEST_MODULE, MOST_PARAMETERS = 45, 600, 5
MODULES = sorted(TOOLS.rglob("*.py"))


def imported(path):
    """Yield every module a file imports, relative imports resolved."""
    package = path.relative_to(PROJECT).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            stem = ".".join([*base, *([node.module] if node.module else [])])
            yield stem
            yield from (f"{stem}.{alias.name}" for alias in node.names)


def room_of(path):
    parts = path.relative_to(TOOLS).parts
    return parts[0] if len(parts) > 1 else "top"


def test_every_folder_is_a_known_room():
    folders = {
        path.name for path in TOOLS.iterdir() if path.is_dir() and path.name != "__pycache__"
    }
    assert folders == set(ROOMS)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(TOOLS)))
def test_imports_point_downwards(path):
    room = room_of(path)
    if room == "top":
        return
    for name in imported(path):
        parts = name.split(".")
        if parts[0] != "build_tools" or len(parts) == 1:
            continue
        assert parts[1] in ROOMS[room] | {room}, f"{room} imports {name}"


@pytest.mark.parametrize(
    "path", [p for p in MODULES if room_of(p) in PURE], ids=lambda path: path.name
)
def test_reasoning_is_pure(path):
    used = {name.split(".")[0] for name in imported(path)}
    assert not used & IMPURE
    data = {
        name.split(".")[2] for name in imported(path) if name.startswith("build_tools.knowledge.")
    }
    assert not data & NOT_FOR_PURE
    tree = ast.parse(path.read_text(encoding="utf-8"))
    called = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"open", "print", "input", "exit", "eval", "exec"}


def test_only_output_hook_knows_mkdocs():
    users = {
        str(p.relative_to(TOOLS))
        for p in MODULES
        if any(n.split(".")[0] == "mkdocs" for n in imported(p))
    }
    assert users <= {"site/mkdocs_hook.py", "site/build_site.py"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(TOOLS)))
def test_only_the_command_line_prints_or_exits(path):
    if room_of(path) in {"top", "cli"}:
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in {"print", "exit", "input"}, f"line {node.lineno}"
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            asked = f"{node.value.id}.{node.attr}"
            if asked == "os.environ" and path == TOOLS / HANDS_ON_ENVIRONMENT:
                continue
            assert asked not in {"sys.exit", "os.environ", "os.getenv"}, f"line {node.lineno}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(TOOLS)))
def test_sizes_are_kept(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST_MODULE
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        doc = ast.get_docstring(node, clean=False) or ""
        # A rule's explanation is its docstring; what counts is the code.
        length = node.end_lineno - node.lineno + 1 - (doc.count("\n") + 1 if doc else 0)
        assert length <= LONGEST_FUNCTION, f"{node.name} has {length} lines"
        given = [*node.args.posonlyargs, *node.args.args]
        names = [one.arg for one in given if one.arg not in {"self", "cls"}]
        assert len(names) <= MOST_PARAMETERS, f"{node.name} has {len(names)} parameters"
        assert ast.get_docstring(node) or node.name.startswith("_") or not _is_public(node, tree)
    assert ast.get_docstring(tree), "a module says which room it is"


def _is_public(node, tree):
    """Tell whether a function is a module's own, not one inside another function or class."""
    return node in tree.body


# The browser's modules ----------------------------------------------------------------------

ASSETS = PROJECT / "site_overrides" / "assets"
# Each room and what it may import. The parts of the kit that read and show measured values stand
# above the room that measures. Pages are rooms of their own and know nothing of each other.
UPPER_KIT = {
    "kit/fields.js", "kit/marks.js", "kit/numbers.js", "kit/scale.js", "kit/value-form.js",
}  # fmt: skip
LOW = {"vendor", "kit", "knowledge"}
JS_ROOMS = {
    "vendor": set(),
    "kit": set(),
    "knowledge": {"vendor", "kit"},
    "measure": LOW,
    "engine": LOW | {"measure"},
    "upper kit": LOW | {"measure"},
    "obd": LOW | {"engine", "upper kit"},
    "logs": LOW | {"measure"},
    "case": LOW | {"measure", "upper kit"},
    "answer": LOW | {"engine", "case", "obd"},
    "exercise": LOW | {"measure", "engine", "case"},
}
BELOW_PAGES = set(JS_ROOMS)
JS_ROOMS |= {
    "pages/every": LOW,
    "pages/checker": BELOW_PAGES,
    "pages/readings": BELOW_PAGES,
    "pages/readiness": BELOW_PAGES,
    "pages/logs": BELOW_PAGES,
    "pages/answer": BELOW_PAGES,
    "pages/exercise": BELOW_PAGES,
    "pages/cases": BELOW_PAGES,
}
# The worker stands at the root of the site, because its place decides what it may keep.
OUTSIDE = {"../sw.js"}
JS_MODULES = sorted(path.relative_to(ASSETS).as_posix() for path in ASSETS.rglob("*.js"))
OWN_MODULES = [name for name in JS_MODULES if not name.startswith("vendor/")]


def js_room(name):
    if name in UPPER_KIT:
        return "upper kit"
    parts = name.split("/")
    return "/".join(parts[:2]) if parts[0] == "pages" else parts[0]


def js_imported(name):
    """Return what a browser module imports, now or later, by its path below the assets."""
    text = (ASSETS / name).read_text(encoding="utf-8")
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    found = re.findall(r'(?:\bfrom|\bimport|\bimport\(|new URL\()\s*"(\.[^"]+\.js)"', text)
    return {posixpath.normpath(posixpath.join(posixpath.dirname(name), one)) for one in found}


def test_every_folder_of_the_browser_is_a_known_room():
    assert {js_room(name) for name in JS_MODULES} == set(JS_ROOMS)


@pytest.mark.parametrize("name", OWN_MODULES)
def test_imports_of_the_browser_point_downwards(name):
    room = js_room(name)
    for other in js_imported(name) - OUTSIDE:
        assert other in JS_MODULES
        assert js_room(other) in JS_ROOMS[room] | {room}, f"{room} imports {other}"


def test_no_module_of_the_browser_needs_itself():
    links = {name: js_imported(name) - OUTSIDE for name in OWN_MODULES}
    assert sum(map(len, links.values())) > len(links)
    graphlib.TopologicalSorter(links).prepare()


def test_what_a_module_of_the_browser_exports_is_asked_for_elsewhere():
    words = {
        path: set(re.findall(r"\w+", path.read_text("utf-8")))
        for path in [*map(ASSETS.joinpath, OWN_MODULES), *MODULES, *PROJECT.glob("tests/**/*.py")]
    }
    exported = [
        (path, found)
        for path in map(ASSETS.joinpath, OWN_MODULES)
        for found in re.findall(
            r"^export (?:async )?(?:function\*?|const|class) (\w+)",
            path.read_text("utf-8"),
            re.MULTILINE,
        )
    ]
    assert len(exported) > len(OWN_MODULES)
    idle = [
        f"{path.relative_to(ASSETS)}: {name}"
        for path, name in exported
        if not any(name in said for other, said in words.items() if other != path)
    ]
    assert idle == []


@pytest.mark.parametrize("name", OWN_MODULES)
def test_modules_of_the_browser_keep_their_size(name):
    assert len((ASSETS / name).read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE
