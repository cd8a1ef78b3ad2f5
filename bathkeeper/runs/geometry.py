"""Areas of plain bodies, threads and heads, in mm2 from mm: every surface that the solution wets."""

from __future__ import annotations

import math

ROOT3 = math.sqrt(3.0)


def box(a: float, b: float, c: float) -> float:
    return 2.0 * (a * b + b * c + a * c)


def cylinder(diameter: float, length: float) -> float:
    """Side and both ends."""
    return math.pi * diameter * length + 2.0 * disc(diameter)


def disc(diameter: float) -> float:
    return math.pi / 4.0 * diameter**2


def tube(outside: float, wall: float, length: float) -> float:
    """Outside, inside and both rims."""
    inside = outside - 2.0 * wall
    return math.pi * (outside + inside) * length + 2.0 * (disc(outside) - disc(inside))


def sphere(diameter: float) -> float:
    return math.pi * diameter**2


def cone(base: float, height: float) -> float:
    """Mantle and base."""
    return math.pi / 2.0 * base * math.hypot(base / 2.0, height) + disc(base)


def hexagon(flats: float) -> float:
    return ROOT3 / 2.0 * flats**2


def hexagon_bar(flats: float, length: float) -> float:
    return 2.0 * hexagon(flats) + 2.0 * ROOT3 * flats * length


def wire_by_mass(diameter: float, mass_g: float, density_g_cm3: float) -> float:
    """Side of a wire of a mass, however it is cut or bent; the ends are neglected. 4 m / (rho d)."""
    return 4.0 * (mass_g / density_g_cm3 * 1000.0) / diameter


def minor_diameter(diameter: float, pitch: float) -> float:
    """Of the basic 60 degree profile (ISO 68-1): d - 1.0825 P."""
    return diameter - 2.0 * 5.0 / 8.0 * ROOT3 / 2.0 * pitch


def thread_factor(diameter: float, pitch: float) -> float:
    """Area of a thread over that of the plain cylinder around it (M8: 1.477).

    Basic 60 degree profile (ISO 68-1): crest P/8, root P/4, two flanks of 0.625 P at the middle diameter.
    """
    minor = minor_diameter(diameter, pitch)
    return (pitch / 8.0 * diameter + pitch / 4.0 * minor + 2.0 * 0.625 * pitch * (diameter + minor) / 2.0) / (pitch * diameter)


def shank(diameter: float, pitch: float, length: float, threaded: float) -> float:
    """Side of a shank of which so much is threaded, and its end (of the minor diameter)."""
    side = math.pi * diameter * (length - threaded + threaded * thread_factor(diameter, pitch))
    return side + disc(minor_diameter(diameter, pitch))


def hex_head(diameter: float, flats: float, height: float) -> float:
    """A hexagon head from outside: top, sides, and the underside around a shank of so much diameter."""
    return 2.0 * hexagon(flats) + 2.0 * ROOT3 * flats * height - disc(diameter)


def socket(flats: float, depth: float) -> float:
    """What a hexagon socket adds: its walls (its floor stands for the face it takes away)."""
    return 2.0 * ROOT3 * flats * depth


def frustum(large: float, small: float, height: float) -> float:
    """Mantle of a cone with its tip cut off."""
    return math.pi / 2.0 * (large + small) * math.hypot((large - small) / 2.0, height)


def threaded_rod(diameter: float, pitch: float, length: float) -> float:
    return math.pi * diameter * length * thread_factor(diameter, pitch) + 2.0 * disc(minor_diameter(diameter, pitch))


def angle(a: float, b: float, thickness: float, length: float) -> float:
    """An L section: all around, and both ends."""
    return 2.0 * (a + b) * length + 2.0 * thickness * (a + b - thickness)


def channel(web: float, flange: float, thickness: float, length: float) -> float:
    """A U section: all around, and both ends."""
    return (2.0 * web + 4.0 * flange - 2.0 * thickness) * length + 2.0 * thickness * (web + 2.0 * (flange - thickness))


def box_section(a: float, b: float, wall: float, length: float) -> float:
    """A rectangular tube: outside, inside and both rims."""
    inside_a, inside_b = a - 2.0 * wall, b - 2.0 * wall
    return 2.0 * (a + b + inside_a + inside_b) * length + 2.0 * (a * b - inside_a * inside_b)


def sheet_by_mass(thickness: float, mass_g: float, density_g_cm3: float) -> float:
    """Both faces of sheet parts of a mass, however they are cut or bent; edges are neglected. 2 m / (rho t)."""
    return 2.0 * (mass_g / density_g_cm3 * 1000.0) / thickness


def balls_by_mass(diameter: float, mass_g: float, density_g_cm3: float) -> float:
    """Balls of a mass. 6 m / (rho d)."""
    return 6.0 * (mass_g / density_g_cm3 * 1000.0) / diameter


def hole(diameter: float, thickness: float) -> float:
    """What a hole through a sheet adds (below zero: takes away): its wall, less the two discs."""
    return math.pi * diameter * thickness - 2.0 * disc(diameter)
