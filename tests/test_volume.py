"""Volumes against fluids.geometry and numerical integration, and the trade's rules of thumb."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import pytest
from fluids.geometry import V_from_h, V_horiz_conical
from scipy.integrate import quad

import growcells
from growcells.families.volume import depth_for, pipe
from us_units import CUBIC_INCHES_IN_GALLON


def random_sizes(count: int, seed: int) -> list[list[float]]:
    """Invented sizes between 1 and 100."""
    generator = random.Random(seed)
    return [[generator.uniform(1, 100) for _ in range(count)] for _ in range(50)]


def by_integration(area: Callable[[float], float], depth: float) -> float:
    """Volume under a height, from the water's area at each height."""
    return float(quad(area, 0, depth, epsabs=1e-12, epsrel=1e-12)[0])


@pytest.mark.parametrize("sizes", random_sizes(3, 1))
def test_box(sizes: list[float]) -> None:
    length, width, depth = sizes
    expected = by_integration(lambda height: length * width, depth) / CUBIC_INCHES_IN_GALLON
    assert growcells.call("GROW_VOLUME_BOX", *sizes) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("sizes", random_sizes(2, 2))
def test_round_is_an_upright_tank(sizes: list[float]) -> None:
    diameter, depth = sizes
    expected = V_from_h(depth, diameter, depth, horizontal=False) / CUBIC_INCHES_IN_GALLON
    assert growcells.call("GROW_VOLUME_ROUND", *sizes) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("sizes", random_sizes(3, 3))
def test_oval(sizes: list[float]) -> None:
    width, length = sorted(sizes[:2])
    depth = sizes[2]
    radius = width / 2
    # The width of the water at a place along the tank: a chord in the ends, the full width between them.
    ends = quad(lambda place: 2 * math.sqrt(radius**2 - place**2), -radius, radius)[0]
    expected = (ends + (length - width) * width) * depth / CUBIC_INCHES_IN_GALLON
    assert growcells.call("GROW_VOLUME_OVAL", length, width, depth) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("sizes", random_sizes(5, 4))
def test_taper(sizes: list[float]) -> None:
    top_length, top_width, base_length, base_width, depth = sizes

    def area(height: float) -> float:
        share = height / depth
        return (base_length + (top_length - base_length) * share) * (base_width + (top_width - base_width) * share)

    expected = by_integration(area, depth) / CUBIC_INCHES_IN_GALLON
    assert growcells.call("GROW_VOLUME_TAPER", *sizes) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("sizes", random_sizes(3, 5))
def test_bucket(sizes: list[float]) -> None:
    top, base, depth = sizes
    expected = by_integration(lambda height: math.pi / 4 * (base + (top - base) * height / depth) ** 2, depth)
    assert growcells.call("GROW_VOLUME_BUCKET", *sizes) == pytest.approx(expected / CUBIC_INCHES_IN_GALLON, rel=1e-9)


@pytest.mark.parametrize("sizes", random_sizes(3, 6))
def test_pipe_is_a_lying_tank(sizes: list[float]) -> None:
    diameter, length, share = sizes
    depth = diameter * share / 100
    expected = V_from_h(depth, diameter, length, horizontal=True) / CUBIC_INCHES_IN_GALLON
    assert growcells.call("GROW_VOLUME_PIPE", diameter, length, depth) == pytest.approx(expected, rel=1e-9)
    # fluids' heads of no length leave the cylinder alone.
    assert V_horiz_conical(diameter, length, 0, depth) / CUBIC_INCHES_IN_GALLON == pytest.approx(expected, rel=1e-9)


SHAPES = {"box": 2, "round": 1, "oval": 2, "taper": 4, "bucket": 2, "pipe": 2}


@pytest.mark.parametrize("shape", SHAPES)
def test_depth_is_the_volume_the_other_way_round(shape: str) -> None:
    volume_of = growcells.functions()[f"GROW_VOLUME_{shape.upper()}"]
    for sizes in random_sizes(SHAPES[shape] + 1, 7):
        *sides, share = sizes
        if shape == "oval":
            sides.sort(reverse=True)
        deepest = sides[0] if shape == "pipe" else 50.0
        depth = share / 100 * deepest
        height = (deepest,) if shape in ("taper", "bucket") else ()
        volume = volume_of(*sides, depth, *height)
        blanks = (None,) * (4 - len(sides))
        assert growcells.call("GROW_DEPTH_FOR", volume, shape, *sides, *blanks, *height) == pytest.approx(
            depth, rel=1e-9
        )


