"""Laws that the simulated workshop itself must obey before anything is judged by it."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from bathkeeper.entries import parse
from tests.truth import constants as k
from tests.truth.electrolyte import START, simulate
from tests.truth.zinc_nickel import Hidden, TrueAnode, ZincNickelBath, draw_hidden

SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_entries_parse_in_strictly_rising_time(seed: int) -> None:
    book = simulate(seed)
    entries = [parse(raw) for raw in book.entries]
    moments = [e.at for e in entries]
    assert all(a < b for a, b in pairwise(moments))
    assert moments[0] == START
    assert len({e.id for e in entries}) == len(entries)
    runs = [e for e in book.entries if e["kind"] == "run"]
    assert 60 <= len(runs) <= 105  # 45 % of 182 days, give or take 3.5 standard deviations


def test_the_same_seed_gives_the_same_book() -> None:
    one, again, other = simulate(5), simulate(5), simulate(6)
    assert one.entries == again.entries
    assert one.truth == again.truth
    assert one.analyses == again.analyses
    assert other.truth["parameters"] != one.truth["parameters"]
    assert not {e["id"] for e in one.entries} & {e["id"] for e in other.entries}


@pytest.mark.parametrize("seed", SEEDS)
def test_metals_are_conserved(seed: int) -> None:
    """Opening + lost by anodes + salts - deposit - cemented - drag-out - samples - bailed out = closing.

    The anodes' loss comes from their masses and the deposit from the charge as read off the supply, not from the ledger.
    """
    book = simulate(seed, current_scatter=0.0, weighing_sd=0.0, scale_sd_g=0.0)
    ledger, hidden = book.truth["ledger"], book.truth["parameters"]
    first, last = book.truth["series"][0][1], book.truth["series"][-1][1]
    hung = {e["anode"]: e["mass_g"] for e in book.entries if e["kind"] == "anode" and e["action"] == "hung" and "mass_g" in e}
    salts = {"zinc": 0.0, "nickel": 0.0}
    for entry in (e for e in book.entries if e["kind"] == "addition"):
        for item in entry["items"]:
            for metal in salts:
                salts[metal] += item["amount"] * k.BRINGS_G_G.get(item["reagent"], {}).get(metal, 0.0)
    for metal in ("zinc", "nickel"):
        lost = sum(mass - last["anodes"][name] for name, mass in hung.items() if name.startswith(metal))
        out = sum(ledger[metal].get(account, 0.0) for account in ("deposit", "cemented", "drag-out", "samples", "bailed out"))
        assert last[f"{metal}_g"] == pytest.approx(first[f"{metal}_g"] + lost + salts[metal] + out, abs=1e-6)

    steps = [e["steps"][0] for e in book.entries if e["kind"] == "run"]
    read_ah = sum(s["charge"]["current_a"] * s["minutes"] / 60 for s in steps)
    true_ah = read_ah * book.truth["biases"]["supply_gain"]
    deposited_mol = -ledger["zinc"]["deposit"] / k.ZINC - ledger["nickel"]["deposit"] / k.NICKEL
    assert 2 * deposited_mol == pytest.approx(hidden["cathode_efficiency"] * true_ah * 3600 / k.FARADAY_C_MOL, rel=1e-9)


def test_litres_are_conserved() -> None:
    book = simulate(3)
    assert book.truth["series"][-1][1]["volume_l"] == pytest.approx(sum(book.truth["ledger"]["litres"].values()), abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_bath_stays_in_a_sane_range(seed: int) -> None:
    for _, state in simulate(seed).truth["series"]:
        if state["volume_l"] == 0:
            continue
        assert 33.0 < state["volume_l"] < 41.5
        assert 27.0 < state["zinc_g"] / state["volume_l"] < 49.0
        assert 19.0 < state["nickel_g"] / state["volume_l"] < 29.0
        assert 88.0 < state["potassium_g"] / state["volume_l"] < 130.0
        assert 5.0 < state["ph"] < 6.4
        assert all(mass > 500 for mass in state["anodes"].values())


def test_analyses_are_the_truth_with_the_lots_error() -> None:
    """Over many workshops the scatter of read/true is that of lot and titration together."""
    ratios = []
    for seed in range(30):
        book = simulate(seed)
        for entry_id, at, zinc, nickel, read_zinc, read_nickel in book.analyses:
            state = book.true_at(at)
            assert state["zinc_g"] / state["volume_l"] == pytest.approx(zinc, rel=1e-12)
            assert state["nickel_g"] / state["volume_l"] == pytest.approx(nickel, rel=1e-12)
            entry = next(e for e in book.entries if e["id"] == entry_id)
            assert [v["value"] for v in entry["values"]] == [read_zinc, read_nickel]
            ratios += [read_zinc / zinc, read_nickel / nickel]
    assert np.std(ratios) == pytest.approx((0.01**2 + 0.007**2) ** 0.5, rel=0.25)
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.004)


def test_the_state_before_an_addition_does_not_hold_it_yet() -> None:
    book = simulate(2)
    salt = next(e for e in book.entries if e["kind"] == "addition" and e["items"][0]["reagent"] == "potassium chloride")
    at = datetime.fromisoformat(salt["at"])
    before, after = book.true_at(at), book.true_at(at + timedelta(seconds=1))
    grams = salt["items"][0]["amount"] * k.POTASSIUM / k.POTASSIUM_CHLORIDE
    assert after["potassium_g"] - before["potassium_g"] == pytest.approx(grams, rel=0.05)
    with pytest.raises(ValueError, match="nothing is known before"):
        book.true_at(START - timedelta(days=1))


def test_an_override_holds_and_an_unknown_one_is_refused() -> None:
    book = simulate(1, idle_zinc=0.0, supply_gain=1.05)
    assert book.truth["parameters"]["idle_zinc"] == 0.0
    assert book.truth["biases"]["supply_gain"] == 1.05
    assert book.truth["ledger"]["nickel"].get("cemented", 0.0) == 0.0
    with pytest.raises(TypeError, match="cannot override colour"):
        simulate(1, colour="green")


def test_half_the_seeds_lift_their_zinc() -> None:
    lifted = [simulate(seed, days=1).truth["lifts_zinc"] for seed in range(40)]
    assert 10 <= sum(lifted) <= 30


def _exact(**changes: float) -> Hidden:
    """A workshop without scatter: 93 %, 13 % nickel, 3 % nickel share, no idle loss, no evaporation, 1.5 mL/dm2."""
    drawn = draw_hidden(np.random.default_rng(0))
    plain = {
        "cathode_efficiency": 0.93, "deposit_nickel": 0.13, "ratio_exponent": 0.7, "per_degree": 0.0, "density_exponent": 0.0,
        "anode_share_nickel": 0.03, "share_walk": 0.0, "anode_efficiency_zinc": 1.0, "anode_efficiency_nickel": 1.0,
        "idle_zinc": 0.0, "idle_cemented": 0.0, "drag_out": 1.5, "drag_out_scatter": 0.0, "evaporation_cold": 0.0,
        "evaporation_hot": 0.0, "ph_slope": drawn.ph_slope,
    }  # fmt: skip
    return Hidden(**{**plain, **changes})


def _bath(hidden: Hidden) -> ZincNickelBath:
    bath = ZincNickelBath(hidden, START, 12.0, np.random.default_rng(0))
    bath.pour(40.0, {"zinc": 40 * 32.0, "nickel": 40 * 24.0}, "make-up")
    bath.anodes = {"zinc-1": TrueAnode("zinc", 4000.0, 5.0), "nickel-1": TrueAnode("nickel", 1500.0, 2.5)}
    return bath


def test_a_common_bus_worked_by_hand() -> None:
    """Thirteen weeks of six runs of 5 Ah on 4.3 dm2 from Zn 32, Ni 24 g/L.

    By hand: nickel anode loses 0.03 x 240 Ah x 1.0949 g/Ah = 7.9 g in 8 weeks; zinc and nickel then stand at 33.6 and 22.6 g/L
    after 390 Ah; acid used is (1 - 0.93) x 390 x 0.0373 mol.
    """
    bath = _bath(_exact())
    for run in range(78):
        bath.plate(current_a=20 / 3, minutes=45.0, area_dm2=4.3, temperature_c=35.0, heated_h=2.75)
        bath.drag(4.3)
        if run == 47:
            assert 1500 - bath.anodes["nickel-1"].mass_g == pytest.approx(7.88, abs=0.01)
    assert bath.charge_ah == pytest.approx(390.0)
    assert bath.volume_l == pytest.approx(40.0)
    assert bath.concentration_g_l("zinc") == pytest.approx(33.6, abs=0.1)
    assert bath.concentration_g_l("nickel") == pytest.approx(22.6, abs=0.1)
    assert bath.acid_used_mol == pytest.approx(0.07 * 390 * 3600 / 96485.33212, rel=1e-6)


def test_a_holiday_worked_by_hand() -> None:
    """Zinc of 5 dm2 hung for 28 days at 0.31 g/dm2.day loses 43.4 g: 1.33 mol of acid at 2 H+ each, less the cemented part."""
    bath = _bath(_exact(idle_zinc=0.31, idle_cemented=0.1, evaporation_cold=0.005))
    bath.rest_until(START + timedelta(days=28))
    assert 4000 - bath.anodes["zinc-1"].mass_g == pytest.approx(43.4, abs=0.01)
    assert bath.acid_used_mol == pytest.approx(0.9 * 1.3276, rel=1e-3)
    assert 40 * 24.0 - bath.grams["nickel"] == pytest.approx(0.1 * 43.4 * 58.693 / 65.38, rel=1e-6)
    assert bath.volume_l == pytest.approx(40 - 0.005 * 12 * 28)
