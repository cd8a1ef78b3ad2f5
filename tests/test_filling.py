"""More out of a container than it holds, more into one than fits: asked about before it is written."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bathkeeper.answers.filling import filling_doubts
from bathkeeper.catalogue.loader import load
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import Fold
from bathkeeper.ids import new_id

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


def entry(kind: str, day: int, **fields):
    return parse({"kind": kind, "id": new_id(), "at": (START + timedelta(days=day)).isoformat(), **fields})


BOOK = [
    entry("tank", 0, tank="pickle", role="pickle", recipe="hydrochloric-pickle", working_volume_l=20.0),
    entry("make_up", 0, tank="pickle", volume_l=20.0),
    entry("container", 1, container="drum-1", action="opened", form="drum", size_l=30.0),
    entry("container", 1, container="drum-2", action="opened", form="drum", size_l=200.0),
    entry("removal", 2, tank="pickle", volume_l=15.0, to="drum-1"),
]


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        ("container", {"container": "drum-1", "action": "moved", "to": "drum-2", "volume_l": 500.0}, "more than drum-1 holds"),
        (
            "container",
            {"container": "drum-1", "action": "handed over", "to": "the depot", "volume_l": 40.0},
            "more than drum-1 holds",
        ),
        (
            "container",
            {"container": "drum-1", "action": "put in", "what": "other", "volume_l": 40.0},
            "drum-1, which takes 30 L",
        ),
        ("container", {"container": "drum-1", "action": "moved", "to": "drum-2", "volume_l": 5.0}, None),
        ("container", {"container": "drum-1", "action": "moved", "to": "drum-2", "all": True}, None),
        ("container", {"container": "drum-1", "action": "handed over", "to": "the depot", "volume_l": 15.5}, None),
        ("removal", {"tank": "pickle", "volume_l": 5.0, "to": "drum-1"}, None),
        ("removal", {"tank": "pickle", "volume_l": 18.0, "to": "drum-2"}, "more than pickle holds"),
        ("removal", {"tank": "pickle", "volume_l": 1.0, "to": "Drum-1"}, "beside drum-1"),
        ("removal", {"tank": "pickle", "volume_l": 1.0, "to": "drum-3"}, None),
        (
            "container",
            {"container": "nosuch", "action": "handed over", "all": True, "to": "x"},
            "no container was called nosuch",
        ),
        ("container", {"container": "drum-2", "action": "handed over", "all": True, "to": "x"}, "drum-2 is empty"),
        ("container", {"container": "drum-1", "action": "opened", "size_l": 99.0}, "on record with 30 L"),
        ("container", {"container": "drum-5", "action": "opened", "size_l": 99.0}, None),
        ("removal", {"tank": "pickle", "volume_l": 5.0, "to": "drum-2"}, None),
    ],
)
def test_what_cannot_be_there_or_does_not_fit_is_asked_about(kind: str, fields: dict, said: str | None) -> None:
    doubts = filling_doubts(entry(kind, 3, **fields), Fold(load()).take(BOOK))
    assert (said is None and doubts == []) or any(said in d for d in doubts), doubts