@pytest.mark.parametrize("sizes", random_sizes(6, 8))
def test_tapered_tanks_by_their_rim(sizes: list[float]) -> None:
    """Integrated from the base to the water line, each size straight from base to rim."""
    *sides, share, height = sizes
    depth = share / 100 * height

    def area(at: float, rim: float, base: float) -> float:
        return base + (rim - base) * at / height

    held = by_integration(lambda at: area(at, sides[0], sides[2]) * area(at, sides[1], sides[3]), depth)
    ours = growcells.call("GROW_VOLUME_TAPER", *sides, depth, height)
    assert ours == pytest.approx(held / CUBIC_INCHES_IN_GALLON, rel=1e-9)
    held = by_integration(lambda at: math.pi / 4 * area(at, sides[0], sides[1]) ** 2, depth)
    ours = growcells.call("GROW_VOLUME_BUCKET", *sides[:2], depth, height)
    assert ours == pytest.approx(held / CUBIC_INCHES_IN_GALLON, rel=1e-9)


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        (("GROW_VOLUME_TAPER", 34, 24, 26, 16, 13, 12), "depth is more than height"),
        (("GROW_DEPTH_FOR", 10, "taper", 34, 24, 26, 16), "a taper needs its height"),
        (("GROW_DEPTH_FOR", 10, "bucket", 12, 10), "a bucket needs its height"),
        (("GROW_DEPTH_FOR", 100, "bucket", 12, 10, None, None, 14), "volume is more than the full bucket of 5.775"),
        (("GROW_DEPTH_FOR", 100, "box", 12, 10, None, None, 14), "volume is more than the full box of 7.27"),
    ],
)
def test_what_no_tank_holds(cells: tuple[object, ...], told: str) -> None:
    with pytest.raises(growcells.GrowError, match=told):
        growcells.call(*cells)


def test_rules_of_the_trade() -> None:
    # Common practice, no source.
    gallons = growcells.call("GROW_VOLUME_BOX", 42, 31, 6)
    assert isinstance(gallons, float)
    assert gallons == pytest.approx(33.8, abs=0.05)
    assert gallons == pytest.approx(42 * 31 * 6 / 1728 * 7.48, rel=1e-4)
    assert growcells.call("GROW_DOSE", 34, "2 g/gal") == pytest.approx(68)
    assert growcells.call("GROW_RATE", 10, 5) == pytest.approx(2)


def test_a_pipe_is_full_at_its_diameter() -> None:
    full = pipe(2.0, 7.0, 2.0)
    assert full == pytest.approx(math.pi * 7)
    assert depth_for(full, "pipe", 2.0, 7.0) == 2.0
    with pytest.raises(growcells.GrowError, match="more than the full pipe"):
        depth_for(full * 1.0001, "pipe", 2.0, 7.0)


@pytest.mark.parametrize("diameter", [1e-4, 1.0, 1e4])
def test_the_depth_in_a_pipe_is_found_to_the_last_figures(diameter: float) -> None:
    for share in (1e-3, 0.25, 0.5, 0.9):
        volume = pipe(diameter, 3.0, share * diameter)
        assert depth_for(volume, "pipe", diameter, 3.0) == pytest.approx(share * diameter, rel=1e-11)


def test_an_oval_as_long_as_wide_is_round() -> None:
    assert growcells.call("GROW_VOLUME_OVAL", 20, 20, 10) == pytest.approx(growcells.call("GROW_VOLUME_ROUND", 20, 10))


def test_sizes_beyond_any_tank_are_an_error() -> None:
    for shape, *sizes in (("pipe", 1e300, 1e300), ("taper", *[1e200] * 5)):
        assert growcells.functions()["GROW_DEPTH_FOR"].evaluate((10, shape, *sizes)).code in ("#NUM!", "#VALUE!")
