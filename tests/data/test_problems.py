"""Problems are sorted, counted and rendered; JSON is read back by the standard library."""

import json

from build_tools.knowledge.nearest import did_you_mean, nearest
from build_tools.knowledge.problems import (
    Problem,
    Severity,
    Span,
    count_words,
    render_annotations,
    render_json,
    render_text,
    sort_problems,
)


def problem(file="b.yml", line=2, column=3, severity=Severity.ERROR, what='cause "x" is odd'):
    span = Span(file, line, column)
    return Problem(span, severity, "REF201", "dangling-reference", what, "why it is", "mend it")


def test_problems_are_sorted_by_place_and_repeats_dropped():
    rows = [problem(line=10), problem(line=2), problem("a.yml"), problem(line=2)]
    assert [(p.span.file, p.span.line) for p in sort_problems(rows)] == [
        ("a.yml", 2), ("b.yml", 2), ("b.yml", 10),
    ]  # fmt: skip


def test_text_has_the_agreed_form():
    assert render_text([problem()]) == (
        "b.yml:2:3: error REF201 dangling-reference\n"
        '  cause "x" is odd\n'
        "  why:  why it is\n"
        "  mend: mend it\n"
        "  more: python -m build_tools explain REF201\n"
    )


def test_json_reads_back():
    row = json.loads(render_json([problem()]))[0]
    assert row["file"] == "b.yml"
    assert (row["line"], row["column"], row["severity"]) == (2, 3, "error")
    assert json.loads(render_json([])) == []


def test_annotation_escapes_what_would_end_it():
    text = render_annotations([problem(file="a,b:c.yml", what="100%\nsure")])
    assert text.startswith("::error file=a%2Cb%3Ac.yml,line=2,col=3,title=REF201 ")
    assert "100%25%0Asure" in text
    assert text.count("\n") == 1


def test_count_is_in_words():
    rows = [problem(), problem(line=3), problem(severity=Severity.NOTE)]
    assert count_words(rows) == "2 errors, 1 note"
    assert count_words([]) == "no problems"


def test_nearest_suggests_at_most_three_and_only_known_words():
    known = ["loose-earth-strap", "loose-clamp", "battery-worn-out", "battery-run-down"]
    assert nearest("loose-earthstrap", known)[0] == "loose-earth-strap"
    assert did_you_mean("loose-earthstrap", known).startswith('did you mean "loose-earth-strap"')
    assert did_you_mean("zzz", known).startswith("choose from ")
    assert (
        did_you_mean("zzz", [f"word-{n}" for n in range(20)], where="see the list")
        == "see the list"
    )
