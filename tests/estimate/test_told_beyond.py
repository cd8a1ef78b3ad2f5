"""What a paper says stands, whatever the book had there; and what travels with half of a drum into an empty one."""

from __future__ import annotations

import pytest

from bathkeeper.accounts.litres import litres
from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.fold import Fold
from bathkeeper.waste.allowing import taken
from bathkeeper.waste.by_test import no_longer
from bathkeeper.waste.streams import stream_of
from tests.test_filling import BOOK, entry


def world(*more):
    return Fold(load()).take([*BOOK, *more])


def test_litres_of_a_paper_beyond_what_was_there_are_more_than_the_entries_tell() -> None:
    gone = entry("container", 4, container="drum-1", action="handed over", to="desk", volume_l=18.0, reference="H-1")
    after = world(gone)
    (record,) = after.containers["drum-1"].handed
    account = litres(after)
    assert record.amounts["volume"][0] == pytest.approx(18.0) and taken([record])[0].litres == pytest.approx(18.0)
    assert account.handed_over_l == pytest.approx(18.0) and account.into_containers_l == pytest.approx(0.0)
    (arose,) = [a for a in account.arose if a.vessel == "drum-1"]
    assert arose.litres.value == pytest.approx(-3.0) and arose.litres.low < -3.0 < arose.litres.high
    there = account.in_tanks_l + account.in_containers_l
    total = there + account.evaporated_l + account.handed_over_l + account.unaccounted_l.value
    assert total == pytest.approx(account.put_in_l)


def test_half_of_a_drum_in_an_empty_one_is_what_it_was() -> None:
    lime = [{"reagent": "calcium hydroxide", "amount": 900.0, "unit": "g"}]
    done = entry("container", 4, container="drum-1", action="treated", treatment="neutralised", items=lime)
    tested = entry("container", 5, container="drum-1", action="tested", values=[{"of": "ph", "value": 8.0, "unit": "pH"}])
    half = entry("container", 6, container="drum-1", action="moved", to="drum-2", volume_l=6.0)
    after = world(done, tested, half)
    for name in ("drum-1", "drum-2"):
        stream = stream_of(after.containers[name])
        assert stream.ph is not None and stream.ph.value == 8.0 and stream.ph_stands, name
        assert stream.treated_with == ("calcium hydroxide",) and no_longer(stream) == ("acid", "alkali"), name
    later = world(done, tested, half, entry("removal", 7, tank="pickle", volume_l=1.0, to="drum-2"))
    assert not stream_of(later.containers["drum-2"]).ph_stands  # something came in since
