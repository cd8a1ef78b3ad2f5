"""Whether a coating of some thickness fits on a metric thread, by the table of ISO 4042."""

from __future__ import annotations

import math
import re
from typing import Literal

import msgspec

from bathkeeper.safety.loader import load
from bathkeeper.safety.schema import Clearance, SafetyError, Thread
from bathkeeper.units.numerals import figures, tidy

Position = Literal["g", "f", "e"]
POSITIONS = ("g", "f", "e")


class Fit(msgspec.Struct, frozen=True, kw_only=True):
    """``fits`` by the printed table, None where the table says nothing; ``largest_um``: its greatest nominal thickness;
    ``room_um``: what the rule behind it leaves by arithmetic (deviation over 4, 5 or 6)."""

    fits: bool | None
    largest_um: float | None
    room_um: float | None
    why: str
    source: str


def fit(thread: str, position: str, thickness_um: float, length_in_diameters: float = 5.0) -> Fit:
    """Whether a thickness fits on a bolt's thread before plating.

    A thickness t on both flanks of a 60 degree thread takes 4 t of its clearance; ISO 4042 asks for 5 t and 6 t on longer
    threads, where the plating varies more.

    Args:
        thread: ``M8``, or with its pitch ``M8x1`` (the deviation goes by the pitch alone).
        position: tolerance position of the uncoated thread: g (as in 6g, the usual one), f or e.
        thickness_um: coating thickness, um.
        length_in_diameters: threaded length over the diameter.

    Raises:
        SafetyError: a thread or position that the table does not have, or an impossible number.
    """
    for name, value in (("thickness", thickness_um), ("length", length_in_diameters)):
        if not (math.isfinite(value) and value > 0):
            raise SafetyError(f"{name} {value:g} cannot be; it is a number above 0")
    row = _row(thread)
    where = _position(position)
    if where not in row.deviation_um:
        have = ", ".join(row.deviation_um)
        raise SafetyError(f"the table has no position {where} for {row.name}; it has {have}")
    deviation = row.deviation_um[where]
    clearance = next((c for c in load().clearances if length_in_diameters <= c.up_to_diameters), None)
    if clearance is None:
        longest = load().clearances[-1].up_to_diameters
        return Fit(
            fits=None,
            largest_um=None,
            room_um=None,
            why=f"ISO 4042's table ends at {longest:g} diameters of length; {length_in_diameters:g} lies beyond.",
            source=f"{row.status}: {row.source}",
        )
    largest, printed = _largest(row, where, clearance)
    room = deviation / clearance.times
    return Fit(
        fits=thickness_um <= largest,
        largest_um=largest,
        room_um=room,
        why=_why(row, where, thickness_um, largest, printed, clearance),
        source="; ".join(dict.fromkeys(f"{t.status}: {t.source}" for t in (row, clearance))),
    )


def _row(text: str) -> Thread:
    threads = load().threads
    typed = re.fullmatch(r"\s*M\s*([0-9]+(?:[.,][0-9]+)?)(?:\s*[x×*]\s*([0-9]+(?:[.,][0-9]+)?))?\s*", text, re.IGNORECASE)
    known = f"{next(iter(threads))} to {list(threads)[-1]}"
    if not typed:
        raise SafetyError(f"`{text}` is no metric thread; write M8, or M8x1 for a fine one. The table has {known}")
    name = f"M{float(typed[1].replace(',', '.')):g}"
    coarse = threads.get(name)
    if typed[2] is None:
        if coarse is None:
            raise SafetyError(f"{name} is not in the table of coarse threads read here ({', '.join(threads)})")
        return coarse
    pitch = float(typed[2].replace(",", "."))
    if coarse is not None and coarse.pitch_mm == pitch:
        return coarse
    same = next((t for t in threads.values() if t.pitch_mm == pitch), None)
    if same is None:
        pitches = ", ".join(dict.fromkeys(f"{t.pitch_mm:g}" for t in threads.values()))
        raise SafetyError(f"{name}x{pitch:g}: {pitch:g} mm is not a pitch of the table; it has {pitches}")
    about = (
        f"By its pitch of {pitch:g} mm, as {same.name}: the deviation goes by the pitch (ISO 965, from memory). {same.about}"
    )
    return msgspec.structs.replace(same, name=f"{name}x{pitch:g}", about=about.strip(), status="derived")


def _position(text: str) -> Position:
    word = text.strip()
    word = word[1:] if len(word) == 2 and word[0].isdigit() else word
    match word:
        case "g" | "f" | "e":
            return word
        case "h":
            raise SafetyError("position h leaves no room for any coating; order the bolts as 6g, 6f or 6e")
    raise SafetyError(f"`{text}` is no position of a bolt's thread here; it is one of {', '.join(POSITIONS)} (6g is usual)")


def _largest(row: Thread, position: Position, clearance: Clearance) -> tuple[float, bool]:
    """(greatest nominal thickness in um, whether it is printed); f and e are printed for the local thickness only."""
    clearances = load().clearances
    number = clearances.index(clearance)
    if number == 0:
        return row.local_um[position], True
    if position == "g" and row.batch_um is not None:
        return row.batch_um[number], True
    return max((s for s in load().steps_um.um if s * clearance.times <= row.deviation_um[position]), default=0.0), False


def _why(row: Thread, position: Position, thickness: float, largest: float, printed: bool, clearance: Clearance) -> str:
    need = clearance.times * thickness
    deviation = row.deviation_um[position]
    compared = "at most" if need <= deviation else "more than"
    parts = [
        f"{tidy(thickness)} um takes {clearance.times:g} times as much, {figures(need)} um: {compared} the {deviation:g} um "
        f"that {row.name} has in position {position}, {clearance.name} long.",
        f"The greatest nominal thickness {'printed' if printed else 'by that rule'} is {largest:g} um.",
    ]
    if need <= deviation and thickness > largest:
        parts.append("By arithmetic there is room, but the table does not grant it: measure, or go down a step.")
    if thickness > largest:
        parts.append("Take a thinner coat, or order the bolts in a position with more room (6f, 6e).")
    if position == "g":
        parts.append("A plated nut of the usual 6H brings no room of its own: bolt and nut then share this.")
    return " ".join([*parts, row.about]).strip()
