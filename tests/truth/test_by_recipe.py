"""Every plating recipe of the catalogue lives through simulated half-years: no problems, a true interval, no rival better."""

from __future__ import annotations

import numpy as np
import pytest

from bathkeeper.catalogue.loader import load
from tests.truth.by_recipe import half_year, plating_recipes
from tests.truth.half_year import START, WORKING_L, simulate, textbook_g_per_ah
from tests.truth.plating import PlatingBath, draw, structure
from tests.truth.scores import ratios

SEEDS = range(2000, 2004)


@pytest.mark.parametrize("recipe", plating_recipes())
def test_a_recipe_covers_and_is_no_worse_than_its_rivals(recipe: str) -> None:
    results = [half_year(seed, recipe) for seed in SEEDS]
    assert not {p for result in results for p in result.problems}
    held, book, inside = ratios(row for result in results for row in result.rows)
    assert inside >= 0.85
    assert held <= 1.0
    assert book <= 1.0


@pytest.mark.parametrize("recipe", plating_recipes())
def test_a_bath_stays_sane_and_its_book_is_the_same_again(recipe: str) -> None:
    one, again = (simulate(load().recipe(recipe), 7, days=84) for _ in range(2))
    assert one.entries == again.entries
    for species, (low, high) in one.range_of.items():
        assert 0.6 * one.built.targets[species] < low <= high < 1.8 * one.built.targets[species]
    assert 30 < one.bath.volume_l < 45


@pytest.mark.parametrize("recipe", plating_recipes())
def test_metals_and_account_are_conserved(recipe: str) -> None:
    """What came and went by the ledger is what is there; anodes' losses are taken from their masses."""
    bath = simulate(load().recipe(recipe), 3, days=84).bath
    for species in bath.built.followed:
        assert bath.grams[species] == pytest.approx(sum(bath.ledger[species].values()), rel=1e-9)
    for metal in bath.built.dissolving:
        lost = sum(bar.mass_g for bar in bath.anodes.values() if bar.metal == metal)
        hung = 2000.0 * sum(1 for bar in bath.anodes.values() if bar.metal == metal)
        assert bath.ledger[metal]["anodes"] == pytest.approx(hung - lost, abs=5.0)  # masses at hanging by a 0.5 g scale


def test_caustic_of_a_zincate_bath_worked_by_hand() -> None:
    """Zinc plated at 70 %, anodes only make oxygen: 1000 Ah are 37.31 mol of electrons, which lay down 853.8 g.

    Zn(OH)4(2-) + 2 e -> Zn + 4 OH-: 13.06 mol zinc free 52.24 mol; hydrogen 11.19 mol; oxygen takes 37.31 mol: 26.12 mol left,
    1044.6 g NaOH; per electron into zinc 4/2 - 1 = 1.
    """
    built = structure(load().recipe("alkaline-zinc-generator"))
    fixed = {"cathode_efficiency": 0.7, "generator": 1e-9, "carbonate_uptake": 1e-9, "evaporation_cold": 1e-9}
    hidden = draw(built.recipe, np.random.default_rng(0), **fixed)
    bath = PlatingBath(built, hidden, START, 12.0, np.random.default_rng(0))
    bath.pour(WORKING_L, {"zinc": 2000.0, "free alkali": 3600.0}, "make-up")
    bath.plate(current_a=100.0, minutes=600.0, area_dm2=50.0, temperature_c=25.0, hot_h=0.0)
    assert bath.grams["zinc"] == pytest.approx(2000.0 - 853.8, abs=0.2)
    assert bath.grams["free alkali"] == pytest.approx(3600.0 + 1044.6, abs=0.3)


def test_the_textbook_rival_worked_by_hand() -> None:
    """Watts nickel at 95 % with anodes at 100 %: 1.0950 g/Ah x 0.05; acid copper at 99 %: 1.1856 g/Ah x 0.01 up, and acid
    down by 0.01 x 0.03731 mol of electrons, 98.07/2 g each."""
    assert textbook_g_per_ah(structure(load().recipe("watts-nickel")))["nickel"] == pytest.approx(0.0548, abs=2e-4)
    copper = textbook_g_per_ah(structure(load().recipe("acid-copper")))
    assert copper["copper"] == pytest.approx(0.01186, abs=2e-5)
    assert copper["free acid"] == pytest.approx(-0.0183, abs=1e-4)


def test_what_cannot_be_simulated_is_refused() -> None:
    with pytest.raises(ValueError, match="plates no metal"):
        structure(load().recipe("bisulfate-pickle"))
    with pytest.raises(TypeError, match="has no colour"):
        draw(load().recipe("watts-nickel"), np.random.default_rng(0), colour=1.0)
