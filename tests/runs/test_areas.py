"""Areas of fasteners and shapes against a surface built from triangles, which shares no formula with the program.

Threads are the helicoid of the basic 60 degree profile (ISO 68-1: depth 5/8 H, crest P/8, root P/4), heads are prisms over
polygons, everything else is turned or extruded point by point.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.runs.fasteners import table
from bathkeeper.runs.parts import understand_part
from bathkeeper.units.door import Preferences

TURNS = 180


def triangles(points: np.ndarray) -> float:
    """Area of a grid of points (rows, columns, xyz), every cell as two triangles."""
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[:-1, 1:], points[1:, 1:]
    first = np.linalg.norm(np.cross(b - a, c - a), axis=-1)
    second = np.linalg.norm(np.cross(b - d, c - d), axis=-1)
    return float((first + second).sum() / 2)


def turned(profile: list[tuple[float, float]]) -> float:
    """A line of (radius, height) turned once around the axis."""
    r, z = np.array(profile).T
    angle = np.linspace(0, 2 * math.pi, TURNS + 1)
    x, y = np.outer(r, np.cos(angle)), np.outer(r, np.sin(angle))
    return triangles(np.stack([x, y, np.repeat(z[:, None], TURNS + 1, axis=1)], axis=-1))


def helix(diameter: float, pitch: float, length: float) -> float:
    """The thread's own surface: radius by the phase of height and angle, on a fine grid."""
    heights = np.linspace(0, length, max(int(length / pitch * 64), 64) + 1)
    angle = np.linspace(0, 2 * math.pi, 65)
    phase = (heights[:, None] / pitch - angle[None, :] / (2 * math.pi)) % 1.0
    depth = 5 / 8 * math.sqrt(3) / 2 * pitch
    corners = [0, 1 / 8, 1 / 8 + 5 / 16, 1 / 8 + 5 / 16 + 1 / 4, 1]
    radius = diameter / 2 - np.interp(phase, corners, [0, 0, depth, depth, 0])
    x, y = radius * np.cos(angle), radius * np.sin(angle)
    return triangles(np.stack([x, y, np.repeat(heights[:, None], 65, axis=1)], axis=-1))


def disc(diameter: float) -> float:
    return turned([(0.0, 0.0), (diameter / 2, 0.0)])


def polygon(corners: list[tuple[float, float]]) -> float:
    """Area inside, by the shoelace rule."""
    x, y = np.array(corners).T
    return float(abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))) / 2)


def around(corners: list[tuple[float, float]]) -> float:
    points = np.array([*corners, corners[0]])
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def prism(corners: list[tuple[float, float]], height: float, ends: int = 2) -> float:
    return around(corners) * height + ends * polygon(corners)


def hexagon(flats: float) -> list[tuple[float, float]]:
    r = flats / math.sqrt(3)
    return [(r * math.cos(math.pi / 3 * k), r * math.sin(math.pi / 3 * k)) for k in range(6)]


def rectangle(a: float, b: float) -> list[tuple[float, float]]:
    return [(0, 0), (a, 0), (a, b), (0, b)]


def root(diameter: float, pitch: float) -> float:
    return diameter - 2 * 5 / 8 * math.sqrt(3) / 2 * pitch


def shank(diameter: float, pitch: float, length: float) -> float:
    return helix(diameter, pitch, length) + disc(root(diameter, pitch))


def area(text: str) -> float:
    return understand_part(text, Preferences(), load()).each_mm2


@pytest.mark.parametrize(
    ("text", "system", "size", "length"),
    [
        ("M4x16 hex bolt", "metric", "M4", 16),
        ("M8x30 hex bolt", "metric", "M8", 30),
        ("M12x60 hex bolt", "metric", "M12", 60),
        ("1/4-20 x 1 hex bolt", "inch", "1/4", 25.4),
        ("5/8-11 x 2 hex bolt", "inch", "5/8", 50.8),
    ],
)
def test_hex_bolts(text: str, system: str, size: str, length: float) -> None:
    s = table(system).size[size]
    assert s.head is not None
    head = prism(hexagon(s.head[0]), s.head[1]) - disc(s.diameter)
    assert area(text) == pytest.approx(head + shank(s.diameter, s.coarse_mm, length), rel=0.02)


