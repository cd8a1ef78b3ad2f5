"""Windows that matter at the bench, with the keeper's own limits over the recipe's.

A ``limit`` definition names them in ``of``: ``current density``, ``temperature``, ``worst spot``, ``anode density zinc``.
Species and ratios are moved by the catalogue itself; these are no species.
"""

from __future__ import annotations

import msgspec

from bathkeeper.catalogue.loader import Catalogue, plain_name
from bathkeeper.catalogue.own import EDGES, Limit, all_of
from bathkeeper.catalogue.schema import Window
from bathkeeper.estimate.state import TankState
from bathkeeper.runs.wish import SettingError


def window_here(state: TankState, catalogue: Catalogue, of: str, window: Window | None, unit: str) -> Window | None:
    """The window of ``of`` in a tank: the recipe's with the keeper's limits over it (those of the tank go last).

    Raises:
        SettingError: limit and recipe together make a window that does not rise; names the definition.
    """
    wanted = plain_name(of)
    limits = [(n, x) for n, x in all_of(catalogue.own, "limit", Limit).items() if not x.bands and plain_name(x.of) == wanted]
    for name, limit in sorted(limits, key=lambda pair: pair[1].tank is not None):
        here = limit.tank == state.name or (limit.tank is None and limit.recipe == state.entry.recipe)
        edges = {e: v for e in EDGES if (v := getattr(limit, e)) is not None}
        if not here or not edges:
            continue
        told = {"status": "practice", "source": f"keeper's own limit `{name}`"}
        try:
            base = {e: getattr(window, e) for e in EDGES} if window is not None else {}
            window = msgspec.convert({"unit": unit, **base, **edges, **told}, Window)
        except msgspec.ValidationError as problem:
            raise SettingError(f"limit `{name}` of {of}: {problem}; define its other edges too") from None
    return window
