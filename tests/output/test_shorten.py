"""Shortened scripts do what the written ones do; judged by running both in a JavaScript engine."""

import re
from pathlib import Path

import pytest
from py_mini_racer import MiniRacer

from build_tools.site.bundles import ShortenError, shorten_script, shorten_style

ASSETS = Path(__file__).resolve().parents[2] / "site_overrides" / "assets"
# Each is a script whose last value tells whether texts, templates and patterns came through.
TRICKY = [
    "const a = `x ${ `y ${ 1 } // z` } /* w */ ${ {b: '}'}.b }`; a",
    "const r = /[/\"'`]\\/\\/(?:a|b)/g; ['\"//a', \"'/\"].map((s) => s.replace(r, '-')).join()",
    "let a = 8, g = 2; a /g/ 1 + a / 2 // half\n",
    "'// no comment' + \"/* nor this */\" + `// nor ${'`'} this`",
    "const f = () => { return /=+/.test('a==b') } // pattern after a word\nf()",
    "let i = 1; const s = i + +i - -i; i++ + ++i; `${s}|${i}`",
    "[1, 2].map((x) => x / 2 / 1).join() /* a\n b */ + 'end'",
    "let n = 1\n/* between */\nn += 1\nn",
    "`\\`${'a'}\\${b}` + `$` + `$${1}{`",
    "(4) / 2 + [6][0] / 3",
    "typeof /x/ + ' ' + 'in  side'",
]


@pytest.mark.parametrize("script", TRICKY)
def test_shortened_script_gives_the_same_value(script):
    assert MiniRacer().eval(shorten_script(script)) == MiniRacer().eval(script)


def test_own_modules_lose_their_comments_and_keep_their_licences():
    for path in sorted(ASSETS.rglob("*.js")):
        text = path.read_text("utf-8")
        short = shorten_script(text)
        assert shorten_script(short) == short, path
        assert "/**\n * @" not in short, path
        assert short.count("@license") == text.count("@license"), path


@pytest.mark.parametrize("script", ["`a", "f({", "}", "`${"])
def test_script_that_ends_too_early_is_refused(script):
    with pytest.raises(ShortenError):
        shorten_script(script)


def test_style_keeps_what_it_says():
    style = '/* a */ a::before { content: "/* b */  c"; } /* d */\n\n  b { color: red; }'
    assert shorten_style(style) == 'a::before { content: "/* b */  c"; }  b { color: red; }'
    for path in sorted(ASSETS.rglob("*.css")):
        words = re.sub(r"/\*.*?\*/|\s", "", path.read_text("utf-8"), flags=re.DOTALL)
        assert re.sub(r"\s", "", shorten_style(path.read_text("utf-8"))) == words
