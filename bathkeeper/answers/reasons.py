"""Why a number holds: the entries that it rests on, its formula, the sources of its constants."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from bathkeeper.catalogue.schema import Recipe
from bathkeeper.entries import Addition, Anode, AnyEntry, MakeUp, Reading, Removal, Unknown, tanks_of
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Because


def why_content(
    view: TankView, recipe: Recipe | None, subject: str, entries: Iterable[AnyEntry | Unknown], moment: datetime
) -> tuple[str, Because]:
    """(what, because) of a species or ratio of a tank, from the entries in force up to a moment."""
    content = {**view.species, **view.ratios}[subject]
    made_up = [view.made_up] if view.made_up is not None else []
    touching = [
        e.id
        for e in entries
        if view.tank in tanks_of(e)
        and all(m <= e.at <= moment for m in made_up)
        and not isinstance(e, Unknown)
        and _is_about(e, subject)
    ]
    terms = ", ".join(
        f"{cause} {account[f'mass:{subject}']:+.3g}" for cause, account in view.flows.items() if f"mass:{subject}" in account
    )
    unit = "" if content.unit in ("fraction", "ratio") else f" {content.unit}"
    what = f"{content.title} in {view.tank}: {content.value:.4g}{unit} (95 %: {content.low:.4g} to {content.high:.4g})"
    sources = [f"window, {content.window_status}: {content.window_source or 'an editable default'}"]
    if recipe is not None:
        sources += [f"{p.title or n}, {p.status}: {p.source or 'an editable default'}" for n, p in recipe.parameters.items()]
    return what, Because(
        text=f"Moved since the make-up, in g (mL for additives): {terms}"
        if terms
        else "Follows from the species it is made of.",
        entries=tuple(touching),
        formula="content = make-up + additions + anodes dissolved - deposit - drag-out + drag-in +- wear, then each "
        "reading weighed by its spread (Kalman filter); concentration = content / volume",
        sources=tuple(sources),
    )


def why_learned(view: TankView, name: str) -> tuple[str, Because]:
    """(what, because) of a parameter: what was learned of it, or how it could be."""
    item = view.learned[name]
    what = f"{item.title} of {view.tank}: {item.value:.4g} {item.unit} (95 %: {item.low:.4g} to {item.high:.4g})"
    told = (
        "still assumed: " + item.experiment if item.assumed else f"learned: its spread is {item.told:.0%} of what it was before"
    )
    return what, Because(
        text=told,
        formula="posterior spread / prior spread; above 0.8 nothing worth naming was learned",
        sources=(f"prior {item.prior['value']:.4g}, {item.status}: {item.source or 'an editable default'}",),
    )


def _is_about(entry: AnyEntry, subject: str) -> bool:
    """Whether an entry says something of a species directly: its readings, doses and make-ups, not every run."""
    if isinstance(entry, Reading):
        return any(v.of.replace("_", " ") == subject for v in entry.values)
    if isinstance(entry, Anode):
        return entry.metal == subject or entry.anode.startswith(subject)
    return isinstance(entry, (MakeUp, Addition, Removal))
