"""What the keeper of the sample book does with what was dumped: opens, labels, looks over, tests and hands over containers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from tests.truth.diary import Plain, made_up_id

FIRST_ID = 200_000  # ids of their own, so that no other entry of the book changes its own
DRUM, IBC = {"form": "drum", "size_l": 60.0}, {"form": "IBC", "size_l": 600.0}
SHED = {"place": "lean-to behind the shed, on trays"}
DIP, PICKLE, PASSIVATE, RINSE = ("11 01 06*",), ("11 01 05*",), ("11 01 98*",), ("11 01 11*",)
DESK = "Quayside waste desk"

WHAT: tuple[tuple[str, str, Plain], ...] = (
    ("2026-06-06T08:30", "drum-2", {"action": "opened", "form": "drum", "size_l": 205.0, **SHED}),
    ("2026-06-06T09:40", "drum-2", {"action": "labelled", "codes": DIP, "hazards": ("HP 8",), "note": "candidates only"}),
    ("2026-06-14T08:30", "tote-1", {"action": "opened", **IBC, **SHED}),
    ("2026-06-14T10:00", "tote-1", {"action": "labelled", "codes": RINSE, "note": "candidates only"}),
    ("2026-06-20T18:00", "rag-bin", {"action": "opened", "form": "drum", "size_l": 30.0, "place": "by the door"}),
    ("2026-06-20T18:02", "rag-bin", {"action": "put in", "what": "rags", "mass_kg": 0.6}),
    ("2026-06-24T10:00", "drum-3", {"action": "opened", **DRUM, **SHED}),
    ("2026-06-24T10:02", "drum-3", {"action": "labelled", "codes": RINSE, "note": "nickel: keep for top-ups or hand over"}),
    ("2026-07-25T18:00", "rag-bin", {"action": "put in", "what": "filters", "mass_kg": 0.4, "tank": "electrolyte"}),
    ("2026-09-15T18:00", "drum-1", {"action": "opened", **DRUM, **SHED}),
    ("2026-09-15T18:02", "drum-1", {"action": "labelled", "codes": PICKLE, "hazards": ("HP 8",), "note": "candidates only"}),
    ("2026-09-17T18:00", "drum-1", {"action": "tested", "values": ({"of": "ph", "value": 1.0, "unit": "pH", "spread": 0.5},)}),
    ("2026-09-21T18:00", "drum-4", {"action": "opened", **DRUM, **SHED}),
    ("2026-09-21T18:02", "drum-4", {"action": "labelled", "codes": PASSIVATE, "note": "candidates only"}),
    ("2026-09-21T18:04", "drum-4", {"action": "tested", "values": ({"of": "ph", "value": 3.0, "unit": "pH", "spread": 0.5},)}),
    ("2026-10-08T17:00", "rag-bin", {"action": "put in", "what": "empty packaging", "pieces": 2}),
    ("2026-10-09T09:00", "drum-4", {
        "action": "handed over", "all": True, "mass_kg": 20.6, "to": DESK, "reference": "LS-2026-01", "codes": PASSIVATE,
        "papers": {"weighed": True, "carrier": "own car, one visit booked", "destination": DESK},
    }),
    ("2026-10-16T18:00", "drum-4", {"action": "handed over", "reference": "LS-2026-01", "receipt": "QWD 4471"}),
)  # fmt: skip
CHECKED = ("drum-1", "drum-2", "drum-3", "tote-1")


def kept(entries: list[Plain], seed: int) -> list[Plain]:
    """The entries with those of the containers, the local allowance and where the workshop is, among them."""
    made: list[tuple[str, Plain]] = [
        ("2026-05-25T20:00", {
            "kind": "definition", "of": "waste limit", "name": "quayside allowance",
            "body": {
                "what": "allowance", "volume_l": 20.0, "per_days": 30.0, "authority": DESK,
                "reference": "told at the desk: residents, one booked visit a month",
            },
        }),
    ]  # fmt: skip
    made += [(at, {"kind": "container", "container": name, **fields}) for at, name, fields in WHAT]
    day = datetime(2026, 7, 1, 18, tzinfo=UTC)
    while day < datetime(2026, 11, 24, tzinfo=UTC):
        if not datetime(2026, 8, 2, tzinfo=UTC) <= day <= datetime(2026, 8, 22, tzinfo=UTC):
            for number, name in enumerate(CHECKED):
                if any(w[1] == name and w[0] < day.isoformat()[:16] for w in WHAT):
                    tray = name != "tote-1" or day > datetime(2026, 10, 1, tzinfo=UTC)
                    look = {"action": "checked", "lid": True, "label": True, "tray": tray, "sound": True}
                    at = (day + number * timedelta(minutes=2)).isoformat()[:16]
                    made.append((at, {"kind": "container", "container": name, **look}))
        day += timedelta(days=14)
    found = []
    for number, (moment, fields) in enumerate(sorted(made, key=lambda m: m[0])):
        at = datetime.fromisoformat(moment).replace(tzinfo=UTC)
        found.append({"id": made_up_id(seed, FIRST_ID + number, at), "at": at.isoformat(), **fields})
    book: list[Plain] = [{**entries[0], "country": "England"}]
    for entry in entries[1:]:  # the others stay in the order in which they were written
        while found and found[0]["id"] < entry["id"]:
            book.append(found.pop(0))
        book.append(entry)
    return [*book, *found]
