"""The rooms of the three packages, and which of them imports which: the drawing of DEVELOPERS.md.

    python tests/rooms.py

A room is a folder of a package, of its report or of its reading, or a module that stands beside such folders.
"""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Iterator
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
DEVELOPERS = PROJECT / "DEVELOPERS.md"
DRAWN = re.compile(r"(?<=```rooms\n).*?(?=\n```)", re.DOTALL)
PACKAGES = {"growcells": "functions", "growcells_addin": "addin", "growcells_workbooks": "workbooks"}
FRONT_DOORS = ("__init__", "__main__")
"""Modules of a package itself through which others come in: they stand above all its rooms."""

HOUSES = ("growcells_workbooks/report", "growcells_workbooks/reading")
"""Rooms whose own folders and modules are rooms too."""


@functools.cache
def modules() -> dict[str, Path]:
    """The file of each module of the three packages, by its dotted name; a package goes by its ``__init__``."""
    found = {}
    for package, folder in PACKAGES.items():
        root = PROJECT / folder
        for file in sorted((root / package).rglob("*.py")):
            found[".".join(file.relative_to(root).with_suffix("").parts)] = file
    return found


def room_of(module: str) -> str:
    """The room in which a module stands: ``growcells/cells``, ``growcells/version``."""
    parts = module.split(".")
    if parts[1:] in ([door] for door in FRONT_DOORS):
        return parts[0]
    room = "/".join(parts[:2])
    return "/".join(parts[:3]) if room in HOUSES and parts[2] not in FRONT_DOORS else room


def imported(module: str, file: Path, known: dict[str, Path]) -> Iterator[str]:
    """The modules of the three packages that a module imports, at its top or within a function."""
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            parts = module.split(".")[: -node.level] if node.level else []
            base = ".".join([*parts, *([node.module] if node.module else [])])
            names = [f"{base}.{alias.name}" for alias in node.names]
            names = [name if {name, f"{name}.__init__"} & known.keys() else base for name in names]
        else:
            continue
        for name in names:
            yield from (found for found in (name, f"{name}.__init__") if found in known)


@functools.cache
def imports() -> dict[str, set[str]]:
    """For each room the other rooms that its modules import."""
    known = modules()
    found: dict[str, set[str]] = {room_of(module): set() for module in known}
    for module, file in known.items():
        found[room_of(module)] |= {room_of(other) for other in imported(module, file, known)}
    return {room: others - {room} for room, others in found.items()}


def from_the_top(found: dict[str, set[str]]) -> list[str]:
    """The rooms in an order in which each imports only rooms after it.

    Raises ValueError with the rooms that import each other in a circle.
    """
    order: list[str] = []
    left = {room: set(others) for room, others in found.items()}
    while left:
        importers = {other for others in left.values() for other in others}
        free = left.keys() - importers
        if not free:
            raise ValueError(f"these rooms import each other in a circle: {', '.join(sorted(left))}")
        # One package after the other, as far as that can be.
        first = min(free, key=lambda room: (-list(PACKAGES).index(room.split("/")[0]), room))
        order.append(first)
        del left[first]
    return order


def drawing() -> list[str]:
    """A line for each room, below all that import it: its name, and the rooms that it imports."""
    found = imports()
    order = from_the_top(found)
    lines = []
    for room in order:
        package = room.split("/")[0]
        below = [other for other in order if other in found[room]]
        own = [other.removeprefix(f"{package}/") for other in below if other.startswith(f"{package}/")]
        others = sorted({other for other in below if not other.startswith(f"{package}/")})
        lines.append(f"{room} → {', '.join([*own, *others])}" if below else room)
    return lines


if __name__ == "__main__":
    DEVELOPERS.write_text(DRAWN.sub("\n".join(drawing()), DEVELOPERS.read_text("utf-8")), "utf-8")
