"""Procedure files: found, read, and turned into the model or into every fault they have."""

from companion.procedure.loading.finding import find, names
from companion.procedure.loading.loader import Loaded, load, load_rehearsed, load_text, located

__all__ = ["Loaded", "find", "load", "load_rehearsed", "load_text", "located", "names"]
