"""Room browser: join our ES modules into one text, each a function scope of its own.

The modules are ours and kept in one form by a formatter, so their imports and exports are
whole statements at the start of a line and can be read without a parser. What is not in that
form is refused by name and line; nothing is guessed. Every module becomes

    const logs_voltlog = (() => { ...; return { voltLog }; })();

after those it needs, so that cycles are refused, and only names that never change are given
out: functions, classes and constants. A module that gives nothing out starts something; it
becomes a block, where it may await.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from build_tools.knowledge.sentences import filled

ASSETS = Path(__file__).resolve().parents[2] / "site_overrides" / "assets"
_SENTENCES = ASSETS / "kit" / "sentences.js"

_NAME = r"[A-Za-z_$][\w$]*"
_IMPORT = re.compile(
    rf"^import (?:\{{(?P<names>[^}}]*)\}} from |\* as (?P<whole>{_NAME}) from )?"
    r'"(?P<source>[^"]+)";$',
    re.MULTILINE,
)
_LIST = re.compile(r'^export \{(?P<names>[^}]*)\}(?: from "(?P<source>[^"]+)")?;$', re.MULTILINE)
_DECLARED = re.compile(
    rf"^export (?=(?:async function|function|class|const)\*? (?P<name>{_NAME})\b)", re.MULTILINE
)
_DEFAULT = re.compile(r"^export default (?=[^\n]*;$)", re.MULTILINE)
_LEFT = re.compile(r"^(?:import\b(?!\()|export\b)", re.MULTILINE)
_COMMENT = re.compile(r"/\*.*?\*/|^[ \t]*//[^\n]*", re.MULTILINE | re.DOTALL)
_LAZY = re.compile(r'\bimport\("([^"]+)"\)')
_ADDRESS = "import.meta.url"


class LinkError(Exception):
    """Say which module cannot be linked, and where; the text is shown as it stands."""


@dataclass(frozen=True)
class Module:
    """One module as read: its text, and the files it needs at once and those it asks for later."""

    path: Path
    text: str
    needs: tuple[Path, ...]
    later: tuple[Path, ...]


@dataclass(frozen=True)
class Surroundings:
    """What stands for a module's address and for its late imports; each gives an expression.

    `name` gives the constant that holds a module's exports, `address` its `import.meta.url`,
    `later` a promise of the exports of a module that is imported when it is first needed.
    """

    name: Callable[[Path], str]
    address: Callable[[Path], str]
    later: Callable[[Path], str]


def read_module(path: Path) -> Module:
    """Read one module, the sentences filled in, and find what it imports.

    Raises:
        LinkError: if it cannot be read.
    """
    path = path.resolve()
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise LinkError(f"{_shown(path)} cannot be read: {error}") from error
    return _module(path, filled(text) if path == _SENTENCES else text)


# Every page's script asks for the same modules; an edited one is another text.
@lru_cache(maxsize=512)
def _module(path: Path, text: str) -> Module:
    statements = [*_IMPORT.finditer(text), *_LIST.finditer(text)]
    statements.sort(key=lambda found: found.start())
    sources = [found["source"] for found in statements if found["source"]]
    later = _LAZY.findall(_COMMENT.sub("", text))
    return Module(path, text, _files(path, sources), _files(path, later))


def in_order(entries: Iterable[Path]) -> list[Module]:
    """Return every module the entries need, each once and after those it needs itself.

    Late imports are not followed.

    Raises:
        LinkError: if a file is missing or modules need each other in a circle.
    """
    done: dict[Path, Module] = {}
    under_way: list[Path] = []

    def visit(path: Path) -> None:
        if path in done:
            return
        if path in under_way:
            circle = [*under_way[under_way.index(path) :], path]
            raise LinkError(f"modules in a circle: {' needs '.join(map(_shown, circle))}")
        under_way.append(path)
        module = read_module(path)
        for needed in module.needs:
            visit(needed)
        under_way.pop()
        done[path] = module

    for entry in entries:
        visit(entry.resolve())
    return list(done.values())


def linked(modules: Iterable[Module], surroundings: Surroundings) -> str:
    """Return one text that defines a constant for each module, in the order given.

    A module that is needed and not among them must be there under its name already.

    Raises:
        LinkError: if a module is written in a form that is not read here.
    """
    return "\n".join(_scope(module, surroundings) for module in modules) + "\n"


def constant_name(path: Path) -> str:
    """Return the constant that holds a module's exports, from its path below the assets."""
    return re.sub(r"\W", "_", str(path.relative_to(ASSETS).with_suffix("")))