def test_a_fine_thread_has_its_own_area() -> None:
    s = table("metric").size["M10"]
    assert s.head is not None
    head = prism(hexagon(s.head[0]), s.head[1]) - disc(10)
    assert area("M10x1x40 bolt") == pytest.approx(head + shank(10, 1.0, 40), rel=0.02)


def test_a_partly_threaded_bolt() -> None:
    s = table("metric").size["M10"]
    assert s.head is not None
    head = prism(hexagon(s.head[0]), s.head[1]) - disc(10)
    plain = turned([(5, 0), (5, 80 - 26)])
    assert area("M10x80 hex bolt partly threaded") == pytest.approx(head + plain + shank(10, 1.5, 26), rel=0.02)


@pytest.mark.parametrize(
    ("text", "system", "size", "length"),
    [("M6x20 socket cap screw", "metric", "M6", 20), ("1/4-20 x 1 socket cap screw", "inch", "1/4", 25.4)],
)
def test_socket_heads(text: str, system: str, size: str, length: float) -> None:
    s = table(system).size[size]
    assert s.cap is not None
    diameter, height, flats, depth = s.cap
    head = turned([(0, height), (diameter / 2, height), (diameter / 2, 0), (s.diameter / 2, 0)])
    head += around(hexagon(flats)) * depth
    assert area(text) == pytest.approx(head + shank(s.diameter, s.coarse_mm, length), rel=0.02)


@pytest.mark.parametrize("size", ["M5", "M8", "M12"])
def test_flange_bolts_countersunk_and_set_screws(size: str) -> None:
    s = table("metric").size[size]
    d, p = s.diameter, s.coarse_mm
    assert s.flange_bolt and s.countersunk and s.grub
    flats, flange, rim, height = s.flange_bolt
    head = turned([(d / 2, 0), (flange / 2, 0), (flange / 2, rim), (0, rim)]) + around(hexagon(flats)) * (height - rim)
    assert area(f"{size}x30 flange bolt") == pytest.approx(head + shank(d, p, 30), rel=0.02)
    width, flats, depth = s.countersunk
    cone = (width - d) / 2
    head = turned([(0, cone), (width / 2, cone), (d / 2, 0)]) + around(hexagon(flats)) * depth
    assert area(f"{size}x30 countersunk screw") == pytest.approx(head + shank(d, p, 30 - cone), rel=0.02)
    flats, depth = s.grub
    whole = shank(d, p, 20) + disc(root(d, p)) + around(hexagon(flats)) * depth
    assert area(f"{size}x20 set screw") == pytest.approx(whole, rel=0.02)


@pytest.mark.parametrize(
    ("system", "size", "text"), [("metric", "M8", "M8"), ("metric", "M16", "M16"), ("inch", "3/8", "3/8-16")]
)
def test_nuts_washers_and_rods(system: str, size: str, text: str) -> None:
    s = table(system).size[size]
    d, p = s.diameter, s.coarse_mm
    assert s.nut and s.flange_nut and s.washer
    flats, height = s.nut
    assert area(f"{text} hex nut") == pytest.approx(prism(hexagon(flats), height) - 2 * disc(d) + helix(d, p, height), rel=0.02)
    flats, flange, rim, height = s.flange_nut
    outside = turned([(d / 2, 0), (flange / 2, 0), (flange / 2, rim), (0, rim)]) + around(hexagon(flats)) * (height - rim)
    assert area(f"{text} flange nut") == pytest.approx(outside - disc(d) + helix(d, p, height), rel=0.02)
    hole, wide, thick = s.washer
    ring = turned([(hole / 2, 0), (wide / 2, 0), (wide / 2, thick), (hole / 2, thick), (hole / 2, 0)])
    assert area(f"{text} washer") == pytest.approx(ring, rel=0.02)
    rod = shank(d, p, 100) + disc(root(d, p))
    assert area(f"{text} x {'100' if system == 'metric' else '100 mm'} threaded rod") == pytest.approx(rod, rel=0.02)


