"""`$name` in a file: a whole scalar that stands for a setting's value."""

import re
from collections.abc import Mapping

from companion.procedure.loading.nodes import At, Keyed, Many, Node, Text
from companion.procedure.loading.place import Path, name_of

_REFERENCE = re.compile(r"\$(\S*)")
Data = str | list["Data"] | dict[str, "Data"]


def declared(root: Keyed, overrides: Mapping[str, str]) -> dict[str, str]:
    """Setting id -> value as text, local policy first. What is malformed is left to the model to refuse."""
    found: dict[str, str] = {}
    settings = root.entries.get("settings")
    for entry in settings.items if isinstance(settings, Many) else []:
        if isinstance(entry, Keyed):
            name, value = entry.entries.get("id"), entry.entries.get("value")
            if isinstance(name, Text) and isinstance(value, Text):
                found[name.text] = overrides.get(name.text, value.text)
    return found


def unknown_overrides(root: Keyed, overrides: Mapping[str, str], known: Mapping[str, str]) -> list[At]:
    """A fault for each override that names no setting of this procedure."""
    line = root.key_lines.get("settings", root.line)
    accepted = ", ".join(known) or "none, this procedure has no settings"
    return [
        At(line, f"local policy sets `{name}`, which is no setting here; accepted: {accepted}")
        for name in overrides
        if name not in known
    ]


class Filler:
    """Turns nodes into plain data with settings filled in. `bad` holds the paths whose setting is unknown."""

    def __init__(self, root: Keyed, overrides: Mapping[str, str]) -> None:
        self._root = root
        self._overrides = overrides
        self._values = declared(root, overrides)
        self.faults: list[At] = unknown_overrides(root, overrides, self._values)
        self.bad: set[Path] = set()

    def data(self) -> dict[str, Data]:
        """The whole file; `settings` itself takes the overrides and holds no references."""
        filled: dict[str, Data] = {}
        for key, node in self._root.entries.items():
            if key == "settings":
                filled[key] = self._settings(node)
            else:
                filled[key] = self._fill(node, (key,))
        return filled

    def _settings(self, node: Node) -> Data:
        data = plain(node)
        for entry in data if isinstance(data, list) else []:
            if isinstance(entry, dict) and isinstance(entry.get("value"), str):
                entry["value"] = self._values.get(str(entry.get("id")), entry["value"])
        return data

    def _fill(self, node: Node, path: Path) -> Data:
        if isinstance(node, Many):
            return [self._fill(item, (*path, index)) for index, item in enumerate(node.items)]
        if isinstance(node, Keyed):
            return {key: self._fill(value, (*path, key)) for key, value in node.entries.items()}
        reference = _REFERENCE.fullmatch(node.text)
        if reference is None:
            return node.text
        if reference[1] in self._values:
            return self._values[reference[1]]
        where = name_of(self._root, path)
        accepted = ", ".join(f"${name}" for name in self._values) or "none, this procedure has no settings"
        message = f"`{node.text}` names no setting; accepted: {accepted}"
        self.faults.append(At(node.line, f"{where}: {message}" if where else message))
        self.bad.add(path)
        return node.text


def plain(node: Node) -> Data:
    """A node as text, lists and dicts."""
    if isinstance(node, Many):
        return [plain(item) for item in node.items]
    if isinstance(node, Keyed):
        return {key: plain(value) for key, value in node.entries.items()}
    return node.text
