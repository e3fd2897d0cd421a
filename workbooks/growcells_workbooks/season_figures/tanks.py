"""How much water a bed holds, full and now, and its floor."""

from __future__ import annotations

import contextlib
import datetime
from dataclasses import dataclass

from growcells import functions
from growcells.cells.errors import GrowError

from ..reading import Bed, GrowLog, Reading
from ..reading.frames.fixed_units import Fixed
from ..shapes import BOX, SHAPES
from .not_known import NotKnown

SQUARE_CENTIMETRES_IN_SQUARE_METRE = 10_000.0


def full_volume(log: GrowLog, bed: Bed) -> float:
    """The volume [L] of a full bed: as the log says, else as its sizes give. Raises NotKnown."""
    fixed = Fixed(log)
    if bed.volume is not None:
        return fixed.known("beds.volume", bed.volume)
    if "volume" in bed.failed:
        raise NotKnown(f"the volume of {bed.name} could not be read")
    return shape_volume(log, bed, None)


def shape_volume(log: GrowLog, bed: Bed, depth: float | None) -> float:
    """The volume [L] that the sizes of a bed give, for a depth [cm] other than the full one. Raises NotKnown."""
    if bed.shape.casefold() and bed.shape.casefold() not in SHAPES:
        raise NotKnown(f'the shape of {bed.name} is "{bed.shape}", which is not one of {", ".join(SHAPES)}')
    function, names = SHAPES[bed.shape.casefold() or BOX]
    fixed = Fixed(log)
    sizes = {name: fixed(f"beds.{name}", getattr(bed, name)) for name in names}
    if depth is not None:
        sizes["depth"] = depth
    lacking = [name for name, size in sizes.items() if size is None]
    if lacking:
        raise NotKnown(f"the log gives {bed.name} no volume and no {' and no '.join(lacking)}")
    try:
        volume = functions()[function](*(f"{size!r} cm" for size in sizes.values()), None, "L")
    except GrowError as problem:
        raise NotKnown(f"the volume of {bed.name}: {problem}") from None
    assert isinstance(volume, float)
    return volume


def floor_area(log: GrowLog, bed: Bed) -> float | None:
    """The surface [m²] of a bed by its sizes, None where the log does not give them: all shapes have upright sides."""
    depth = Fixed(log)("beds.depth", bed.depth) or 1.0
    try:
        litres = shape_volume(log, bed, depth)
    except NotKnown:
        return None
    return litres * 1000 / depth / SQUARE_CENTIMETRES_IN_SQUARE_METRE


@dataclass(frozen=True)
class Level:
    """The water in a bed by the depth that was last read: the reading, and the volume [L]."""

    reading: Reading
    volume: float


def level_now(log: GrowLog, bed: Bed, course: list[Reading], full: float) -> Level:
    """The water by the last depth in a course of readings; the bed holds no more than full. Raises NotKnown."""
    latest = next((reading for reading in reversed(course) if reading.depth is not None), None)
    if latest is None or latest.depth is None:
        raise NotKnown(f"the log has no depth of {bed.name}")
    fixed = Fixed(log)
    depth, whole = fixed.known("readings.depth", latest.depth), fixed("beds.depth", bed.depth)
    if not whole:
        raise NotKnown(f"the log does not say how deep {bed.name} is when full")
    share = min(depth / whole, 1.0)
    with contextlib.suppress(NotKnown):  # where sizes lack, its sides are taken as straight
        share = min(shape_volume(log, bed, depth) / shape_volume(log, bed, None), 1.0) if depth else 0.0
    return Level(latest, full * share)


def day_of(reading: Reading) -> str:
    """``22 Nov``."""
    return said(reading.date)


def said(day: datetime.date) -> str:
    """A day in a sentence: ``22 Nov``."""
    return f"{day.day} {day:%b}"
