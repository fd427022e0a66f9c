"""A small tree over the standard library's HTML parser, so tests need no parser of ours."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser

VOID = {"meta", "link", "input", "br", "hr", "img", "rect", "path", "line"}


@dataclass(eq=False)
class Node:
    tag: str
    attrs: dict
    parent: Node | None = None
    children: list = field(default_factory=list)

    def walk(self):
        for child in self.children:
            if isinstance(child, Node):
                yield child
                yield from child.walk()

    def find(self, tag=None, *, cls=None, **attrs):
        return [
            node
            for node in self.walk()
            if (tag is None or node.tag == tag)
            and (cls is None or cls in node.classes)
            and all(node.attrs.get(key) == value for key, value in attrs.items())
        ]

    @property
    def classes(self):
        return (self.attrs.get("class") or "").split()

    @property
    def text(self):
        parts = (c if isinstance(c, str) else c.text for c in self.children)
        return " ".join(" ".join(parts).split())

    def ancestors(self):
        node = self.parent
        while node is not None:
            yield node
            node = node.parent


class _Builder(HTMLParser):
    def __init__(self):
        super().__init__()
        self.root = self.here = Node("#root", {})

    def handle_starttag(self, tag, attrs):
        node = Node(tag, dict(attrs), self.here)
        self.here.children.append(node)
        if tag not in VOID:
            self.here = node

    def handle_startendtag(self, tag, attrs):
        self.here.children.append(Node(tag, dict(attrs), self.here))

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        assert tag == self.here.tag, f"</{tag}> closes <{self.here.tag}>"
        self.here = self.here.parent

    def handle_data(self, data):
        self.here.children.append(data)


@cache
def parse(path):
    """Parse a page; a tag closed in the wrong order fails."""
    builder = _Builder()
    builder.feed(path.read_text("utf-8"))
    builder.close()
    assert builder.here is builder.root, f"{path}: <{builder.here.tag}> is never closed"
    return builder.root
