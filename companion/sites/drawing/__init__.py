"""The body map as SVG."""

from companion.sites.drawing.body_map import body_map

__all__ = ["body_map"]
