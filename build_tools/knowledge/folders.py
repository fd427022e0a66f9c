"""Room 1: know which folder holds which kind of entry.

The only place that knows paths. It lists files in a fixed order and reads no content.
"""

from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
SCHEMAS = PROJECT / "symptoms" / "_schema"
# Readings kept from one command to the next; ignored by git.
KEPT = PROJECT / ".cache" / "knowledge"
TEMPLATES = PROJECT / "symptoms" / "_template"
# The one sentence of a new entry that stands in no template: why a symptom names a new cause.
LED_WHY = "Say in one sentence how this cause does it."

FOLDER_OF_KIND = {
    "symptom": "entries",
    "cause": "causes",
    "check": "checks",
    "gauge": "gauges",
    "context": "context",
    "sum": "sums",
    "case": "cases",
    "source": "sources",
    "monitor": "monitors",
    "inspection": "inspections",
}
KINDS = tuple(FOLDER_OF_KIND)
VOCABULARY = "vocabulary"
SENTENCES = "sentences"
EXCEPTIONS = "lint_exceptions.yml"
REDIRECTS = "redirects.yml"


def knowledge_folder(root: Path) -> Path:
    """Return the folder of the knowledge: `root/symptoms`, or root if it has none.

    So a command may be given the project or the knowledge itself.
    """
    inner = root / "symptoms"
    return inner if inner.is_dir() else root


def shown_name(path: Path, knowledge: Path) -> str:
    """Write a path the way messages show it: from the knowledge folder's own name."""
    return f"{knowledge.resolve().name}/{path.relative_to(knowledge).as_posix()}"


def entry_path(knowledge: Path, kind: str, entry_id: str) -> Path:
    """Return where the entry of this kind and id lives, whether or not it exists."""
    return knowledge / FOLDER_OF_KIND[kind] / f"{entry_id}.yml"


def entry_files(knowledge: Path, kind: str) -> list[Path]:
    """List the YAML files of a kind by name; a missing folder holds none."""
    return _yaml_files(knowledge / FOLDER_OF_KIND[kind])


def vocabulary_files(knowledge: Path) -> list[Path]:
    """List the word lists by name; a missing folder holds none."""
    return _yaml_files(knowledge / VOCABULARY)


def sentence_files(knowledge: Path) -> list[Path]:
    """List the files of sentences by name; a missing folder holds none."""
    return _yaml_files(knowledge / SENTENCES)


def reader_pages(root: Path) -> tuple[tuple[str, str], ...]:
    """Return (name, text) of the hand-written pages that a reader of the site meets, by name.

    Not those for maintainers, nor the record of what changed and was decided.
    """
    content = root / "content"
    if not content.is_dir():
        return ()
    beside = {"maintain", "decisions", "changelog.md"}
    pages = [
        path
        for path in sorted(content.rglob("*.md"))
        if path.relative_to(content).parts[0] not in beside
    ]
    front = root / "README.md"
    return tuple(
        (path.relative_to(root).as_posix(), path.read_text(encoding="utf-8"))
        for path in (*pages, *([front] if front.is_file() else ()))
    )


def screen_files(root: Path) -> list[Path]:
    """List what says something on a screen beside pages: the browser's modules and drawings."""
    assets = root / "site_overrides" / "assets"
    found = [*assets.rglob("*.js"), *assets.rglob("*.svg")]
    return sorted(path for path in found if "vendor" not in path.relative_to(assets).parts)


def stray_files(knowledge: Path) -> list[Path]:
    """List files in the entry folders that no reader would ever open.

    A file saved as `.yaml` or in a folder of its own would vanish from the site without a word.
    """
    strays = []
    for folder in (*FOLDER_OF_KIND.values(), VOCABULARY, SENTENCES):
        taken = set(_yaml_files(knowledge / folder))
        for path in sorted((knowledge / folder).rglob("*")):
            hidden = path.name.startswith(".")
            if path.is_file() and path not in taken and not hidden:
                strays.append(path)
    return strays


def _yaml_files(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return sorted(path for path in folder.iterdir() if path.suffix == ".yml" and path.is_file())