def refuse_later(path: Path) -> str:
    """Refuse a late import, where there is nothing to import from."""
    raise LinkError(f"{_shown(path)} is imported late, which is not possible here")


def _scope(module: Module, surroundings: Surroundings) -> str:
    """Return the definition of the constant that holds the module's exports."""
    given: dict[str, str] = {}  # public name to the expression behind it

    def exports_of(source: str) -> str:
        return surroundings.name(_file(module.path, source))

    def take(found: re.Match[str]) -> str:
        if found["whole"]:
            return f"const {found['whole']} = {exports_of(found['source'])};"
        if found["names"] is None:
            return ""
        names = ", ".join(": ".join(pair) for pair in _pairs(found["names"]))
        return f"const {{ {names} }} = {exports_of(found['source'])};"

    def give(found: re.Match[str]) -> str:
        before = f"{exports_of(found['source'])}." if found["source"] else ""
        given.update({public: f"{before}{own}" for own, public in _pairs(found["names"])})
        return ""

    def declare(found: re.Match[str]) -> str:
        given[found["name"]] = found["name"]
        return ""

    def give_default(_: re.Match[str]) -> str:
        given["default"] = "default_"
        return "const default_ = "

    text = _LIST.sub(give, _IMPORT.sub(take, module.text))
    text = _DEFAULT.sub(give_default, _DECLARED.sub(declare, text))
    left = _LEFT.search(text)
    if left:
        words = text[left.start() :].split("\n", 1)[0]
        raise LinkError(f"{_shown(module.path)}: this form of import or export: {words}")
    text = _with_surroundings(module, text, surroundings)
    if not given:
        return f"{{\n{text}\n}}"
    returned = ", ".join(f"{public}: {own}" for public, own in given.items())
    name = surroundings.name(module.path)
    return f"const {name} = (() => {{\n{text}\nreturn {{ {returned} }};\n}})();"


def _with_surroundings(module: Module, text: str, surroundings: Surroundings) -> str:
    """Put expressions in the place of the module's address and its late imports."""

    def later(found: re.Match[str]) -> str:
        # In comments the same words name a type; replacing some of those does no harm.
        needed = _file(module.path, found[1])
        return surroundings.later(needed) if needed in module.later else found[0]

    if _ADDRESS in text:
        text = text.replace(_ADDRESS, surroundings.address(module.path))
    return _LAZY.sub(later, text) if module.later else text


def _pairs(names: str) -> list[tuple[str, str]]:
    """Split `a, b as c` into pairs of a name and what it becomes.

    Raises:
        LinkError: for a name that is none.
    """
    found = []
    for one in filter(None, (part.strip() for part in names.split(","))):
        words = re.fullmatch(rf"({_NAME})(?: as ({_NAME}))?", one)
        if words is None:
            raise LinkError(f"this is no name to import or export: {one}")
        found.append((words[1], words[2] or words[1]))
    return found


def _files(path: Path, sources: list[str]) -> tuple[Path, ...]:
    return tuple(dict.fromkeys(_file(path, source) for source in sources))


def _file(path: Path, source: str) -> Path:
    """Return the file an import names.

    Raises:
        LinkError: if it is not named by a relative path.
    """
    if not source.startswith(("./", "../")):
        raise LinkError(f'{_shown(path)} imports "{source}", which is no relative path')
    return (path.parent / source).resolve()


def _shown(path: Path) -> str:
    return str(path.relative_to(ASSETS)) if path.is_relative_to(ASSETS) else path.name
