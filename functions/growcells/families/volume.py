"""How much water a bed, tote, barrel or pipe holds, and how deep a volume stands in it.

Calculations take inside sizes [dm] and give volumes [L]; a cubic decimetre is a litre.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError, OutOfRange
from ..cells.kinds import LENGTH, VOLUME, Choice, Kind
from ..cells.registry import Family, cell_function
from ..cells.units import conversion

NIST = "inch and US gallon of NIST SP 811 Appendix B: 231 in³ are 1 gal"

HELD = Result(VOLUME, "the volume", unit_name="volume_unit")


def size(name: str, help: str, required: bool = True, kind: Kind = LENGTH) -> Argument:
    """An inside measure of a tank."""
    return Argument(name, kind, help, required, unit="size_unit")


DEPTH = size("depth", "the depth of the water, not of the walls")


@cell_function(
    "GROW_VOLUME_BOX",
    family=Family.WATER,
    help="Volume of water in a straight-sided bed, tote or tank.",
    arguments=(size("length", "the inside length"), size("width", "the inside width"), DEPTH),
    result=HELD,
    examples=(
        Example((42, 31, 6), 42 * 31 * 6 / 231, NIST),
        Example(("3 ft 6 in", "31 in", "15.24 cm"), 42 * 31 * 6 / 231, NIST),
        Example((100, 50, 20, "cm", "L"), 100.0, "1 L is 1000 cm³, SI Brochure"),
    ),
    formula="length × width × depth",
    source="plane geometry",
    elementwise=True,
)
def box(length: float, width: float, depth: float) -> float:
    """Volume [L] of a box of these inside sizes [dm].

    >>> box(10.0, 10.0, 10.0)
    1000.0
    """
    return length * width * depth


@cell_function(
    "GROW_VOLUME_ROUND",
    family=Family.WATER,
    help="Volume of water in an upright round tank or barrel with straight sides.",
    arguments=(size("diameter", "the inside diameter"), DEPTH),
    result=HELD,
    examples=(
        Example((22, 30), math.pi * 11**2 * 30 / 231, NIST),
        Example((2, 1, "m", "m3"), math.pi, "plane geometry"),
    ),
    formula="π ÷ 4 × diameter² × depth",
    source="plane geometry",
    elementwise=True,
)
def cylinder(diameter: float, depth: float) -> float:
    """Volume [L] of an upright cylinder of this diameter and depth [dm].

    >>> round(cylinder(5.0, 8.0), 3)
    157.08
    """
    return math.pi / 4 * diameter**2 * depth


@cell_function(
    "GROW_VOLUME_OVAL",
    family=Family.WATER,
    help="Volume of water in a stock tank with two round ends and straight sides.",
    arguments=(
        size("length", "the inside length over both round ends"),
        size("width", "the inside width, which is the diameter of the ends"),
        DEPTH,
    ),
    result=HELD,
    examples=(
        Example((48, 24, 20), (24 * 24 + math.pi * 12**2) * 20 / 231, NIST),
        Example((20, 20, 10), math.pi * 10**2 * 10 / 231, "as long as wide is a round tank"),
    ),
    formula="(π ÷ 4 × width² + (length − width) × width) × depth",
    source="plane geometry",
)
def oval(length: float, width: float, depth: float) -> float:
    """Volume [L] of two half cylinders and the box between them, sizes in [dm].

    Raises OutOfRange where the length is less than the width.

    >>> round(oval(12.0, 6.0, 5.0), 3)
    321.372
    """
    if length < width:
        raise OutOfRange("length is less than width: give the longer side as length")
    return (math.pi / 4 * width**2 + (length - width) * width) * depth


@cell_function(
    "GROW_VOLUME_TAPER",
    family=Family.WATER,
    help="Volume of water in a tapered tote, from its sizes at the water line and at the base.",
    arguments=(
        size("top_length", "the inside length at the water line"),
        size("top_width", "the inside width at the water line"),
        size("base_length", "the inside length at the base"),
        size("base_width", "the inside width at the base"),
        DEPTH,
    ),
    result=HELD,
    examples=(
        Example(
            (30, 20, 26, 16, 12),
            12 / 6 * (30 * 20 + 26 * 16 + 4 * 28 * 18) / 231,
            "prismatoid formula; " + NIST,
        ),
        Example((42, 31, 42, 31, 6), 42 * 31 * 6 / 231, "equal sizes are a box"),
    ),
    formula="depth ÷ 6 × (top area + base area + 4 × area half way up)",
    source="prismatoid formula; exact for sides that are straight from base to water line",
    elementwise=True,
)
def taper(top_length: float, top_width: float, base_length: float, base_width: float, depth: float) -> float:
    """Volume [L] of a prismatoid with parallel rectangles [dm] as top and base.

    >>> taper(8.0, 5.0, 7.0, 4.0, 3.0)
    101.5
    """
    middle = (top_length + base_length) / 2 * (top_width + base_width) / 2
    return depth / 6 * (top_length * top_width + base_length * base_width + 4 * middle)


@cell_function(
    "GROW_VOLUME_BUCKET",
    family=Family.WATER,
    help="Volume of water in a tapered round bucket, from its diameters at the water line and at the base.",
    arguments=(
        size("top_diameter", "the inside diameter at the water line"),
        size("base_diameter", "the inside diameter at the base"),
        DEPTH,
    ),
    result=HELD,
    examples=(
        Example((11.25, 10.25, 14), math.pi / 12 * 14 * (11.25**2 + 11.25 * 10.25 + 10.25**2) / 231, NIST),
        Example((22, 22, 30), math.pi * 11**2 * 30 / 231, "equal diameters are a round tank"),
    ),
    formula="π ÷ 12 × depth × (top² + top × base + base²)",
    source="frustum of a cone, solid geometry",
    elementwise=True,
)
def bucket(top_diameter: float, base_diameter: float, depth: float) -> float:
    """Volume [L] of a frustum of a cone, sizes in [dm].

    >>> round(bucket(3.0, 2.5, 3.5), 3)
    20.846
    """
    return math.pi / 12 * depth * (top_diameter**2 + top_diameter * base_diameter + base_diameter**2)


@cell_function(
    "GROW_VOLUME_PIPE",
    family=Family.WATER,
    help="Volume of water in a lying pipe or half barrel that is filled in part.",
    arguments=(
        size("diameter", "the inside diameter"),
        size("length", "the inside length"),
        size("water_depth", "the depth of the water at its deepest"),
    ),
    result=HELD,
    examples=(
        Example((4, 120, 2), math.pi * 2**2 / 2 * 120 / 231, "half full is half the pipe"),
        Example((4, 120, 4), math.pi * 2**2 * 120 / 231, "full is the whole pipe"),
    ),
    formula="length × (r² × arccos((r − h) ÷ r) − (r − h) × √(2 r h − h²)), r the radius, h the depth",
    source="circular segment, plane geometry",
)
def pipe(diameter: float, length: float, water_depth: float) -> float:
    """Volume [L] in a lying cylinder of this diameter and length [dm] filled to a depth [dm].

    Raises OutOfRange where the water is deeper than the pipe.

    >>> round(pipe(1.0, 30.0, 0.5), 3)
    11.781
    """
    if water_depth > diameter:
        raise OutOfRange("water_depth is more than diameter: water cannot stand deeper than the pipe is wide")
    radius = diameter / 2
    above = radius - water_depth
    half_chord = math.sqrt(water_depth * (diameter - water_depth))
    return length * (radius**2 * math.acos(above / radius) - above * half_chord)


SHAPES: Mapping[str, tuple[Callable[..., float], tuple[str, ...]]] = {
    "box": (box, ("length", "width")),
    "round": (cylinder, ("diameter",)),
    "oval": (oval, ("length", "width")),
    "taper": (taper, ("top_length", "top_width", "base_length", "base_width")),
    "bucket": (bucket, ("top_diameter", "base_diameter")),
    "pipe": (pipe, ("diameter", "length")),
}
"""Each shape's volume and the sizes it takes before the depth."""


