"""A short way to write small books."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import AnyEntry, parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.view import TankView, tank_view
from bathkeeper.estimate.world import World

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


class Telling:
    """Entries with a running clock; ``day`` moves it to that day of the story."""

    def __init__(self) -> None:
        self.entries: list[AnyEntry] = []
        self.moment = START

    def day(self, number: float) -> Telling:
        self.moment = START + timedelta(days=number)
        return self

    def log(self, kind: str, **fields: Any) -> str:
        """Adds an entry a minute after the last one and returns its id."""
        self.moment += timedelta(minutes=1)
        id = f"story-{len(self.entries):05d}"
        self.entries.append(parse({"kind": kind, "id": id, "at": self.moment, **fields}))
        return id

    def tank(self, tank: str, role: str, order: int, recipe: str | None, volume_l: float, **fields: Any) -> None:
        self.log("tank", tank=tank, role=role, order=order, recipe=recipe, working_volume_l=volume_l, **fields)

    def read(self, tank: str, unit: str = "g/L", method: str | None = None, lot: str | None = None, **values: float) -> str:
        extra = {k: v for k, v in (("method", method), ("lot", lot)) if v is not None}
        return self.log(
            "reading",
            tank=tank,
            values=[{"of": n.replace("_", " "), "value": v, "unit": unit, **extra} for n, v in values.items()],
        )

    def add(self, tank: str, reagent: str, amount: float, unit: str = "g") -> str:
        return self.log("addition", tank=tank, items=[{"reagent": reagent, "amount": amount, "unit": unit}])

    def world(self) -> World:
        ordered = sorted(self.entries, key=lambda e: e.order)
        return at_moment(Fold(load()).take(ordered), self.moment)

    def state(self, tank: str) -> TankState:
        return self.world().tanks[tank]

    def view(self, tank: str) -> TankView:
        return tank_view(self.state(tank), load().metals)
