"""The shapes of beds: what a log calls each, and the cell function that gives its volume."""

from __future__ import annotations

BOX = "box"
"""The shape of a bed where a log names none."""
SHAPES = {
    BOX: ("GROW_VOLUME_BOX", ("length", "width", "depth")),
    "round": ("GROW_VOLUME_ROUND", ("length", "depth")),
    "oval": ("GROW_VOLUME_OVAL", ("length", "width", "depth")),
}
"""The function of each shape, and the sizes that it takes in turn."""
