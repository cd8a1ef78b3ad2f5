"""Gathers what one event does to a tank, so that the Gaussian moves once and every gram is booked under its cause."""

from __future__ import annotations

from dataclasses import replace

from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.state import TankState, booked, settled


class Changes:
    """Changes of named amounts, each a function of the present state, with the cause that they are booked under."""

    def __init__(self, state: TankState) -> None:
        self.state = state
        self.by_name: dict[str, Dual] = {}
        self.booked: list[tuple[str, str, float]] = []

    def add(self, cause: str, name: str, amount: Dual) -> None:
        """Adds to a named amount; a name the tank does not track is booked as leaving the account at once."""
        if name not in self.state.gauss:
            return
        present = self.by_name.get(name)
        self.by_name[name] = amount if present is None else present + amount
        if name in ("volume", "acid") or name.startswith(("mass:", "anode:")):
            self.booked.append((cause, name, amount.value))

    def applied(self) -> TankState:
        """The state after all of them."""
        state = self.state
        by_cause: dict[str, dict[str, float]] = {}
        for cause, name, amount in self.booked:
            account = by_cause.setdefault(cause, {})
            account[name] = account.get(name, 0.0) + amount
        flows = state.flows
        for cause, account in by_cause.items():
            flows = booked(flows, cause, account)
        return settled(replace(state, gauss=state.gauss.moved(self.by_name), flows=flows))
