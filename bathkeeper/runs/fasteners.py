"""Areas of fasteners by size and kind, from the catalogue's dimensions; every surface, threads by the basic profile."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import msgspec

from bathkeeper.runs import geometry

Triple = tuple[float, float, float]
Four = tuple[float, float, float, float]


class Size(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One size, mm. ``pitch`` of the coarse metric thread, or ``unc`` and ``unf`` threads an inch; the rest as the head of each
    file says. What a size does not have, it is not made in (or not on record)."""

    diameter: float
    pitch: float | None = None
    unc: int | None = None
    unf: int | None = None
    head: tuple[float, float] | None = None
    threaded: tuple[float, ...] = ()
    nut: tuple[float, float] | None = None
    lock_nut: Triple | None = None
    washer: Triple | None = None
    cap: Four | None = None
    grub: tuple[float, float] | None = None
    flange_bolt: Four | None = None
    flange_nut: Four | None = None
    countersunk: Triple | None = None

    @property
    def coarse_mm(self) -> float:
        """Pitch of the coarse (UNC) thread."""
        return self.pitch if self.pitch is not None else 25.4 / (self.unc or 1)

    @property
    def fine_mm(self) -> float | None:
        """Pitch of the one fine thread that an inch size has (UNF)."""
        return 25.4 / self.unf if self.unf else None

    def least_threaded_mm(self, length: float) -> float | None:
        """Threaded length of a partly threaded hexagon bolt so long; None where the table has none.

        Inch bolts over 6 in have a quarter inch more (ASME B18.2.1, memory).
        """
        if self.unc is not None:
            return self.threaded[0] + (6.35 if length > 152.4 else 0.0) if self.threaded else None
        place = 0 if length <= 125 else 1 if length <= 200 else 2
        return self.threaded[place] if place < len(self.threaded) else None

    def least_threaded_cap_mm(self) -> float:
        """The same of a socket head cap screw: 2 d + 12 mm (ISO 4762), 2 d + 1/2 in (ASME B18.3, memory)."""
        return 2.0 * self.diameter + (12.0 if self.unc is None else 12.7)

    @property
    def cone_slope(self) -> float:
        """Height of a countersunk head by its radius: cones of 90 degrees, inch ones of 82 (memory)."""
        return 1.0 if self.unc is None else 1.0 / math.tan(math.radians(41.0))


class FastenerTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One file of sizes."""

    status: str
    source: str
    thread: str
    size: dict[str, Size]


@lru_cache(maxsize=2)
def table(system: str) -> FastenerTable:
    """``metric`` or ``inch``."""
    text = (files("bathkeeper.catalogue") / "fasteners" / f"{system}.toml").read_text(encoding="utf-8")
    return msgspec.convert(tomllib.loads(text), FastenerTable)


@dataclass(frozen=True)
class Kind:
    """A kind of fastener: what it is called in full, the field of :class:`Size` that it needs, whether it has a length, and
    which surfaces are counted."""

    title: str
    field: str
    has_length: bool
    counted: str
    area_mm2: Callable[[Size, float, float, float], float]
    threaded: bool = True


def _bolt(size: Size, pitch: float, length: float, threaded: float) -> float:
    assert size.head is not None
    return geometry.hex_head(size.diameter, *size.head) + geometry.shank(size.diameter, pitch, length, threaded)


def _flange_bolt(size: Size, pitch: float, length: float, threaded: float) -> float:
    """The flange is taken as a disc with its rim; the hexagon stands on it."""
    assert size.flange_bolt is not None
    flats, flange, rim, height = size.flange_bolt
    head = geometry.cylinder(flange, rim) - geometry.disc(size.diameter) + 2.0 * geometry.ROOT3 * flats * (height - rim)
    return head + geometry.shank(size.diameter, pitch, length, threaded)


def _cap(size: Size, pitch: float, length: float, threaded: float) -> float:
    assert size.cap is not None
    diameter, height, flats, depth = size.cap
    head = geometry.cylinder(diameter, height) - geometry.disc(size.diameter) + geometry.socket(flats, depth)
    return head + geometry.shank(size.diameter, pitch, length, threaded)


def _countersunk(size: Size, pitch: float, length: float, threaded: float) -> float:
    """``length`` is over all; the head is the cone down to the shank."""
    assert size.countersunk is not None
    diameter, flats, depth = size.countersunk
    height = (diameter - size.diameter) / 2.0 * size.cone_slope
    head = geometry.disc(diameter) + geometry.frustum(diameter, size.diameter, height) + geometry.socket(flats, depth)
    shank = max(length - height, 0.0)
    return head + geometry.shank(size.diameter, pitch, shank, min(threaded, shank))


def _grub(size: Size, pitch: float, length: float, threaded: float) -> float:
    assert size.grub is not None
    return geometry.threaded_rod(size.diameter, pitch, length) + geometry.socket(*size.grub)


def _rod(size: Size, pitch: float, length: float, threaded: float) -> float:
    return geometry.threaded_rod(size.diameter, pitch, length)


def _nut(size: Size, pitch: float, length: float, threaded: float) -> float:
    assert size.nut is not None
    flats, height = size.nut
    outside = 2.0 * geometry.hexagon(flats) + 2.0 * geometry.ROOT3 * flats * height - 2.0 * geometry.disc(size.diameter)
    return outside + _inside(size, pitch, height)


def _lock_nut(size: Size, pitch: float, length: float, threaded: float) -> float:
    """The hexagon with its thread, and outside the collar that holds the nylon ring (the ring itself takes no plate)."""
    assert size.lock_nut is not None
    flats, height, hexagon_height = size.lock_nut
    outside = 2.0 * geometry.hexagon(flats) + 2.0 * geometry.ROOT3 * flats * hexagon_height - 2.0 * geometry.disc(size.diameter)
    return outside + math.pi * 0.9 * flats * (height - hexagon_height) + _inside(size, pitch, hexagon_height)


def _flange_nut(size: Size, pitch: float, length: float, threaded: float) -> float:
    assert size.flange_nut is not None
    flats, flange, rim, height = size.flange_nut
    outside = geometry.cylinder(flange, rim) - 2.0 * geometry.disc(size.diameter)
    return outside + 2.0 * geometry.ROOT3 * flats * (height - rim) + _inside(size, pitch, height)


def _inside(size: Size, pitch: float, height: float) -> float:
    return math.pi * size.diameter * height * geometry.thread_factor(size.diameter, pitch)


def _washer(size: Size, pitch: float, length: float, threaded: float) -> float:
    assert size.washer is not None
    hole, outside, thickness = size.washer
    return geometry.tube(outside, (outside - hole) / 2.0, thickness)


KINDS: Mapping[str, Kind] = {
    "bolt": Kind("hex bolt", "head", True, "head all around, shank and thread", _bolt),
    "flange bolt": Kind("flange bolt", "flange_bolt", True, "head, flange, shank and thread", _flange_bolt),
    "cap": Kind("socket head cap screw", "cap", True, "head with socket, shank and thread", _cap),
    "countersunk": Kind("countersunk socket screw", "countersunk", True, "head with socket, thread", _countersunk),
    "grub": Kind("set screw", "grub", True, "thread, ends and socket", _grub),
    "rod": Kind("threaded rod", "diameter", True, "thread and ends", _rod),
    "nut": Kind("hex nut", "nut", False, "outside, faces and the thread inside", _nut),
    "lock nut": Kind("lock nut", "lock_nut", False, "outside, collar and the thread inside, not the nylon", _lock_nut),
    "flange nut": Kind("flange nut", "flange_nut", False, "outside, flange and the thread inside", _flange_nut),
    "washer": Kind("plain washer", "washer", False, "both faces and both rims", _washer, threaded=False),
}

WORDS: Mapping[str, str] = {
    "bolt": "bolt", "screw": "bolt", "hex bolt": "bolt", "hex screw": "bolt", "hexagon bolt": "bolt", "hexagon screw": "bolt",
    "hex head bolt": "bolt", "hex head screw": "bolt", "hex cap screw": "bolt", "hex set bolt": "bolt", "machine screw": "bolt",
    "hexagon head bolt": "bolt", "hexagon head screw": "bolt", "tap bolt": "bolt", "hex tap bolt": "bolt",
    "flange bolt": "flange bolt", "flanged bolt": "flange bolt", "hex flange bolt": "flange bolt",
    "flange screw": "flange bolt", "flanged hex bolt": "flange bolt", "hex flange screw": "flange bolt",
    "flange head bolt": "flange bolt", "flange hex bolt": "flange bolt",
    "socket head cap screw": "cap", "socket cap screw": "cap", "socket screw": "cap", "cap screw": "cap",
    "socket head screw": "cap", "socket head": "cap", "socket bolt": "cap", "allen bolt": "cap", "allen screw": "cap",
    "countersunk screw": "countersunk", "countersunk bolt": "countersunk", "flat head socket screw": "countersunk",
    "countersunk socket screw": "countersunk", "flat head screw": "countersunk", "csk screw": "countersunk",
    "countersunk socket head screw": "countersunk",
    "set screw": "grub", "setscrew": "grub", "grub screw": "grub", "socket set screw": "grub", "grub": "grub",
    "threaded rod": "rod", "stud": "rod", "studding": "rod", "stud bolt": "rod", "all thread": "rod", "allthread": "rod",
    "threaded bar": "rod",
    "nut": "nut", "hex nut": "nut", "hexagon nut": "nut", "full nut": "nut", "plain nut": "nut",
    "lock nut": "lock nut", "locknut": "lock nut", "nyloc nut": "lock nut", "nylon nut": "lock nut", "stop nut": "lock nut",
    "flange nut": "flange nut", "flanged nut": "flange nut", "hex flange nut": "flange nut", "flanged hex nut": "flange nut",
    "washer": "washer", "plain washer": "washer", "flat washer": "washer",
}  # fmt: skip
"""What a kind is called -> its name in :data:`KINDS`."""
