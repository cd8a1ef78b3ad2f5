"""What a container weighs carries on through treatments, fillings and moves: what was there and went in, less what went off."""

from __future__ import annotations

import pytest

from bathkeeper.estimate.containers import ContainerState
from tests.estimate.helpers import Book, take

CO2_KG_MOL, SODA_KG_MOL = 0.04401, 0.10599  # IUPAC standard atomic weights, abridged


def pickled() -> Book:
    """20 L at 100 g/L: 21.6 kg, with 16.7 mol of acid."""
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    book.log("removal", tank="pickle", all=True, to="drum-1")
    return book


def held(book: Book, name: str = "drum-1") -> ContainerState:
    return take(book.entries).containers[name]


def treat(book: Book, reagent: str, grams: float, **more: object) -> None:
    item = {"reagent": reagent, "amount": grams, "unit": "g"}
    book.log("container", container="drum-1", action="treated", treatment="neutralised", items=[item], **more)


def test_lime_adds_what_it_weighs_whatever_becomes_of_the_acid():
    book = pickled()
    treat(book, "calcium hydroxide", 600.0)
    assert held(book).mass_kg == pytest.approx(21.6 + 0.6, abs=0.001)
    treat(book, "calcium hydroxide", 600.0)
    assert held(book).mass_kg == pytest.approx(21.6 + 1.2, abs=0.001)


def test_soda_loses_the_gas_that_the_acid_sets_free_and_no_more():
    book = pickled()
    treat(book, "sodium carbonate", 400.0)
    purity = (2000.0 - held(book).gauss.value("mass:free acid")) / 120.06 / 2 * SODA_KG_MOL / 0.4
    gas = 0.4 * purity / SODA_KG_MOL * CO2_KG_MOL
    assert held(book).mass_kg == pytest.approx(21.6 + 0.4 - gas, abs=0.002)
    for _ in range(2):
        treat(book, "sodium carbonate", 800.0)
    most = 16.66 / 2 * CO2_KG_MOL  # the acid sets no more free than it can
    assert held(book).mass_kg == pytest.approx(21.6 + 2.0 - most, abs=0.01)


def test_water_driven_off_is_a_kilogram_a_litre_and_leaves_solids_when_it_is_all_gone():
    book = pickled()
    book.log("container", container="drum-1", action="treated", treatment="evaporated", volume_l=12.0)
    assert held(book).mass_kg == pytest.approx(9.6, abs=0.001)
    book.log("container", container="drum-1", action="treated", treatment="evaporated", volume_l=8.0)
    assert held(book).mass_kg == held(book).solids_kg == pytest.approx(1.6, abs=0.001)


def test_a_treated_weight_goes_along_when_it_is_moved_or_handed_over():
    book = pickled()
    treat(book, "calcium hydroxide", 1000.0)
    whole, density = held(book).mass_kg, held(book).density_g_ml
    book.log("container", container="drum-1", action="moved", volume_l=5.0, to="drum-2")
    assert held(book).mass_kg + held(book, "drum-2").mass_kg == pytest.approx(whole)
    assert held(book, "drum-2").density_g_ml == pytest.approx(density)
    book.log("container", container="drum-2", action="handed over", all=True, to="the point", reference="H-1")
    assert held(book, "drum-2").handed[0].density_g_ml == pytest.approx(density)
    assert held(book, "drum-2").mass_kg == 0


def test_a_tested_density_stays_when_litres_or_contents_are_tested_later():
    book = pickled()
    for value in (
        {"of": "density", "unit": "g/cm3", "value": 1.2},
        {"of": "volume", "unit": "L", "value": 15.0},
        {"of": "iron", "unit": "g/L", "value": 20.0},
    ):
        book.log("container", container="drum-1", action="tested", values=[value])
        assert held(book).density_g_ml == pytest.approx(1.2)
    assert held(book).volume_l < 20.0
