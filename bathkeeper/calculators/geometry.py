"""Areas of plain bodies and of metric fasteners, in mm2 from mm: every surface that the solution wets."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files

import msgspec

ROOT3 = math.sqrt(3.0)


class Fastener(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One size of ``fasteners.toml``, mm. ``head``: across flats, height; ``washer``: hole, outside, thickness; ``cap``: head
    diameter, socket across flats, socket depth; ``threaded``: of ISO 4014 up to 125 mm, to 200, above."""

    pitch: float
    head: tuple[float, float]
    nut: float
    washer: tuple[float, float, float]
    cap: tuple[float, float, float]
    threaded: tuple[float, ...] = ()


class FastenerTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The whole file."""

    status: str
    source: str
    size: dict[str, Fastener]


@lru_cache(maxsize=1)
def fasteners() -> FastenerTable:
    """The table that comes with the program."""
    text = (files("bathkeeper.calculators") / "fasteners.toml").read_text(encoding="utf-8")
    return msgspec.convert(tomllib.loads(text), FastenerTable)


def sizes() -> Mapping[str, Fastener]:
    return fasteners().size


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


def hex_bolt(diameter: float, fastener: Fastener, length: float, threaded: float) -> float:
    """Hexagon head, its underside around the shank, and the shank; ``length`` without the head."""
    flats, height = fastener.head
    head = 2.0 * hexagon(flats) + 2.0 * ROOT3 * flats * height - disc(diameter)
    return head + shank(diameter, fastener.pitch, length, threaded)


def cap_screw(diameter: float, fastener: Fastener, length: float, threaded: float) -> float:
    """Cylindrical head with a hexagon socket; head height is the thread's diameter."""
    head_diameter, socket, depth = fastener.cap
    head = cylinder(head_diameter, diameter) - disc(diameter) + 2.0 * ROOT3 * socket * depth
    return head + shank(diameter, fastener.pitch, length, threaded)


def threaded_rod(diameter: float, pitch: float, length: float) -> float:
    return math.pi * diameter * length * thread_factor(diameter, pitch) + 2.0 * disc(minor_diameter(diameter, pitch))


def hex_nut(diameter: float, fastener: Fastener) -> float:
    """Outside, both faces around the hole, and the thread inside."""
    flats = fastener.head[0]
    outside = 2.0 * hexagon(flats) + 2.0 * ROOT3 * flats * fastener.nut - 2.0 * disc(diameter)
    return outside + math.pi * diameter * fastener.nut * thread_factor(diameter, fastener.pitch)


def washer(fastener: Fastener) -> float:
    hole, outside, thickness = fastener.washer
    return tube(outside, (outside - hole) / 2.0, thickness)
