"""The use cases of advice: plans, stock, forecast, anodes, causes, what is due and put off, the calendar."""

from __future__ import annotations

from bathkeeper.counsel.asking import Asking
from bathkeeper.counsel.shapes import KINDS, Accepted, CounselError, Offer, PlanKind, PutOff, Recheck, Ticked

__all__ = ["KINDS", "Accepted", "Counsel", "CounselError", "Offer", "PlanKind", "PutOff", "Recheck", "Ticked"]


class Counsel(Asking):
    """The counsel of one workshop: ``Counsel(workshop)``. Plans are in :mod:`bathkeeper.counsel.planning`, everything that is
    only asked in :mod:`bathkeeper.counsel.asking`."""
