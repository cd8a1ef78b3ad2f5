"""Alkaline zinc and zinc-nickel: caustic and zinc balance, the generator, carbonate from the air.

Zincate is Na2Zn(OH)4: sodium is free lye, twice the zinc, twice the carbonate, and no reaction here makes or takes any. Printed
equivalents: zinc 1.2197, nickel 1.0950 g/Ah, 0.037311 mol of electrons per Ah. Masses: NaOH 39.997, Zn 65.38, Na2CO3
105.988 g/mol.
"""

from __future__ import annotations

import pytest

from tests.stories.telling import Telling

ZN_G_AH, NI_G_AH, MOL_AH = 1.2197, 1.0950, 0.037311
NAOH, ZN, SODA = 39.997, 65.38, 105.988


def bath(recipe: str, volume_l: float = 40.0, **contents: float) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("lye", "plate", 1, recipe, volume_l, surface_dm2=12.0)
    named = {n.replace("_", " "): v for n, v in contents.items()}
    tale.log("make_up", tank="lye", volume_l=volume_l, contents={"carbonate": 0.0, **named})
    return tale


def hung(tale: Telling, name: str, metal: str, area_dm2: float) -> Telling:
    tale.log("anode", tank="lye", anode=name, action="hung", metal=metal, mass_g=3000.0, area_dm2=area_dm2)
    return tale


def plated(tale: Telling, runs: int, **step: object) -> Telling:
    step = {"minutes": 60, "charge": {"charge_ah": 5.0}, **step}
    for _ in range(runs):
        tale.log("run", parts=[{"description": "clips", "area_dm2": 3.0}], steps=[{"tank": "lye", **step}])
    return tale


def total(tale: Telling, name: str, *causes: str) -> float:
    flows = tale.view("lye").flows
    return sum(f.get(name, 0.0) for c, f in flows.items() if not causes or c in causes)


def sodium_mol(tale: Telling) -> float:
    """Of everything but make-up and drag-out: free lye, what zinc holds, what carbonate holds."""
    own = [c for c in tale.view("lye").flows if c not in ("make-up", "drag-out", "drag-in")]
    grams = {n: total(tale, f"mass:{n}", *own) for n in ("free alkali", "zinc", "carbonate")}
    return grams["free alkali"] / NAOH + 2 * grams["zinc"] / ZN + 2 * grams["carbonate"] / SODA


def test_zinc_anodes_alone_raise_zinc_and_eat_caustic() -> None:
    """100 Ah: in 121.97 g, out 0.725 x 121.97: + 33.54 g zinc; lye - 0.275 x 3.7311 mol x 39.997 = - 41.04 g."""
    tale = plated(hung(bath("alkaline-zinc", zinc=7.5, free_alkali=90.0), "zinc-1", "zinc", 4.0), 20)
    assert total(tale, "mass:zinc", "anodes dissolved", "deposit") == pytest.approx(0.275 * 100 * ZN_G_AH, rel=5e-3)
    assert total(tale, "mass:free alkali", "acid balance") == pytest.approx(-0.275 * 100 * MOL_AH * NAOH, rel=5e-3)
    assert sodium_mol(tale) == pytest.approx(0.0, abs=0.01)
    assert "acid" not in tale.view("lye").flows.get("acid balance", {})


def test_steel_beside_zinc_brings_both_near_balance() -> None:
    """Share 0.7 on zinc: in 85.38 g, out 88.43 g: - 3.05 g; lye + 0.025 x 3.7311 mol x 39.997 = + 3.73 g."""
    tale = hung(hung(bath("alkaline-zinc", zinc=7.5, free_alkali=90.0), "zinc-1", "zinc", 2.0), "plate-1", "steel", 6.0)
    plated(tale, 20)
    assert total(tale, "mass:zinc", "anodes dissolved", "deposit") == pytest.approx((0.7 - 0.725) * 100 * ZN_G_AH, abs=0.5)
    assert total(tale, "mass:free alkali", "acid balance") == pytest.approx(0.025 * 100 * MOL_AH * NAOH, abs=0.4)
    assert tale.view("lye").anodes["plate-1"].mass_g.value == pytest.approx(3000.0, abs=1e-6)
    assert sodium_mol(tale) == pytest.approx(0.0, abs=0.01)


def test_high_chemistry_plates_at_its_own_efficiency() -> None:
    tale = plated(hung(bath("alkaline-zinc-high", zinc=18.0, free_alkali=135.0), "zinc-1", "zinc", 4.0), 20)
    assert total(tale, "mass:zinc", "deposit") == pytest.approx(-0.82 * 100 * ZN_G_AH, rel=5e-3)
    assert sodium_mol(tale) == pytest.approx(0.0, abs=0.01)


def test_the_generator_feeds_zinc_and_takes_the_lye_that_the_steel_anodes_make() -> None:
    """10 days x 5 g = 50 g zinc, - 61.2 g NaOH; 40 Ah on steel: - 35.37 g zinc, + 0.725 x 1.4924 mol x 39.997 = +
    43.28 g NaOH.
    """
    tale = hung(bath("alkaline-zinc-generator", zinc=7.5, free_alkali=90.0), "plate-1", "steel", 6.0)
    plated(tale, 8).day(10)
    days = 10.0
    assert total(tale, "mass:zinc", "zinc generator") == pytest.approx(5.0 * days, rel=1e-3)
    assert total(tale, "mass:free alkali", "zinc generator") == pytest.approx(-5.0 * days * 2 * NAOH / ZN, rel=1e-3)
    assert total(tale, "mass:zinc", "deposit") == pytest.approx(-0.725 * 40 * ZN_G_AH, rel=5e-3)
    assert total(tale, "mass:free alkali", "acid balance") == pytest.approx(0.725 * 40 * MOL_AH * NAOH, rel=5e-3)
    assert "anodes dissolved" not in tale.view("lye").flows
    assert sodium_mol(tale) == pytest.approx(0.0, abs=0.01)


