"""What a keeper asks before switching on: area, current density, thickness or time; checked."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bathkeeper.entries import Part

THINNEST_UM, THICKEST_UM = 0.01, 5_000.0
LONGEST_MIN = 30 * 24 * 60.0


class SettingError(ValueError):
    """A setting that cannot be worked out; the message says what was wrong and what would be right."""


@dataclass(frozen=True)
class Wish:
    """What is known and what is wanted; whatever is left out is answered as far as the rest goes.

    Attributes:
        area_dm2: of the whole load; ``area_spread_dm2`` its 95 % half-width (None: the usual one of an area).
        density_a_dm2: wanted current density; None takes the target of the recipe's window. Or ``current_a``: the current that
            will be set, for the whole load.
        thickness_um: wanted, on average. minutes: how long.
        worst_spot: thinnest spot over average, above 0 and at most 1; None takes the default.
        supplies: current sources by name; ``bench-2=nickel`` says which anodes hang on it.
        parts: for threads and for steel that hydrogen can crack. thread_position: of the uncoated bolts (g, f, e).
        temperature_c: of the bath for this load, where it is known.
    """

    area_dm2: float | None = None
    area_spread_dm2: float | None = None
    density_a_dm2: float | None = None
    current_a: float | None = None
    thickness_um: float | None = None
    minutes: float | None = None
    worst_spot: float | None = None
    supplies: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    thread_position: str = "g"
    temperature_c: float | None = None

    def checked(self) -> Wish:
        """Itself.

        Raises:
            SettingError: a number that cannot be, or two that say the same thing twice.
        """
        _within("area", self.area_dm2, 0.0, 1e5, "dm2", "the area of the whole load, for example 4.3")
        _within("current density", self.density_a_dm2, 0.0, 200.0, "A/dm2", "for example 1.5")
        _within("current", self.current_a, 0.0, 1e5, "A", "for example 6.5")
        _within("thickness", self.thickness_um, THINNEST_UM, THICKEST_UM, "um", "for example 8")
        _within("time", self.minutes, 0.0, LONGEST_MIN, "min", "for example 45")
        spread = self.area_spread_dm2
        if spread is not None and not (math.isfinite(spread) and spread >= 0):
            raise SettingError(f"spread of the area: {spread:g} dm2 cannot be; it is 0 or more, for example 0.4")
        if spread is not None and self.area_dm2 is None:
            raise SettingError("a spread of the area was given, but no area; give both")
        if self.worst_spot is not None and not (math.isfinite(self.worst_spot) and 0 < self.worst_spot <= 1):
            raise SettingError(
                f"worst spot: {self.worst_spot:g} cannot be; it is the thinnest spot over the average, above 0 and at most 1, "
                "for example 0.5"
            )
        if self.density_a_dm2 is not None and self.current_a is not None:
            raise SettingError("give either the current density or the current, not both: with the area one follows")
        for supply in self.supplies:
            if not supply.partition("=")[0].strip():
                raise SettingError(f"supply `{supply}` has no name; write for example bench-2, or bench-2=nickel")
        names = [s.partition("=")[0].strip() for s in self.supplies]
        if len(set(names)) != len(names):
            raise SettingError("a supply is named twice; each has its own name")
        return self


def _within(what: str, value: float | None, low: float, high: float, unit: str, right: str) -> None:
    if value is None:
        return
    if not math.isfinite(value) or value <= 0:
        raise SettingError(f"{what}: {value:g} {unit} cannot be; it lies above 0, {right}")
    if not low <= value <= high:
        raise SettingError(f"{what}: {value:g} {unit} is beyond what is plated here ({low:g} to {high:g} {unit}); {right}")
