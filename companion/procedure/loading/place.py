"""Where in a file a fault lies: from a path of keys and indexes to a line and a name people know."""

from companion.procedure.loading.nodes import Keyed, Many, Node, Text

Path = tuple[str | int, ...]
_NOUNS = {
    "steps": "step",
    "branches": "branch",
    "settings": "setting",
    "sources": "source",
    "people": "person",
    "always": "rule",
}


def follow(root: Node, path: Path) -> tuple[Node, Path]:
    """The deepest node of `path`, and the path really walked.

    Parts that are no key (the name of a kind, which the model puts in its paths) are passed over.
    """
    node, walked = root, []
    for part in path:
        if isinstance(node, Keyed) and part in node.entries:
            node = node.entries[str(part)]
        elif isinstance(node, Many) and isinstance(part, int) and part < len(node.items):
            node = node.items[part]
        else:
            continue
        walked.append(part)
    return node, tuple(walked)


def line_of(root: Node, path: Path) -> int:
    """The line of the key that holds the value, or of the list item; the nearest known one for what is missing."""
    node, walked = follow(root, path)
    if walked and isinstance(walked[-1], str):
        parent, _ = follow(root, walked[:-1])
        if isinstance(parent, Keyed):
            key_line = parent.key_lines[walked[-1]]
            return key_line if not isinstance(node, Text) else max(key_line, node.line)
    return node.line


def name_of(root: Node, path: Path) -> str:
    """`step `draw-up`` for a path inside that step; empty at the top of the file."""
    for cut in range(len(path), 0, -1):
        if not isinstance(path[cut - 1], int):
            continue
        node, walked = follow(root, path[:cut])
        noun = _NOUNS.get(str(walked[-2])) if len(walked) >= 2 else None
        # A step cites `sources` too; there they are plain ids.
        if noun is None or (noun == "source" and len(walked) > 2):
            continue
        named = node.entries.get("id") if isinstance(node, Keyed) else None
        if isinstance(named, Text) and named.text:
            return f"{noun} `{named.text}`"
        return f"{noun} {int(walked[-1]) + 1} of `{walked[-2]}`"
    return ""
