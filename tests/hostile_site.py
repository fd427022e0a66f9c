"""A copy of the project in which every text of every entry tries to run something.

Which values are texts is found from the files themselves: a place that holds, in any entry of
its kind, something other than an id, a word of a list, a date or a currency is a text.
"""

import itertools
import re

import yaml

from build_tools.site.build_site import build
from tests.shared_folder import ROOT, digest_of, made_once, project_copy
from tests.sweeps import drawn

ID_LIKE = re.compile(r"[a-z0-9][a-z0-9-]*|20\d\d-\d\d-\d\d|[A-Z]{3}|[A-Za-z%°/]{1,4}")
# Places whose form the schema holds to ids, codes or plain words: a poisoned one is refused.
HELD_TO_IDS = {"id", "unit", "accepts", "first", "last", "first_code", "last_code", "codes"}
HELD_TO_LENGTH = {"short": 90}
HELD_TO_WORDS = {"synonyms.yml", "answer_phrases.yml"}
# Ways in that browsers and renderers of Markdown have had, collected in the cheat sheet on
# cross-site scripting filter evasion of the Open Worldwide Application Security Project.
PAYLOADS = (
    "<script>globalThis.hit=1</script>",
    '<img src=x onerror="globalThis.hit=2">',
    "[a link](javascript:globalThis.hit=3) [b](JaVaScRiPt:globalThis.hit=3)",
    '"><svg onload=globalThis.hit=4>',
    "</title></textarea></style><script>globalThis.hit=5</script>",
    "&lt;script&gt;globalThis.hit=6&lt;/script&gt;",
    "&lt;/title&gt;&lt;script src=x.js&gt;&lt;/script&gt;",
    '<a href="data:text/html,<script>hit=7</script>" onclick="hit=7">c</a>',
    "<iframe srcdoc='<script>parent.hit=8</script>'></iframe>",
    "![d](x 'y\" onerror=hit=9') <javascript:hit=9>",
    "' onmouseover='globalThis.hit=10",
    "<style>*{background:url(https://outside.example/)}</style>",
    '<meta http-equiv="refresh" content="0;url=https://outside.example/">',
    "{{ config }}{% raw %}{# #}",
    "<form action=https://outside.example><button formaction=javascript:hit=11>e</button></form>",
    "<div markdown=1><b style='x:y'>f</b></div> <base href=https://outside.example/>",
)


def _leaves(value, path=()):
    """Yield (generic path, value) of every text below; positions in lists are left out."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*path, key))
    elif isinstance(value, list):
        for inner in value:
            yield from _leaves(inner, path)
    elif isinstance(value, str):
        yield path, value


def _poisoned(value, texts, payloads, path=()):
    if isinstance(value, dict):
        return {k: _poisoned(inner, texts, payloads, (*path, k)) for k, inner in value.items()}
    if isinstance(value, list):
        return [_poisoned(inner, texts, payloads, path) for inner in value]
    if isinstance(value, str) and path in texts:
        return f"{next(payloads)} {value}"[: HELD_TO_LENGTH.get(path[-1])]
    return value


def _kinds(symptoms):
    """Yield the files of each kind; every word list is a kind of its own."""
    for folder in sorted(path for path in symptoms.iterdir() if path.is_dir()):
        if folder.name == "vocabulary":
            lists = sorted(folder.glob("*.yml"))
            yield from ([path] for path in lists if path.name not in HELD_TO_WORDS)
        elif not folder.name.startswith("_"):
            yield sorted(folder.glob("*.yml"))


def poison(symptoms):
    """Rewrite every file below a folder of entries; return how many texts were poisoned."""
    payloads = itertools.cycle(PAYLOADS)
    poisoned = 0
    for paths in _kinds(symptoms):
        files = {path: yaml.safe_load(path.read_text("utf-8")) for path in paths}
        leaves = [leaf for one in files.values() for leaf in _leaves(one)]
        texts = {
            path
            for path, text in leaves
            if not ID_LIKE.fullmatch(text) and path[-1] not in HELD_TO_IDS
        }
        poisoned += sum(path in texts for path, _ in leaves)
        for path, one in sorted(files.items()):
            made = yaml.safe_dump(
                _poisoned(one, texts, payloads), allow_unicode=True, sort_keys=False, width=10_000
            )
            path.write_text(made, "utf-8")
    return poisoned


def hostile_project(place):
    """Copy the project and poison the copy; return its folder and the number of texts.

    Worked cases are all of one form, and to advise on hundreds in new words takes as long as
    everything else of the build: a tenth of them stays.
    """
    project_copy(place)
    cases = {path.stem: path for path in (place / "symptoms" / "cases").glob("*.yml")}
    for name in cases.keys() - set(drawn(cases, 10)):
        cases[name].unlink()
    return place, poison(place / "symptoms")


def hostile_site(tmp_path_factory):
    """Build the poisoned site, once a run; return its folder and the number of texts."""

    def make(place):
        project, number = hostile_project(place / "project")
        assert build(project, place / "site") == []
        return number

    place, number = made_once(tmp_path_factory, f"hostile-{digest_of(ROOT)}", make)
    return place / "site", number
