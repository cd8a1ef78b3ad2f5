"""Laws that hold for any numbers: there and back, charge that adds up, mass that is kept."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.chemistry import additions, alloy, balance, baume, charge, faraday, hull, rinse, titration
from bathkeeper.chemistry.formulas import atoms, molar_mass
from bathkeeper.chemistry.solution_density_laliberte_2009 import density_from_g_l, density_g_cm3

MASSES = {"Zn": 65.38, "Ni": 58.6934}
ELECTRONS = {"Zn": 2, "Ni": 2}
some = st.floats(0.01, 1000)
part = st.floats(0.01, 0.99)


@given(um=some, area=some, per_ah=st.floats(0.3, 4.1), density=st.floats(1, 22), efficiency=st.floats(0.05, 1))
def test_thickness_there_and_back(um: float, area: float, per_ah: float, density: float, efficiency: float) -> None:
    ah = faraday.plating_charge_ah(um, area, per_ah, density, efficiency)
    assert faraday.plated_thickness_um(ah, area, per_ah, density, efficiency) == pytest.approx(um)
    minutes = faraday.plating_time_min(um, area, 3.0, per_ah, density, efficiency)
    assert charge.constant(3.0, minutes) == pytest.approx(ah)


@given(grams=some, efficiency=st.floats(0.05, 1), electrons=st.integers(1, 6))
def test_mass_there_and_back(grams: float, efficiency: float, electrons: int) -> None:
    ah = faraday.charge_ah(grams, 63.546, electrons, efficiency)
    assert faraday.mass_g(ah, 63.546, electrons, efficiency) == pytest.approx(grams)


@given(degrees=st.floats(0, 70), modulus=st.floats(141, 149))
def test_baume_there_and_back(degrees: float, modulus: float) -> None:
    assert baume.baume_from_sg(baume.sg_from_baume(degrees, modulus), modulus) == pytest.approx(degrees, abs=1e-9)


@given(ratio=st.floats(1, 1e6), stages=st.integers(1, 5), dragout=some)
def test_counterflow_there_and_back(ratio: float, stages: int, dragout: float) -> None:
    assert rinse.counterflow_ratio(dragout, rinse.counterflow_water(ratio, stages, dragout), stages) == pytest.approx(ratio)


@given(amps=st.floats(0.5, 5), cm=st.floats(0.64, 8.25))
def test_hull_there_and_back(amps: float, cm: float) -> None:
    assert hull.distance_cm(amps, hull.current_density_a_dm2(amps, cm)) == pytest.approx(cm)


@given(g_l=some, sample=st.floats(0.1, 50), molar=st.floats(0.01, 2))
def test_titre_there_and_back(g_l: float, sample: float, molar: float) -> None:
    titre = titration.titre_ml(g_l, sample, molar, 65.38)
    assert titration.concentration_g_l(titre, sample, molar, 65.38) == pytest.approx(g_l)


@given(a=st.floats(0, 500), b=st.floats(0, 500))
def test_mass_by_charge_is_additive(a: float, b: float) -> None:
    whole = faraday.mass_g(a + b, 65.38, 2, 0.93)
    assert faraday.mass_g(a, 65.38, 2, 0.93) + faraday.mass_g(b, 65.38, 2, 0.93) == pytest.approx(whole)


@given(
    steps=st.lists(st.floats(0, 100), min_size=3, max_size=40),
    currents=st.lists(st.floats(-20, 20), min_size=41, max_size=41),
    cut=st.integers(1, 38),
    bound=st.floats(1, 100),
)
def test_a_trace_cut_in_two_holds_the_same_charge(steps: list[float], currents: list[float], cut: int, bound: float) -> None:
    times = np.concatenate([[0.0], np.cumsum(steps)])
    amps = np.array(currents[: times.size])
    cut = min(cut, times.size - 2)
    whole = charge.trapezoid(times, amps, bound)
    first, second = charge.trapezoid(times[: cut + 1], amps[: cut + 1], bound), charge.trapezoid(times[cut:], amps[cut:], bound)
    assert first.charge_ah + second.charge_ah == pytest.approx(whole.charge_ah, abs=1e-9)
    assert first.bridged_ah + second.bridged_ah == pytest.approx(whole.bridged_ah, abs=1e-9)
    assert first.gap_s + second.gap_s == pytest.approx(whole.gap_s, abs=1e-9)
    assert whole.gap_s + whole.logged_s == pytest.approx(float(times[-1]))
    # what is left out and what is counted are together the plain trapezoid sum
    assert whole.charge_ah + whole.bridged_ah == pytest.approx(float(np.trapezoid(amps, times)) / 3600, abs=1e-9)


@given(
    w=part, share=st.floats(-0.3, 1.3), cathode=st.floats(0.05, 1), anode=st.floats(0.05, 1.1), ah=st.floats(0, 1e4),
    dragout=st.floats(0, 0.01), zn=st.floats(0, 60), ni=st.floats(0, 120),
)  # fmt: skip
def test_metals_and_electrons_are_kept(
    w: float, share: float, cathode: float, anode: float, ah: float, dragout: float, zn: float, ni: float
) -> None:
    fractions, g_l = {"Zn": 1 - w, "Ni": w}, {"Zn": zn, "Ni": ni}
    shares = {"Zn": 1 - share, "Ni": share}
    net = balance.net_bath_g(ah, shares, fractions, MASSES, ELECTRONS, cathode, anode, dragout, g_l)
    deposit = ah * alloy.deposit_g_per_ah(fractions, MASSES, ELECTRONS, cathode)
    for metal in fractions:
        gone = deposit * fractions[metal] + ah * dragout * g_l[metal]
        from_anode = balance.anode_g(ah, shares[metal], MASSES[metal], 2, anode)
        assert net[metal] + gone == pytest.approx(from_anode, abs=1e-6)
    dragged = {metal: ah * dragout * c for metal, c in g_l.items()}
    acid = balance.acid_used_by_metal_mol(net, dragged, {}, MASSES, ELECTRONS)
    assert acid == pytest.approx(balance.acid_used_mol(ah, anode, cathode), abs=1e-6)


@given(w=part)
def test_an_alloy_lies_between_its_metals(w: float) -> None:
    fractions = {"Zn": 1 - w, "Ni": w}
    assert 1.0950 < alloy.deposit_g_per_ah(fractions, MASSES, ELECTRONS) < 1.2198
    assert 7.14 < alloy.density_g_cm3(fractions, {"Zn": 7.14, "Ni": 8.908}) < 8.908
    assert sum(alloy.charge_share(fractions, MASSES, ELECTRONS).values()) == pytest.approx(1)


@given(bath=some, rinse_l=st.floats(1, 100), drag=st.floats(1e-4, 0.2), n=st.integers(0, 300), m=st.integers(0, 300))
def test_a_still_rinse_does_not_mind_when_one_looks(bath: float, rinse_l: float, drag: float, n: int, m: int) -> None:
    # what is missing to the bath's own strength shrinks by the same factor whichever way the loads are split
    def missing(loads: int) -> float:
        return 1 - rinse.still_rinse_g_l(bath, rinse_l, drag, loads) / bath

    assert missing(n + m) == pytest.approx(missing(n) * missing(m), abs=1e-9)


@given(bath=some, rinse_l=st.floats(1, 100), drag=st.floats(1e-3, 0.2), share=st.floats(0.001, 0.9))
def test_the_first_load_over_a_limit(bath: float, rinse_l: float, drag: float, share: float) -> None:
    n = rinse.still_rinse_loads(bath, rinse_l, drag, share * bath)
    assert rinse.still_rinse_g_l(bath, rinse_l, drag, n) >= share * bath * (1 - 1e-6)
    assert rinse.still_rinse_g_l(bath, rinse_l, drag, n - 1) < share * bath


@given(volume=some, start=some, factor=part)
def test_dilution_keeps_the_mass(volume: float, start: float, factor: float) -> None:
    end = start * factor
    out = additions.swap_l(volume, start, end)
    assert (volume - out) * start == pytest.approx(volume * end)
    assert additions.after_swap_g_l(start, additions.swap_fraction(start, end)) == pytest.approx(end)


@given(zinc=st.floats(0, 1000), content=part, purity=part)
def test_what_was_dosed_arrives(zinc: float, content: float, purity: float) -> None:
    assert additions.brought_g(additions.reagent_g(zinc, content, purity), content, purity) == pytest.approx(zinc)


@settings(deadline=None)
@given(kcl=st.floats(0, 250), zn=st.floats(0, 120), celsius=st.floats(15, 60))
def test_density_by_grams_per_litre_and_by_fractions_is_one(kcl: float, zn: float, celsius: float) -> None:
    rho = density_from_g_l({"KCl": kcl, "ZnCl2": zn}, celsius)
    assert density_g_cm3({"KCl": kcl / rho / 1000, "ZnCl2": zn / rho / 1000}, celsius) == pytest.approx(rho, abs=1e-9)


@settings(deadline=None)
@given(
    counts=st.lists(st.tuples(st.sampled_from(["Zn", "Ni", "Cl", "O", "H", "S"]), st.integers(1, 9)), min_size=1, max_size=6),
    water=st.integers(1, 12),
)
def test_a_hydrate_weighs_its_parts(counts: list[tuple[str, int]], water: int) -> None:
    salt = "".join(f"{symbol}{n if n > 1 else ''}" for symbol, n in counts)
    assert molar_mass(f"{salt}.{water}H2O") == pytest.approx(molar_mass(salt) + water * molar_mass("H2O"))
    assert sum(atoms(f"({salt})3").values()) == pytest.approx(3 * sum(n for _, n in counts))


@settings(deadline=None)
@given(text=st.text(max_size=30))
def test_any_text_is_a_formula_or_a_clear_no(text: str) -> None:
    try:
        assert molar_mass(text) > 0
    except ValueError as error:
        assert len(str(error)) > 20