def test_plain_bodies() -> None:
    assert area("plate 120x80x3 mm") == pytest.approx(prism(rectangle(120, 80), 3), rel=1e-6)
    assert area("round bar 20x100 mm") == pytest.approx(turned([(0, 0), (10, 0), (10, 100), (0, 100)]), rel=0.002)
    assert area("tube 40x2x300 mm") == pytest.approx(turned([(20, 0), (20, 300), (18, 300), (18, 0), (20, 0)]), rel=0.002)
    angles = np.linspace(-math.pi / 2, math.pi / 2, 181)
    assert area("sphere 30 mm") == pytest.approx(turned([(15 * math.cos(a), 15 * math.sin(a)) for a in angles]), rel=0.002)
    assert area("cone 30x50 mm") == pytest.approx(turned([(0, 0), (15, 0), (0, 50)]), rel=0.002)
    assert area("hex bar 13x100 mm") == pytest.approx(prism(hexagon(13), 100), rel=1e-6)
    corner = [(0, 0), (40, 0), (40, 3), (3, 3), (3, 50), (0, 50)]
    assert area("angle 50x40x3x200 mm") == pytest.approx(prism(corner, 200), rel=1e-6)
    web = [(0, 0), (25, 0), (25, 3), (3, 3), (3, 47), (25, 47), (25, 50), (0, 50)]
    assert area("channel 50x25x3x200 mm") == pytest.approx(prism(web, 200), rel=1e-6)
    hollow = (around(rectangle(30, 20)) + around(rectangle(26, 16))) * 300 + 2 * (30 * 20 - 26 * 16)
    assert area("square tube 30x20x2x300 mm") == pytest.approx(hollow, rel=1e-6)


def test_holes_take_their_discs_and_give_their_walls() -> None:
    drilled = prism(rectangle(120, 80), 3) + 4 * (turned([(4.25, 0), (4.25, 3)]) - 2 * disc(8.5))
    assert area("plate 120x80x3 mm with 4 holes 8.5 mm") == pytest.approx(drilled, rel=0.001)


def test_a_bracket_is_its_unfolded_sheet() -> None:
    """An L bracket as one solid: legs 100 and 60 of 3 mm, widths 60 and 40 meeting on 40; its corner counted once."""
    long, short = prism(rectangle(100, 60), 3), prism(rectangle(60, 40), 3)
    assert area("bracket 100x60x3 + 60x40x3 mm") == pytest.approx(long + short - 2 * 40 * 3, rel=0.02)


def test_parts_by_mass_against_pieces_cut_up() -> None:
    """50 g of steel (at the catalogue's density) as 0.8 mm wire is 12.67 m; 250 g of 0.8 mm sheet is 398 cm2 a face."""
    density = load().metal("steel").density_g_cm3
    metres = 50 / density / (math.pi / 4 * 0.08**2) / 100
    assert area("wire 0.8 mm 50 g steel") == pytest.approx(math.pi * 0.8 * metres * 1000, rel=1e-6)
    face = 250 / density / 0.08 * 100
    assert area("clips 0.8 mm 250 g") == pytest.approx(2 * face, rel=1e-6)
    balls = 200 / density / (math.pi / 6 * 0.6**3)
    assert area("balls 6 mm 200 g steel") == pytest.approx(balls * math.pi * 36, rel=1e-6)


def test_published_and_worked_cases() -> None:
    """A 2 x 3 x 4 in block has 52 in2 (24, its volume, was once posted); a 4 x 14 in bar 201.06 in2; M8x30 16.29 cm2."""
    square_inch = 645.16
    assert area("2 x 3 x 4 in block") / square_inch == pytest.approx(52.0, abs=0.005)
    assert area("round bar 4 in x 14 in") / square_inch == pytest.approx(201.06, abs=0.005)
    assert area("M8x30 hex bolt") / 100 == pytest.approx(16.29, abs=0.01)
    assert area("M6x20") / 100 == pytest.approx(8.56, abs=0.01)
    assert area("M10x40") / 100 == pytest.approx(26.38, abs=0.01)
    twenty = understand_part("20x M8x30 hex bolt", Preferences(), load())
    assert twenty.area_dm2 == pytest.approx(3.259, abs=0.0005)
    assert twenty.half_dm2 == pytest.approx(0.05 * 3.259, abs=0.001)
