"""How much water a bed, tote, barrel or pipe holds, and how deep a volume stands in it.

Calculations take inside sizes [dm] and give volumes [L]; a cubic decimetre is a litre.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from ..cells.arguments import ROUNDING, Argument, Example, Result
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
HEIGHT = size(
    "height",
    "the inside height of the tank where the top sizes are those of its rim; without it they are at the water line",
    required=False,
)


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


def at_water_line(rim: float, base: float, depth: float, height: float | None) -> float:
    """Size [dm] at the water line between those of base and rim; the first itself where no height is given.

    Raises OutOfRange where the water is deeper than the tank is high.
    """
    if height is None:
        return rim
    if depth > height * (1 + ROUNDING):
        raise OutOfRange("depth is more than height: water cannot stand deeper than the tank is high")
    return base + (rim - base) * depth / height


@cell_function(
    "GROW_VOLUME_TAPER",
    family=Family.WATER,
    help="Volume of water in a tapered tote, from its sizes at the rim and at the base, its height and the depth.",
    arguments=(
        size("top_length", "the inside length at the rim, or without a height at the water line"),
        size("top_width", "the inside width at the rim, or without a height at the water line"),
        size("base_length", "the inside length at the base"),
        size("base_width", "the inside width at the base"),
        DEPTH,
        HEIGHT,
    ),
    result=HELD,
    examples=(
        Example(
            (30, 20, 26, 16, 12),
            12 / 6 * (30 * 20 + 26 * 16 + 4 * 28 * 18) / 231,
            "prismatoid formula; " + NIST,
        ),
        Example((42, 31, 42, 31, 6), 42 * 31 * 6 / 231, "equal sizes are a box"),
        Example(
            (34, 24, 26, 16, 6, 12),
            6 / 6 * (30 * 20 + 26 * 16 + 4 * 28 * 18) / 231,
            "half full: 30 by 20 at the water line; prismatoid formula; " + NIST,
        ),
    ),
    formula="depth ÷ 6 × (top area + base area + 4 × area half way up), the top at the water line, whose sizes lie "
    "between those of base and rim as the depth to the height",
    source="prismatoid formula; exact for sides that are straight from base to rim",
)
def taper(
    top_length: float,
    top_width: float,
    base_length: float,
    base_width: float,
    depth: float,
    height: float | None = None,
) -> float:
    """Volume [L] of a prismatoid with parallel rectangles [dm] as top and base, filled to a depth [dm] of its height.

    Without a height the top is the water line. Raises OutOfRange where the water is deeper than the tank is high.

    >>> taper(8.0, 5.0, 7.0, 4.0, 3.0)
    101.5
    >>> taper(9.0, 6.0, 7.0, 4.0, 3.0, 6.0)
    101.5
    """
    top_length = at_water_line(top_length, base_length, depth, height)
    top_width = at_water_line(top_width, base_width, depth, height)
    middle = (top_length + base_length) / 2 * (top_width + base_width) / 2
    return depth / 6 * (top_length * top_width + base_length * base_width + 4 * middle)


@cell_function(
    "GROW_VOLUME_BUCKET",
    family=Family.WATER,
    help="Volume of water in a tapered round bucket, from its diameters at the rim and base, its height and the depth.",
    arguments=(
        size("top_diameter", "the inside diameter at the rim, or without a height at the water line"),
        size("base_diameter", "the inside diameter at the base"),
        DEPTH,
        HEIGHT,
    ),
    result=HELD,
    examples=(
        Example((11.25, 10.25, 14), math.pi / 12 * 14 * (11.25**2 + 11.25 * 10.25 + 10.25**2) / 231, NIST),
        Example((22, 22, 30), math.pi * 11**2 * 30 / 231, "equal diameters are a round tank"),
        Example(
            (12, 10, 7, 14),
            math.pi / 12 * 7 * (11**2 + 11 * 10 + 10**2) / 231,
            "half full: 11 wide at the water line; frustum of a cone; " + NIST,
        ),
    ),
    formula="π ÷ 12 × depth × (top² + top × base + base²), the top at the water line, whose diameter lies between "
    "those of base and rim as the depth to the height",
    source="frustum of a cone, solid geometry",
)
def bucket(top_diameter: float, base_diameter: float, depth: float, height: float | None = None) -> float:
    """Volume [L] of a frustum of a cone filled to a depth of its height, sizes in [dm].

    Without a height the top is the water line. Raises OutOfRange where the water is deeper than the tank is high.

    >>> round(bucket(3.0, 2.5, 3.5), 3)
    20.846
    >>> round(bucket(3.5, 2.5, 3.5, 7.0), 3)
    20.846
    """
    top_diameter = at_water_line(top_diameter, base_diameter, depth, height)
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
    # Half of the smallest numbers is rounded, so that a full pipe may end below -1.
    return length * (radius**2 * math.acos(max(-1.0, above / radius)) - above * half_chord)


SHAPES: Mapping[str, tuple[Callable[..., float], tuple[str, ...]]] = {
    "box": (box, ("length", "width")),
    "round": (cylinder, ("diameter",)),
    "oval": (oval, ("length", "width")),
    "taper": (taper, ("top_length", "top_width", "base_length", "base_width")),
    "bucket": (bucket, ("top_diameter", "base_diameter")),
    "pipe": (pipe, ("diameter", "length")),
}
"""Each shape's volume and the sizes it takes before the depth."""