def test_carbonate_grows_and_eats_lye() -> None:
    """12 dm2 x 0.3 g x 100 days = 360 g Na2CO3 in 40 L, which took 2 x 39.997/105.988 x 360 = 271.7 g NaOH."""
    tale = bath("alkaline-zinc", zinc=7.5, free_alkali=90.0).day(100)
    assert total(tale, "mass:carbonate", "carbonate from air") == pytest.approx(360.0, rel=1e-3)
    assert total(tale, "mass:free alkali", "carbonate from air") == pytest.approx(-271.7, rel=1e-3)
    view = tale.view("lye")
    assert view.species["carbonate"].value == pytest.approx(360.0 / view.volume_l.value, rel=1e-3)
    assert view.volume_l.value == pytest.approx(40.0 - 12 * 100 * 0.0072, abs=0.05)


def test_idle_zinc_eats_lye_too() -> None:
    """4 dm2 x 0.5 g x 10 days = 20 g zinc and - 24.5 g NaOH."""
    tale = hung(bath("alkaline-zinc", zinc=7.5, free_alkali=90.0), "zinc-1", "zinc", 4.0).day(10)
    assert total(tale, "mass:zinc", "idle zinc to zincate") == pytest.approx(20.0, rel=2e-3)
    assert total(tale, "mass:free alkali", "idle zinc to zincate") == pytest.approx(-24.47, rel=2e-3)
    assert sodium_mol(tale) == pytest.approx(0.0, abs=0.01)


def test_alkali_to_zinc_is_the_ratio_that_the_trade_watches() -> None:
    """High to low: 90 over 7.5 is 12; after zinc anodes alone for 100 Ah in 40 L about 89.0 over 8.3."""
    tale = hung(bath("alkaline-zinc", zinc=7.5, free_alkali=90.0), "zinc-1", "zinc", 4.0)
    assert tale.view("lye").ratios["alkali_to_zinc"].value == pytest.approx(12.0, abs=0.01)
    plated(tale, 20)
    after = (3600 - 41.04) / (300 + 33.54)  # drag-out takes both alike
    assert tale.view("lye").ratios["alkali_to_zinc"].value == pytest.approx(after, rel=0.01)


@pytest.mark.parametrize("recipe", ["generator", "concentrates"])
def test_inert_nickel_anodes_only_carry_current(recipe: str) -> None:
    """50 Ah at half the cathode's efficiency: 0.5 x 50 x 1.2012 = 30.03 g, 13.5 % nickel; nothing off the nickel anode."""
    tale = hung(bath(f"alkaline-zinc-nickel-{recipe}", zinc=9.0, nickel=2.0, free_alkali=130.0), "nickel-1", "nickel", 4.0)
    plated(tale, 10, minutes=50, temperature_c=25)
    grams = 0.5 * 50 / (0.135 / NI_G_AH + 0.865 / ZN_G_AH)
    assert grams == pytest.approx(30.03, abs=0.02)
    assert total(tale, "mass:nickel", "deposit") == pytest.approx(-0.135 * grams, rel=0.02)
    assert total(tale, "mass:zinc", "deposit") == pytest.approx(-0.865 * grams, rel=5e-3)
    view = tale.view("lye")
    assert view.anodes["nickel-1"].mass_g.value == pytest.approx(3000.0, abs=1e-6)
    assert "anodes dissolved" not in view.flows
    assert total(tale, "mass:amine", "amine oxidised") == pytest.approx(-2.5, rel=1e-3)  # 0.05 g/Ah


def test_zinc_anodes_beside_nickel_feed_nearly_what_is_plated() -> None:
    """Share 0.45 of 50 Ah: in 27.44 g zinc; out 0.865 x 30.03 = 25.97 g."""
    tale = hung(bath("alkaline-zinc-nickel-zinc-anodes", zinc=9.0, nickel=2.0, free_alkali=130.0), "zinc-1", "zinc", 2.0)
    plated(hung(tale, "nickel-1", "nickel", 4.0), 10, minutes=50, temperature_c=25)
    assert total(tale, "mass:zinc", "anodes dissolved") == pytest.approx(0.45 * 50 * ZN_G_AH, rel=2e-3)
    assert total(tale, "mass:zinc", "anodes dissolved", "deposit") == pytest.approx(27.44 - 25.97, abs=0.15)


def test_nickel_complex_brings_nickel() -> None:
    """60 g/L nickel in the concentrate: 500 mL bring 30 g, 0.75 g/L in 40 L and a little more volume."""
    tale = bath("alkaline-zinc-nickel-concentrates", zinc=9.0, nickel=2.0, free_alkali=130.0)
    tale.add("lye", "nickel amine complex concentrate", 500.0, "mL")
    assert tale.view("lye").species["nickel"].value == pytest.approx((80 + 30) / 40.5, rel=2e-3)