@cell_function(
    "GROW_DEPTH_FOR",
    family=Family.WATER,
    help="Depth at which a tank holds a volume, for any shape of the GROW_VOLUME functions.",
    arguments=(
        Argument("volume", VOLUME, "the volume wanted", unit="volume_unit"),
        Argument("shape", Choice("shape", tuple(SHAPES)), f"the shape: {', '.join(SHAPES)}"),
        size("size1", "the first size that the shape's GROW_VOLUME function takes"),
        size("size2", "the second size, where the shape has one", required=False),
        size("size3", "the third size: base_length of a taper", required=False),
        size("size4", "the fourth size: base_width of a taper", required=False),
    ),
    result=Result(LENGTH, "the depth of the water", unit_name="depth_unit", follows="size_unit"),
    examples=(
        Example((42 * 31 * 6 / 231, "box", 42, 31), 6.0, "GROW_VOLUME_BOX(42,31,6) the other way round", 1e-12),
        Example((math.pi * 2 * 120 / 231, "pipe", 4, 120), 2.0, "half the volume stands half way up a pipe"),
        Example(("100 L", "box", 1, 0.5, None, None, "L", "m", "cm"), 20.0, "1 L is 1000 cm³, SI Brochure"),
    ),
    formula="the depth at which the shape's volume is the one given; sizes at the water line where the tank tapers",
    source="the GROW_VOLUME functions solved for the depth; a pipe numerically",
    needs=("scipy",),
)
def depth_for(
    volume: float,
    shape: str,
    size1: float,
    size2: float | None = None,
    size3: float | None = None,
    size4: float | None = None,
) -> float:
    """Depth [dm] at which a tank of a shape and these sizes [dm] holds a volume [L].

    Raises GrowError where the shape takes other sizes, OutOfRange where a pipe cannot hold the volume.

    >>> depth_for(500.0, "box", 10.0, 10.0)
    5.0
    >>> round(depth_for(11.781, "pipe", 1.0, 30.0), 3)
    0.5
    """
    function, names = SHAPES[shape]
    sizes = [value for value in (size1, size2, size3, size4) if value is not None]
    if len(sizes) != len(names):
        raise GrowError(f"a {shape} takes {', '.join(names)}: give {len(names)} after the shape and not {len(sizes)}")
    if shape != "pipe":
        # In every other shape the sizes are given at the water line, so that the volume is proportional to the depth.
        return volume / function(*sizes, 1.0)
    return _pipe_depth(volume, *sizes)


def _pipe_depth(volume: float, diameter: float, length: float) -> float:
    from scipy.optimize import brentq

    full = pipe(diameter, length, diameter)
    if volume > full:
        gallons = full / conversion("gal", "L")[0]
        raise OutOfRange(
            f"volume is more than the full pipe of {gallons:.4g} gal ({full:.4g} L): "
            "give less, or a longer or wider pipe"
        )

    def excess(depth: float) -> float:
        return pipe(diameter, length, depth) - volume

    return float(brentq(excess, 0.0, diameter, xtol=1e-15 * diameter, rtol=1e-14))
