"""A well-mixed vessel: litres, grams of each species, and a ledger of every gram that came or went."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

Film = tuple[float, dict[str, float]]  # litres of solution on wet parts, and the grams in it


class Vessel:
    """Litres of solution with grams (or mL of additives) in it.

    ``ledger[species][account]`` sums signed amounts, positive into the vessel; the species ``litres`` keeps the volume.
    """

    def __init__(self, volume_l: float = 0.0, grams: Mapping[str, float] | None = None) -> None:
        self.volume_l = 0.0
        self.grams: dict[str, float] = {}
        self.ledger: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
        if volume_l:
            self.pour(volume_l, grams or {}, "make-up")

    def concentration_g_l(self, species: str) -> float:
        return self.grams.get(species, 0.0) / self.volume_l if self.volume_l > 0 else 0.0

    def gain(self, species: str, grams: float, account: str) -> float:
        """Adds grams (takes them when negative, never more than are there); returns what really moved."""
        here = self.grams.get(species, 0.0)
        moved = max(grams, -here)
        self.grams[species] = here + moved
        self.ledger[species][account] += moved
        return moved

    def litres(self, volume_l: float, account: str) -> float:
        moved = max(volume_l, -self.volume_l)
        self.volume_l += moved
        self.ledger["litres"][account] += moved
        return moved

    def pour(self, volume_l: float, grams: Mapping[str, float], account: str) -> None:
        self.litres(volume_l, account)
        for species, amount in grams.items():
            self.gain(species, amount, account)

    def take(self, volume_l: float, account: str) -> Film:
        """Takes solution with everything in it; returns its litres and grams."""
        volume_l = min(volume_l, self.volume_l)
        part = volume_l / self.volume_l if self.volume_l > 0 else 0.0
        taken = {species: -self.gain(species, -amount * part, account) for species, amount in list(self.grams.items())}
        self.litres(-volume_l, account)
        return volume_l, taken