TAPERED = ("taper", "bucket")


@cell_function(
    "GROW_DEPTH_FOR",
    family=Family.WATER,
    help="Depth at which a tank holds a volume, for any shape of the GROW_VOLUME functions; a taper or bucket by the "
    "sizes of its rim and base and its height.",
    arguments=(
        Argument("volume", VOLUME, "the volume wanted", unit="volume_unit"),
        Argument("shape", Choice("shape", tuple(SHAPES)), f"the shape: {', '.join(SHAPES)}"),
        size("size1", "the first size that the shape's GROW_VOLUME function takes"),
        size("size2", "the second size, where the shape has one", required=False),
        size("size3", "the third size: base_length of a taper", required=False),
        size("size4", "the fourth size: base_width of a taper", required=False),
        size("height", "the inside height of the tank, which a taper and a bucket need", required=False),
    ),
    result=Result(LENGTH, "the depth of the water", unit_name="depth_unit", follows="size_unit"),
    examples=(
        Example((42 * 31 * 6 / 231, "box", 42, 31), 6.0, "GROW_VOLUME_BOX(42,31,6) the other way round", 1e-12),
        Example((math.pi * 2 * 120 / 231, "pipe", 4, 120), 2.0, "half the volume stands half way up a pipe"),
        Example(("100 L", "box", 1, 0.5, None, None, None, "L", "m", "cm"), 20.0, "1 L is 1000 cm³, SI Brochure"),
        Example(
            ((30 * 20 + 26 * 16 + 4 * 28 * 18) / 231, "taper", 34, 24, 26, 16, 12),
            6.0,
            "GROW_VOLUME_TAPER(34,24,26,16,6,12) the other way round",
        ),
    ),
    formula="the depth at which the shape's volume is the one given",
    source="the GROW_VOLUME functions solved for the depth; pipes and tapered tanks numerically",
    needs=("scipy",),
)
def depth_for(
    volume: float,
    shape: str,
    size1: float,
    size2: float | None = None,
    size3: float | None = None,
    size4: float | None = None,
    height: float | None = None,
) -> float:
    """Depth [dm] at which a tank of a shape and these sizes [dm] holds a volume [L].

    Raises GrowError where the shape takes other sizes, OutOfRange where the tank cannot hold the volume.

    >>> depth_for(500.0, "box", 10.0, 10.0)
    5.0
    >>> round(depth_for(11.781, "pipe", 1.0, 30.0), 3)
    0.5
    >>> round(depth_for(101.5, "taper", 9.0, 6.0, 7.0, 4.0, 6.0), 9)
    3.0
    """
    function, names = SHAPES[shape]
    sizes = (size1, size2, size3, size4)[: len(names)]
    beyond = (size1, size2, size3, size4)[len(names) :]
    if any(value is None for value in sizes) or any(value is not None for value in beyond):
        raise GrowError(f"a {shape} takes {', '.join(names)}: give just these after the shape, in this order")
    if shape in TAPERED:
        if height is None:
            raise GrowError(f"a {shape} needs its height: give the sizes of its rim and base, and height behind them")
        return _solved_depth(volume, lambda depth: function(*sizes, depth, height), shape, height)
    if shape == "pipe":
        return _solved_depth(volume, lambda depth: function(*sizes, depth), shape, size1)
    depth = volume / function(*sizes, 1.0)
    if height is not None and depth > height * (1 + ROUNDING):
        raise _too_full(shape, function(*sizes, height))
    return depth


def _too_full(shape: str, full: float) -> OutOfRange:
    gallons = full / conversion("gal", "L")[0]
    return OutOfRange(
        f"volume is more than the full {shape} of {gallons:.4g} gal ({full:.4g} L): give less, or a larger one"
    )


def _solved_depth(volume: float, held: Callable[[float], float], shape: str, deepest: float) -> float:
    """The depth at which what a tank holds is a volume. Raises OutOfRange where it holds less when full."""
    from scipy.optimize import brentq

    empty, full = held(0.0), held(deepest)
    if not (math.isfinite(empty) and math.isfinite(full)):
        raise OverflowError("a size is far too large")
    if volume > full * (1 + ROUNDING):
        raise _too_full(shape, full)
    if volume >= full:
        return deepest
    return float(brentq(lambda depth: held(depth) - volume, 0.0, deepest, xtol=1e-15 * deepest, rtol=1e-14))
