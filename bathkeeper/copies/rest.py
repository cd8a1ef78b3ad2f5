"""What was learned, the runs and the stock as tables."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from bathkeeper.accounts.shelf import shelf
from bathkeeper.copies.tables import Table
from bathkeeper.estimate.view import tank_view
from bathkeeper.runs.past import past_runs
from bathkeeper.workshop import Workshop


def learned_table(workshop: Workshop, at: datetime) -> Table:
    """Every parameter of every tank as believed now and as it was before any entry."""
    columns = {
        "tank": "the tank", "name": "the parameter", "title": "in words", "value": "as believed, in unit",
        "low": "low end of its 95 % interval", "high": "high end of its 95 % interval", "unit": "unit of the four numbers",
        "prior": "as it was before any entry", "prior_low": "low end then", "prior_high": "high end then",
        "assumed": "true: the entries did not tell; it is only assumed",
        "status": "standing of the prior: seen, derived, memory or practice",
        "source": "source of the prior",
    }  # fmt: skip
    rows: list[dict[str, Any]] = []
    world = workshop.at(at)
    for state in world.tanks.values():
        view = tank_view(state, world.catalogue.metals)
        for name, one in {**view.learned, **view.instruments}.items():
            rows.append({
                "tank": view.tank, "name": name, "title": one.title, "value": one.value, "low": one.low, "high": one.high,
                "unit": one.unit, "prior": one.prior.get("value"), "prior_low": one.prior.get("low"),
                "prior_high": one.prior.get("high"), "assumed": one.assumed, "status": one.status, "source": one.source,
            })  # fmt: skip
    return Table(columns, rows, "What the entries have taught about each bath and instrument.")


def runs_table(workshop: Workshop, at: datetime) -> Table:
    """Every run in force with what became of it, oldest first."""
    columns = {
        "id": "the run's entry", "at": "when, RFC 3339", "title": "the parts", "tank": "where it was plated",
        "tanks": "all tanks that it went through", "area_dm2": "area of the load, dm2", "charge_ah": "charge in that tank, Ah",
        "minutes": "time in that tank, min", "current_a": "mean current, A", "density_a_dm2": "mean current density, A/dm2",
        "temperature_c": "bath, degC",
        "result": "as said", "good": "true, false, or empty while nobody said", "defect": "defect",
        "rejects": "pieces refused", "thickness_um": "measured, um", "deposit_g": "weighed, g", "ph": "last pH read",
        "age_days": "of the bath, days",
    }  # fmt: skip
    rows = []
    for run in reversed(past_runs(workshop.entries(at=at), workshop.at(at))):
        row = {name: getattr(run, name) for name in columns}
        rows.append({**row, "tanks": " > ".join(run.tanks)})
    return Table(columns, rows, "Every run in force, oldest first.")


def stock_table(workshop: Workshop, at: datetime) -> Table:
    """The shelf: what is believed to be there, and the totals that it comes from."""
    columns = {
        "name": "the thing", "title": "in words", "what": "reagent, anode or titrant",
        "amount": "on the shelf, in unit; empty where nobody knows",
        "low": "low end of its 95 % interval, in unit", "high": "high end, in unit", "unit": "g or mL",
        "bought": "in all, in unit",
        "used": "in all, in unit", "discarded": "in all, in unit", "price_per_unit": "of what is used next, currency per unit",
    }  # fmt: skip
    rows: list[dict[str, Any]] = []
    for one in shelf(workshop.entries(at=at)[::-1], workshop.at(at).catalogue, at).values():
        amount = one.amount
        rows.append({
            "name": one.name, "title": one.title, "what": one.what, "amount": amount.value if amount else None,
            "low": amount.low if amount else None, "high": amount.high if amount else None, "unit": one.unit,
            "bought": one.bought, "used": one.used, "discarded": one.discarded, "price_per_unit": one.price_per_unit,
        })  # fmt: skip
    return Table(columns, rows, "What is on the shelf.")
