"""What a test of the pH takes back: a liquid that was acid or alkaline by what went in, and by its last test is neither."""

from __future__ import annotations

from typing import Literal

from bathkeeper.units.numerals import figures
from bathkeeper.waste.stream import Stream

Side = Literal["acid", "alkali"]
NEITHER = (4.0, 10.0)
"""pH between which a liquid counts neither as acid nor as alkali here, by the middle of the test [practice]."""
SETS_FREE_BELOW = 7.0
"""pH below which even what is hardly acid may drive a poisonous gas out of cyanide, sulfide or hypochlorite [practice]."""


def no_longer(stream: Stream) -> tuple[Side, ...]:
    """What it is not by its last test, which came after all that was put in and done. Nothing where that is not known."""
    if stream.ph is None or not stream.ph_stands or not NEITHER[0] <= stream.ph.value <= NEITHER[1]:
        return ()
    return ("acid", "alkali")


def taken_back(stream: Stream, side: Side) -> str:
    """The clause about a waste that was acid (or alkali) by what went in; empty where the last test does not say otherwise."""
    if stream.ph is None or side not in no_longer(stream):
        return ""
    word = "acid" if side == "acid" else "alkaline"
    return (
        f"by what went in it was {word}, by its last test (pH {figures(stream.ph.value, stream.ph.spread)}) it is not: tell "
        "whoever takes it both"
    )
