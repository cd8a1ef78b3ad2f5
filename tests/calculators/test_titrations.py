"""Titrations: published worked examples and factors, how sure they are, and what the book gets of them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from bathkeeper.calculators.model import CalcError
from bathkeeper.calculators.reading import as_reading
from bathkeeper.calculators.substances import substance
from bathkeeper.calculators.titrate import titrations
from bathkeeper.catalogue.loader import load
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import parse

from ..chemistry.printed import printed
from .asking import answer, values


def titrated(of: str, titrant: str, sample: str, used: Any, **more: Any) -> dict[str, Any]:
    return values("titrate", of=of, titrant=titrant, sample=sample, used=used, **more)


class TestFactors:
    @pytest.mark.parametrize(
        ("of", "titrant", "factors"),
        # g/L per mL for samples of 1, 2, 5 and 10 mL and a 0.1 M (0.1 N) titrant, computed apart
        [
            ("zinc", "EDTA 0.1M", "6.538 3.269 1.3076 0.6538"), ("nickel", "EDTA 0.1M", "5.869 2.935 1.1739 0.5869"),
            ("chloride", "AgNO3 0.1N", "3.545 1.7725 0.7090 0.3545"),
            ("nickel chloride", "AgNO3 0.1M", "11.884 5.942 2.377 1.188"),
            ("potassium chloride", "AgNO3 0.1M", "7.455 3.728 1.491 0.7455"),
            ("ammonium chloride", "AgNO3 0.1M", "5.349 2.675 1.070 0.535"),
            ("boric acid", "NaOH 0.1N", "6.183 3.092 1.2366 0.6183"), ("free alkali", "HCl 0.1N", "4.000 2.000 0.800 0.400"),
            ("hydrochloric acid", "NaOH 0.1N", "3.646 1.823 0.729 0.365"),
            ("sulfuric acid", "NaOH 0.1N", "4.904 2.452 0.981 0.490"),
            ("sodium bisulfate", "NaOH 0.1N", "12.006 6.003 2.401 1.201"),
            ("nitric acid", "NaOH 0.1N", "6.301 3.151 1.260 0.630"), ("iron", "KMnO4 0.1N", "5.585 2.792 1.117 0.5585"),
            ("iron", "potassium permanganate 0.02M", "5.585 2.792 1.117 0.5585"),
            ("total alkali", "sulfuric acid 0.05M", "4.000 2.000 0.800 0.400"),
        ],
    )  # fmt: skip
    def test_follow_from_sample_titrant_and_reaction(self, of: str, titrant: str, factors: str) -> None:
        for sample, factor in zip((1, 2, 5, 10), factors.split(), strict=True):
            found = titrated(of, titrant, f"{sample} mL", "1mL")
            assert found["factor_g_l_per_ml"] == printed(factor, slack=0.8)  # molar masses there rounded first

    def test_grow_with_dilution_and_titrant(self) -> None:
        plain = titrated("zinc", "EDTA 0.1M", "2mL", "10mL")["factor_g_l_per_ml"]
        assert titrated("zinc", "EDTA 0.1M", "2mL", "1mL", dilution="10")["factor_g_l_per_ml"] == pytest.approx(10 * plain)
        assert titrated("zinc", "EDTA 0.05M", "2mL", "10mL")["factor_g_l_per_ml"] == pytest.approx(plain / 2)


class TestPublished:
    def test_boric_acid_factor(self) -> None:
        # pfonline, boric acid: 5 mL of bath, 0.1 M caustic, 1.24 g/L a mL
        assert titrated("boric acid", "NaOH 0.1M", "5mL", "20mL")["factor_g_l_per_ml"] == printed("1.24")

    def test_boric_acid_beside_fluoboric(self) -> None:
        # titration bulletin 195/2e: 0.250 mL, 0.1 M caustic, end points 0.834 and 2.786 mL: 29.29 and 48.28 g/L
        found = titrated("fluoboric acid", "NaOH 0.1M", "0.250mL", "0.834mL")
        assert found["concentration_g_l"] == printed("29.29", slack=1.5)
        found = titrated("boric acid", "NaOH 0.1M", "0.250mL", "2.786mL", less="0.834mL")
        assert found["concentration_g_l"] == printed("48.28")

    def test_cleaning_acids(self) -> None:
        # UFC 3-240-13FN p. 193: 10 mL, 1.0 N: 0.36 % hydrochloric, 0.97 % sulfamic acid a mL, in g/100 mL
        assert titrated("hydrochloric acid", "NaOH 1.0N", "10mL", "5mL")["factor_g_l_per_ml"] / 10 == printed("0.36")
        assert titrated("sulfamic acid", "NaOH 1.0N", "10mL", "5mL")["factor_g_l_per_ml"] / 10 == printed("0.97")

    def test_sulfuric_pickle(self) -> None:
        # civilengineeringhandbook.tk, pickling: 5 mL, 1.02 N, 1 mL is 1 g/100 mL
        assert titrated("sulfuric acid", "NaOH 1.02N", "5mL", "8mL")["factor_g_l_per_ml"] / 10 == printed("1.000")

    def test_nickel_chloride_by_silver(self) -> None:
        # application data E4 2018: 1 mL, 0.05 M silver nitrate: 5.942 g/L a mL
        assert titrated("nickel chloride", "silver nitrate 0.05M", "1mL", "8mL")["factor_g_l_per_ml"] == printed("5.942")

    def test_nickel_titrated_back(self) -> None:
        # wizedu 57126: 10 mL of 0.0129 M EDTA, 7.2 mL of 0.00979 M zinc: 0.0585 mmol, 3.43 mg
        found = titrated("nickel", "EDTA 0.0129M", "10mL", "7.2mL", added="10mL", back="zinc 0.00979M")
        assert found["found_mmol"] == printed("0.0585")
        assert 10 * found["concentration_g_l"] == printed("3.43")

    def test_published_slip_is_not_repeated(self) -> None:
        # studylib 25969592 prints 0.096 g of nickel for 15 mL of 0.11 M EDTA and 3 mL of 0.101 M zinc; it is 0.0791 g
        found = titrated("nickel", "EDTA 0.11M", "10mL", "3mL", added="15mL", back="zinc 0.101M")
        assert found["concentration_g_l"] / 100 == printed("0.0791")

    def test_acid_of_one_normal(self) -> None:
        # USP diluted hydrochloric acid: 1 mL of 1 N is 36.46 mg
        assert titrated("hydrochloric acid", "NaOH 1N", "10mL", "27mL")["factor_g_l_per_ml"] * 10 == printed("36.46")

    def test_cleaner(self) -> None:
        # pfonline, three-indicator method: 10 mL, 1.0 N: 3.4 mL free, 6.0 mL total; computed apart 13.6, 24.0 g/L, 1.76
        found = titrated("free alkali", "hydrochloric acid 1.0N", "10mL", "3.4mL", total="6.0mL")
        assert found["concentration_g_l"] == printed("13.6")
        assert found["total_g_l"] == printed("24.0")
        assert found["ratio"] == printed("1.76")

    @pytest.mark.parametrize(
        ("of", "titrant", "sample", "used", "g_l"),
        [  # computed apart, same methods
            ("zinc", "EDTA 0.1M", "2mL", "10.7mL", "34.98"), ("zinc", "EDTA 0.100M", "2.00mL", "12.4mL", "40.5"),
            ("chloride", "silver nitrate 0.1N", "1mL", "42.3mL", "149.95"),
            ("hydrochloric acid", "sodium hydroxide 1.0N", "5mL", "17.0mL", "123.96"),
            ("iron", "potassium permanganate 0.1N", "5mL", "22.4mL", "25.02"),
            ("sodium bisulfate", "sodium hydroxide 1.0N", "10mL", "5.0mL", "60.03"),
            ("sodium hydroxide", "hydrochloric acid 1.0N", "5mL", "15.0mL", "120.0"),
        ],
    )  # fmt: skip
    def test_worked(self, of: str, titrant: str, sample: str, used: str, g_l: str) -> None:
        assert titrated(of, titrant, sample, used)["concentration_g_l"] == printed(g_l, slack=1)

    def test_zinc_and_nickel_together(self) -> None:
        # computed apart: 2 mL, total 19.2 mL, nickel alone 8.5 mL of 0.1 M EDTA: 34.98 and 24.94 g/L
        by_titre = titrated("zinc", "EDTA 0.1M", "2mL", "19.2mL", less="8.5mL")
        assert by_titre["concentration_g_l"] == printed("34.98")
        assert by_titre["less_g_l"] == printed("24.94")
        by_photometer = titrated("zinc", "EDTA 0.1M", "2mL", "19.2mL", nickel="24.944g/L")
        assert by_photometer["concentration_g_l"] == pytest.approx(by_titre["concentration_g_l"], abs=0.005)

    def test_potassium_chloride_by_difference(self) -> None:
        # computed apart: 149.95 g/L chloride less 37.93 and 30.13 is 81.9 g/L, 172.2 g/L KCl
        found = titrated("potassium chloride", "silver nitrate 0.1N", "1mL", "42.3mL", zinc="34.98g/L", nickel="24.94g/L")
        assert found["concentration_g_l"] == printed("172.2")
        assert found["concentration_g_l"] * molar_mass("Cl") / molar_mass("KCl") == printed("81.9")

    def test_ferric_iron_counts_as_acid(self) -> None:
        # computed apart: 2 g/L of iron(III) takes 3 x 2/55.845 eq/L, 3.92 g/L of hydrochloric acid
        asked = {"of": "hydrochloric acid", "titrant": "NaOH 1N", "sample": "5mL", "used": "17.0mL"}
        less = values("titrate", **asked)["concentration_g_l"] - values("titrate", **asked, ferric="2g/L")["concentration_g_l"]
        assert less == printed("3.917")


class TestHowSure:
    def test_burette_and_pipette(self) -> None:
        # by hand: 0.05 mL x 3.269 = 0.163; 1 % of 40.54 = 0.405; together 0.437
        assert titrated("zinc", "EDTA 0.1M", "2mL", "12.4mL")["spread_g_l"] == printed("0.437")
        exact = titrated("zinc", "EDTA 0.1M", "2mL", "12.4mL", pipette="0.0001mL", burette="0.0001mL")
        assert exact["spread_g_l"] < 0.01

    def test_duplicates_help_unless_they_differ(self) -> None:
        one = titrated("zinc", "EDTA 0.1M", "2mL", "12.4mL")
        two = titrated("zinc", "EDTA 0.1M", "2mL", ("12.38mL", "12.42mL"))
        apart = answer("titrate", of="zinc", titrant="EDTA 0.1M", sample="2mL", used=("12.0mL", "12.8mL"))
        assert two["titre_ml"] == pytest.approx(12.4)
        assert two["spread_g_l"] < one["spread_g_l"] < apart.values["spread_g_l"]
        assert "titrate once more" in apart.cautions[0]

    def test_a_difference_is_less_sure(self) -> None:
        wide = titrated("zinc", "EDTA 0.1M", "2mL", "19.2mL", less="8.5mL", pipette="0.0001mL")["spread_g_l"]
        narrow = titrated("zinc", "EDTA 0.1M", "2mL", "10.7mL", pipette="0.0001mL")["spread_g_l"]
        assert wide == pytest.approx(narrow * 2**0.5, rel=0.01)

    def test_blank_comes_off(self) -> None:
        with_blank = titrated("zinc", "EDTA 0.1M", "2mL", "12.5mL", blank="0.1mL")
        assert with_blank["concentration_g_l"] == pytest.approx(
            titrated("zinc", "EDTA 0.1M", "2mL", "12.4mL")["concentration_g_l"]
        )


class TestRefused:
    @pytest.mark.parametrize(
        ("given", "says"),
        [
            ({"titrant": "silver nitrate 0.1N"}, "zinc is titrated with EDTA"),
            ({"titrant": "EDTA 0.2N"}, "no one normality"),
            ({"titrant": "EDTA"}, "how strong the EDTA is"),
            ({"titrant": "0.1M"}, "does not say of what"),
            ({"titrant": "EDTA 50M"}, "EDTA"),
            ({"used": "1L"}, "is no titre"),
            ({"used": "12mL", "blank": "13mL"}, "blank"),
            ({"used": "12mL", "less": "13mL"}, "at most the total"),
            ({"sample": "0.01mL"}, "more than dissolves"),
            ({"dilution": "0.5"}, "stronger"),
            ({"of": "free acid"}, "say which acid"),
            ({"of": "zink"}, "did you mean zinc"),
            ({"less": "1mL", "nickel": "3g/L"}, "either"),
            ({"back": "zinc 0.1M"}, "added is missing"),
            ({"added": "10mL", "back": "hydrochloric acid 1N"}, "excess of EDTA"),
            ({"total": "15mL"}, "not used"),
            ({"ferric": "2g/L"}, "not used"),
        ],
    )
    def test_with_a_reason(self, given: dict[str, str], says: str) -> None:
        asked = {"of": "zinc", "titrant": "EDTA 0.1M", "sample": "2mL", "used": "12.4mL", **given}
        with pytest.raises(CalcError, match=says):
            values("titrate", **asked)

    def test_chloride_that_is_not_there(self) -> None:
        with pytest.raises(CalcError, match="more than"):
            titrated("potassium chloride", "silver nitrate 0.1N", "1mL", "10mL", zinc="34.98g/L", nickel="24.94g/L")


class TestData:
    def test_every_method_is_whole(self) -> None:
        catalogue = load()
        for one in titrations().values():
            assert one.method in catalogue.methods, one.name
            assert not one.less_method or one.less_method in catalogue.methods
            assert one.less is None or not one.less.method or one.less.method in catalogue.methods
            assert all(substance(t, "titrant") for t in one.titrants)
            assert one.status in ("seen", "derived", "memory", "practice")
            assert one.source or one.status in ("memory", "practice"), one.name
            assert min(len(t) for t in (one.indicator, one.buffer, one.blank, one.interferes)) > 3

    def test_every_example_runs(self) -> None:
        for one in titrations().values():
            found = titrated(one.name, one.example, one.sample, "0.5mL")
            assert found["concentration_g_l"] > 0


class TestReading:
    def reading(self, lot: str | None = None, **asked: str) -> dict[str, Any]:
        return as_reading(answer("titrate", **asked), "electrolyte", lot)

    def test_is_an_entry(self) -> None:
        raw = self.reading("E-7", of="zinc", titrant="EDTA 0.1M", sample="2mL", used="12.4mL")
        entry = parse({**raw, "id": "not-logged", "at": datetime(2026, 5, 1, tzinfo=UTC)})
        value = entry.values[0]  # type: ignore[union-attr]
        assert (value.of, value.unit, value.method, value.lot) == ("zinc", "g/L", "EDTA titration", "E-7")
        assert value.value == pytest.approx(40.5356)
        assert value.spread == pytest.approx(0.437, abs=0.001)

    def test_of_a_difference_names_both_metals_and_the_method(self) -> None:
        raw = self.reading(of="zinc", titrant="EDTA 0.1M", sample="2mL", used="19.2mL", less="8.5mL")
        assert [(v["of"], v["method"]) for v in raw["values"]] == [("zinc", "zinc by difference"), ("nickel", "EDTA titration")]
        assert raw["values"][1]["value"] == printed("24.94")

    def test_of_alkali_has_both(self) -> None:
        raw = self.reading(of="free alkali", titrant="HCl 1N", sample="10mL", used="3.4mL", total="6mL")
        assert [v["of"] for v in raw["values"]] == ["free alkali", "total alkali"]

    def test_of_a_hydrometer(self) -> None:
        raw = as_reading(answer("density", baume="22"), "electrolyte")
        assert raw["values"] == [
            {"of": "density", "value": pytest.approx(1.17886, abs=1e-5), "unit": "g/cm3", "method": "hydrometer"}
        ]
        assert raw["values"][0]["method"] in load().methods

    def test_of_what_was_not_measured_is_refused(self) -> None:
        with pytest.raises(CalcError, match="no reading"):
            as_reading(answer("density", acid="hydrochloric acid 20%"), "pickle")

    def test_of_a_salt_by_difference_is_the_chloride_that_silver_found(self) -> None:
        raw = self.reading(
            of="potassium chloride", titrant="AgNO3 0.1N", sample="1mL", used="42.3mL", zinc="34.98g/L", nickel="24.94g/L"
        )
        assert [(v["of"], v["method"]) for v in raw["values"]] == [("chloride", "chloride by silver nitrate")]
        assert raw["values"][0]["value"] == printed("149.95", slack=1)

    def test_names_are_those_that_recipes_count(self) -> None:
        tracked = {name for recipe in load().recipes.values() for name in recipe.species}
        untracked = {t.reading for t in titrations().values()} - tracked
        assert untracked == {"fluoboric acid"}

    def test_spread_of_a_difference_leaves_the_partner_s_share_to_the_book(self) -> None:
        found = answer("titrate", of="zinc", titrant="EDTA 0.1M", sample="2mL", used="19.2mL", less="8.5mL")
        zinc, nickel = found.measured
        # by hand: zinc 3.269 x hypot(0.05, 0.192), nickel 2.935 x hypot(0.05, 0.085); both in the answer
        assert zinc.spread == printed("0.649", slack=1)
        assert nickel.spread == printed("0.289", slack=1)
        assert found.values["spread_g_l"] == pytest.approx(
            (zinc.spread**2 + (nickel.spread * 65.38 / 58.693) ** 2) ** 0.5, rel=1e-3
        )
