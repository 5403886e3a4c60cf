"""YAML text -> a tree of nodes that know their line. Every scalar stays the text that was written."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

MOST_DEPTH = 12
MOST_NODES = 50_000
_UNSPEAKABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
# libyaml is some ten times faster; both give the same events, and a wheel without it still works.
_PARSER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Text:
    """A scalar as written. `line` counts from 1."""

    line: int
    text: str


@dataclass(frozen=True)
class Many:
    """A list."""

    line: int
    items: "list[Node]" = field(default_factory=list)


@dataclass(frozen=True)
class Keyed:
    """A mapping; each key with the line it stands on."""

    line: int
    entries: "dict[str, Node]" = field(default_factory=dict)
    key_lines: dict[str, int] = field(default_factory=dict)


Node = Text | Many | Keyed


@dataclass(frozen=True)
class At:
    """A fault and its line."""

    line: int
    message: str


class Unreadable(Exception):
    """Nothing can be made of the text; carries the faults."""

    def __init__(self, faults: list[At]) -> None:
        self.faults = faults
        super().__init__("; ".join(fault.message for fault in faults))


def compose(text: str) -> tuple[Node, list[At]]:
    """The root node and the faults met on the way. Raises Unreadable when there is no tree to speak of.

    Aliases are never followed, so nothing can grow; depth and number of nodes are bounded while reading.
    """
    if found := _UNSPEAKABLE.search(text):
        line = text.count("\n", 0, found.start()) + 1
        code = f"U+{ord(found[0]):04X}"
        raise Unreadable([At(line, f"the character {code} cannot stand in a text file; accepted: printable UTF-8")])
    builder = _Builder()
    try:
        for event in _events(text):
            builder.take(event)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 1
        raise Unreadable([*builder.faults, At(line, _yaml_trouble(error))]) from None
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        raise Unreadable([*builder.faults, At(1, f"this is not YAML: {_one_line(str(error))}")]) from None
    if builder.root is None:
        raise Unreadable(
            [*builder.faults, At(1, "the file is empty; accepted: a procedure, beginning with `format: 1`")]
        )
    return builder.root, builder.faults


def _events(text: str) -> Iterator[yaml.Event]:
    yield from yaml.parse(text, Loader=_PARSER)


def _one_line(text: str) -> str:
    return " ".join(text.split())[:200]


def _short(tag: str) -> str:
    return tag.replace("tag:yaml.org,2002:", "!!")


def _yaml_trouble(error: yaml.MarkedYAMLError) -> str:
    problem = _one_line(error.problem or error.context or "it cannot be read")
    hint = "indent with spaces, `key: value`, `- ` before each item, and quotes round text that holds `: ` or ` #`"
    return f"this is not YAML: {problem}; accepted: {hint}"


class _Builder:
    """Builds the tree from events without recursion, so that depth costs nothing but a refusal."""

    def __init__(self) -> None:
        self.root: Node | None = None
        self.faults: list[At] = []
        self._open: list[Many | Keyed] = []
        self._keys: list[Text | None] = []
        self._nodes = 0
        self._documents = 0

    def take(self, event: yaml.Event) -> None:
        """One parser event."""
        line = event.start_mark.line + 1 if event.start_mark else 1
        if isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                raise Unreadable(
                    [*self.faults, At(line, "a second document begins here; accepted: one procedure a file")]
                )
        elif isinstance(event, yaml.AliasEvent):
            self.faults.append(At(line, f"the alias `*{event.anchor}` is not accepted; write the text out"))
            self._add(Text(line, ""))
        elif isinstance(event, yaml.ScalarEvent):
            self._refuse_marks(event, line)
            if found := _UNSPEAKABLE.search(event.value):
                self.faults.append(At(line, f"the character U+{ord(found[0]):04X} is not accepted in a text"))
            self._add(Text(line, _UNSPEAKABLE.sub(" ", event.value)))
        elif isinstance(event, yaml.CollectionStartEvent):
            self._refuse_marks(event, line)
            if len(self._open) >= MOST_DEPTH:
                raise Unreadable(
                    [*self.faults, At(line, f"nested more than {MOST_DEPTH} deep; accepted: at most {MOST_DEPTH}")]
                )
            node: Many | Keyed = Keyed(line) if isinstance(event, yaml.MappingStartEvent) else Many(line)
            self._add(node)
            self._open.append(node)
            self._keys.append(None)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._open.pop()
            self._keys.pop()

    def _refuse_marks(self, event: yaml.NodeEvent, line: int) -> None:
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.faults.append(At(line, f"the tag `{_short(tag)}` is not accepted; leave tags out"))
        if event.anchor is not None:
            self.faults.append(
                At(line, f"the anchor `&{event.anchor}` is not accepted; write the text out where needed")
            )

    def _add(self, node: Node) -> None:
        self._nodes += 1
        if self._nodes > MOST_NODES:
            raise Unreadable([*self.faults, At(node.line, f"more than {MOST_NODES:,} entries in one file")])
        if not self._open:
            self.root = node
            return
        parent = self._open[-1]
        if isinstance(parent, Many):
            parent.items.append(node)
            return
        key = self._keys[-1]
        if key is None:
            if not isinstance(node, Text):
                self.faults.append(At(node.line, "a list or a mapping stands as a key; accepted: a plain word"))
                node = Text(node.line, "")
            self._keys[-1] = node
            return
        self._keys[-1] = None
        if key.text in parent.entries:
            first = parent.key_lines[key.text]
            self.faults.append(At(key.line, f"the key `{key.text}` appears twice, first on line {first}; keep one"))
            return
        parent.entries[key.text] = node
        parent.key_lines[key.text] = key.line
