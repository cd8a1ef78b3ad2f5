"""What the keeper of the sample book gets wrong in writing it down, and how some of it is mended."""

from __future__ import annotations

from copy import deepcopy
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from tests.truth.diary import Plain, made_up_id
from tests.truth.keeper import MINUTE, TANK

HOLIDAY = (date(2026, 8, 2), date(2026, 8, 22))  # first and last day away
ON_RETURN = "written on return: forgotten when closing up for the holiday"
DOUBTFUL_DAY = date(2026, 10, 2)
MISTYPED_LEVEL_DAY = date(2026, 7, 13)


def made(entries: list[Plain], seed: int) -> list[Plain]:
    """Puts in what the keeper got wrong: a level ten times too high, a run logged twice, a burette read double."""
    entries = deepcopy(entries)

    def on(day: date, kind: str, **fields: Any) -> Plain:
        return next(
            e for e in entries
            if e["kind"] == kind and e["at"].startswith(day.isoformat()) and all(e.get(n) == v for n, v in fields.items())
        )  # fmt: skip

    level = on(MISTYPED_LEVEL_DAY, "reading", tank=TANK)
    right = {n: v for n, v in deepcopy(level).items() if n not in ("id", "at")}
    level["values"][0]["value"] = round(level["values"][0]["value"] * 10, 1)
    level["typed"] = {"volume": f"{level['values'][0]['value']:g} L"}
    mended = datetime.combine(MISTYPED_LEVEL_DAY, time(20), UTC)
    entries.append(_correction(mended, level["id"], "typed without the point", seed, replacement=right))

    nickel = on(DOUBTFUL_DAY, "reading", tank=TANK)
    value = next(v for v in nickel["values"] if v["of"] == "nickel")
    value["value"] = round(value["value"] * 2.1, 1)

    first = next(e for e in entries if e["kind"] == "run" and e["at"] > "2026-06-20")
    again_at = datetime.fromisoformat(first["at"]) + timedelta(hours=4, minutes=7)
    again = {**deepcopy(first), "id": made_up_id(seed, 100_001, again_at), "at": again_at.isoformat()}
    entries.append(again)
    entries.append(_correction(again_at + timedelta(days=1), again["id"], "the same basket logged twice", seed, withdraw=True))

    written = datetime.combine(HOLIDAY[1] + timedelta(days=1), time(7, 35), UTC)
    for number, entry in enumerate(e for e in entries if e.get("note") == ON_RETURN):
        entry["id"] = made_up_id(seed, 300_000 + number, written + number * MINUTE / 4)
    return sorted(entries, key=lambda e: str(e["id"]))  # ids rise with the time of logging


def _correction(at: datetime, corrects: str, reason: str, seed: int, **fields: Any) -> Plain:
    entry_id = made_up_id(seed, int(at.timestamp()) % 1_000_000 + 200_000, at)
    told = {"corrects": corrects, "reason": reason}
    return {"id": entry_id, "at": at.isoformat(), "kind": "correction", **told, **fields}
