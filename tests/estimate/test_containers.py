"""Containers of waste: what tanks give, how sure it is, and what becomes of it by moving, testing, treating, handing over."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.state import Z95
from tests.estimate.helpers import Book, shown, take

PICKLE = {"free acid": 100.0}


def pickled() -> Book:
    """A fresh dry-acid pickle of 20 L, dumped into a drum."""
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, PICKLE)
    book.log("removal", tank="pickle", all=True, to="drum-1")
    return book


def held(book: Book, name: str = "drum-1") -> ContainerState:
    return take(book.entries).containers[name]


def test_a_dump_carries_amounts_and_their_spread_along():
    book = Book()
    book.bath()
    state = take(book.entries).tanks["bath"]
    wide = Z95 * state.gauss.variance("mass:nickel") ** 0.5
    book.log("removal", tank="bath", all=True, to="drum-1")
    drum = held(book)
    assert drum.volume_l == pytest.approx(40.0, abs=0.01) and drum.gauss.value("mass:nickel") == pytest.approx(960.0)
    assert Z95 * drum.gauss.variance("mass:nickel") ** 0.5 == pytest.approx(wide)
    litres, grams = drum.gauss.index["volume"], drum.gauss.index["mass:nickel"]
    assert drum.gauss.cov[litres, grams] > 0  # a fuller tank held more of everything
    assert drum.since == book.moment and drum.complete and drum.fills[0].what == "bath"


def test_a_bail_out_takes_its_share_and_is_less_sure():
    book = Book()
    book.bath()
    book.log("removal", tank="bath", volume_l=10.0, to="tote")
    tote = held(book, "tote")
    assert tote.gauss.value("mass:zinc") == pytest.approx(330.0, rel=0.01)
    assert tote.gauss.variance("volume") ** 0.5 / 10.0 > 0.005


def test_moving_keeps_every_gram():
    book = pickled()
    book.log("container", container="drum-1", action="moved", volume_l=5.0, to="drum-2")
    one, two = held(book), held(book, "drum-2")
    assert one.volume_l + two.volume_l == pytest.approx(20.0, abs=0.001)
    assert two.gauss.value("mass:free acid") == pytest.approx(500.0, abs=0.1)
    assert two.fills[0].container == "drum-1" and two.gauss.variance("volume") > 0
    book.log("container", container="drum-1", action="moved", all=True, to="drum-2")
    assert held(book).empty and held(book).volume_l == 0
    assert held(book, "drum-2").volume_l == pytest.approx(20.0, abs=0.001)


def test_kept_rinse_goes_back_into_a_bath():
    book = Book()
    book.bath()
    book.log("removal", tank="bath", volume_l=5.0, to="can")
    before = take(book.entries).tanks["bath"].gauss.value("mass:nickel")
    book.log("container", container="can", action="moved", volume_l=2.0, to="bath")
    after = take(book.entries).tanks["bath"]
    assert after.gauss.value("mass:nickel") - before == pytest.approx(2.0 * 24.0, rel=0.01)
    assert after.volume_l == pytest.approx(37.0, abs=0.1)


def test_a_test_sharpens_and_what_it_moved_is_booked():
    book = pickled()
    before = held(book).gauss.variance("mass:free acid")
    values = [{"of": "free_acid", "value": 90.0, "unit": "g/L", "spread": 1.0}, {"of": "ph", "value": 0.9, "unit": "pH"}]
    book.log("container", container="drum-1", action="tested", values=values)
    drum = held(book)
    assert drum.gauss.value("mass:free acid") / drum.volume_l == pytest.approx(90.3, abs=0.8)
    assert drum.gauss.variance("mass:free acid") < before
    assert drum.flows["reading adjustments"]["mass:free acid"] < -150
    assert drum.tests["ph"].value == 0.9


def test_a_test_of_something_nobody_expected_puts_it_on_record():
    book = pickled()
    book.log("container", container="drum-1", action="tested", values=[{"of": "cadmium", "value": 12.0, "unit": "mg/L"}])
    assert held(book).gauss.value("mass:cadmium") == pytest.approx(0.24, rel=0.02)


def test_base_takes_the_acid_and_what_is_left_of_it_is_kept():
    """1 mol of NaOH a mol of NaHSO4: 20 L at 100 g/L are 16.66 mol, 666 g of caustic soda (molar masses: IUPAC)."""
    book = pickled()
    mol = 2000 / molar_mass("NaHSO4")
    half = mol / 2 * molar_mass("NaOH")
    soda = {"reagent": "sodium hydroxide", "unit": "g"}
    purity = 1.0
    book.log("container", container="drum-1", action="treated", treatment="neutralised", items=[{**soda, "amount": half}])
    left = held(book).gauss.value("mass:free acid")
    purity = (2000 - left) / 1000  # of what the catalogue's bag holds
    assert 0.95 <= purity <= 1.0 and held(book).gauss.value("base") == 0
    book.log("container", container="drum-1", action="treated", treatment="neutralised", items=[{**soda, "amount": 2 * half}])
    drum = held(book)
    assert drum.gauss.value("mass:free acid") == pytest.approx(0.0, abs=1e-6)
    assert drum.gauss.value("base") == pytest.approx(3 * mol / 2 * purity - mol, rel=0.01)


def test_a_hand_over_is_kept_with_what_it_held_and_its_receipt():
    book = pickled()
    book.log("container", container="drum-1", action="handed over", all=True, mass_kg=21.4, to="the point", reference="H-1")
    drum = held(book)
    assert drum.empty and drum.handed[0].amounts["mass:free acid"][0] == pytest.approx(2000.0)
    assert drum.handed[0].weighed_kg == 21.4 and drum.handed[0].receipt is None
    book.log("container", container="drum-1", action="handed over", reference="H-1", receipt="R-7")
    assert held(book).handed[0].receipt == "R-7" and held(book).handed[0].receipt_at == book.moment


def test_kilograms_are_turned_into_a_share_by_the_density():
    book = pickled()
    kg = held(book).mass_kg
    assert kg == pytest.approx(20.0 * 1.08, abs=0.001)  # 100 g/L at 0.0008 g/mL each
    book.log("container", container="drum-1", action="handed over", mass_kg=kg / 4, to="the point", reference="H-1")
    assert held(book).volume_l == pytest.approx(15.0, abs=0.001)


def test_rags_and_filters_weigh_and_make_the_contents_unknown():
    book = pickled()
    book.log("container", container="bin", action="put in", what="rags", mass_kg=1.5)
    book.bath()
    book.log("treatment", tank="bath", what="carbon", mass_g=400.0, to="bin",
             items=[{"reagent": "activated carbon", "amount": 40.0, "unit": "g"}])  # fmt: skip
    bin = held(book, "bin")
    assert bin.solids_kg == pytest.approx(1.9) and not bin.complete
    assert [f.what for f in bin.fills] == ["rags", "carbon"] and bin.fills[1].tank == "bath"


def test_a_container_begins_anew_when_it_was_emptied():
    book = pickled()
    book.log("container", container="drum-1", action="labelled", codes=["11 01 05*"])
    book.log("container", container="drum-1", action="handed over", all=True, to="the point", reference="H-1")
    book.make_up("pickle", 20.0, PICKLE)
    book.day(40)
    book.log("removal", tank="pickle", all=True, to="drum-1")
    drum = held(book)
    assert drum.since == book.moment and drum.codes == () and len(drum.handed) == 1 and len(drum.fills) == 1


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        ({"container": "drum-9", "action": "moved", "all": True, "to": "drum-1"}, "no container is called `drum-9`"),
        ({"container": "pickle", "action": "opened"}, "`pickle` is a tank"),
        ({"container": "drum-1", "action": "moved", "volume_l": 35.0, "to": "drum-2"}, "35 L left `drum-1`, which held about"),
        ({"container": "drum-1", "action": "handed over", "reference": "H-9", "receipt": "R"}, "nothing of `drum-1` was"),
        ({"container": "drum-1", "action": "moved", "volume_l": 1.0, "to": "pickle"}, "into `pickle`, which was emptied"),
    ],
)
def test_what_cannot_have_been_is_a_problem_with_its_remedy(entry: dict[str, object], says: str):
    book = pickled()
    id = book.log("container", **entry)
    assert says in shown(take(book.entries).problems, id)
