"""What is said beside the numbers: cautions where the hazard is and only there, and texts that say the same as the values."""

from __future__ import annotations

import pytest

from .asking import answer, values


def cautions(name: str, **texts: object) -> str:
    return " ".join(answer(name, **texts).cautions)


class TestCautions:
    def test_current_density_nobody_plates_at(self) -> None:
        assert "more than is plated here" in cautions("current", area="1dm2", density="20.1A/dm2")
        assert not cautions("current", area="1dm2", density="20A/dm2")
        assert "more than is plated here" in cautions("deposit", metal="zinc", charge="9Ah", current="30A", area="1dm2")

    def test_hydrogen_only_where_it_forms(self) -> None:
        assert "no flame" in cautions("hydrogen", charge="1Ah", efficiency="93%")
        assert not cautions("hydrogen", charge="1Ah", efficiency="100%")

    def test_efficiency_a_little_over_all_of_it(self) -> None:
        over = answer("deposit", metal="zinc", charge="1Ah", mass="1.24g")
        assert 1.0 < over.values["efficiency"] < 1.03  # type: ignore[operator]
        assert "error of weighing" in " ".join(over.cautions)
        assert "error of weighing" not in cautions("deposit", metal="zinc", charge="1Ah", mass="1.2g")

    def test_poisons_are_named(self) -> None:
        assert "cancer" in cautions("deposit", metal="cadmium", charge="1Ah")
        assert "cancer" in cautions("add", reagent="nickel chloride", amount="10g", volume="1L")
        assert "hand it over whole" in cautions("neutralise", volume="1L", metal="cadmium 1g/L", base="lime")

    def test_neutralising(self) -> None:
        asked = {"volume": "1L", "base": "sodium hydroxide"}
        assert "ammonia" in cautions("neutralise", **asked, ammonium="10g/L")
        assert "ammonia" not in cautions("neutralise", **asked, boric="10g/L")
        assert "Nitric acid" in cautions("neutralise", **asked, acid="nitric acid 5g/L")
        assert "Nitric acid" not in cautions("neutralise", **asked, acid="hydrochloric acid 5g/L")
        assert "must not dry to dust" in cautions("neutralise", **asked, metal="nickel 5g/L")
        assert "must not dry to dust" not in cautions("neutralise", **asked, metal="zinc 5g/L")
        assert "Boils and spits" in cautions("neutralise", **asked, metal="zinc 5g/L")
        assert "Foams" in cautions("neutralise", volume="1L", base="soda ash", metal="zinc 5g/L")

    def test_acid_goes_into_water_and_base_is_no_acid(self) -> None:
        jar = {"sample": "100mL", "used": "6mL", "volume": "40L"}
        assert "Acid into water" in cautions("jar", **jar, titrant="sulfuric acid 0.1N", stock="sulfuric acid 96%")
        assert "cold water" in cautions("jar", **jar, titrant="sodium hydroxide 0.1N", stock="sodium hydroxide")

    def test_the_modulus_matters_to_degrees_alone(self) -> None:
        assert "modulus" in cautions("density", baume="20")
        assert not cautions("density", sg="1.2")

    def test_swapping_makes_waste(self) -> None:
        assert "waste" in cautions("dilute", from_="4g/L", to="3g/L")
        assert not cautions("dilute", volume="36L", full="40L", from_="88g/L")


class TestNumbersBesideNumbers:
    def test_heat_of_metals_is_on_top_of_that_of_acid(self) -> None:
        # by hand: 1 eq of acid 55.8 kJ; 1 mol of zinc is 2 eq of 14 kJ
        asked = {"volume": "1L", "base": "sodium hydroxide", "acid": "hydrochloric acid 36.46g/L"}
        assert values("neutralise", **asked)["heat_kj"] == pytest.approx(55.8, rel=1e-3)
        assert values("neutralise", **asked, metal="zinc 65.38g/L")["heat_kj"] == pytest.approx(55.8 + 28, rel=1e-3)

    def test_what_takes_base_adds_up(self) -> None:
        asked = {"volume": "1L", "base": "lime", "acid": "nitric acid 63.01g/L", "metal": "zinc 32.69g/L", "boric": "61.83g/L"}
        found = values("neutralise", **asked, ph="9.24")
        assert [found[k] for k in ("acid_equivalents", "metal_equivalents", "weak_equivalents")] == [
            pytest.approx(1.0, rel=1e-3), pytest.approx(1.0, rel=1e-3), pytest.approx(0.5, rel=1e-3)
        ]  # fmt: skip
        assert found["equivalents"] == pytest.approx(2.5, rel=1e-3)

    def test_sludge_as_text(self) -> None:
        found = answer("neutralise", volume="20L", metal=("zinc 35g/L", "nickel 25g/L"), base="sodium hydroxide")
        assert "sludge: 1.854 kg dry, 7.416 to 61.8 kg wet" in found.lines

    def test_stock_by_its_strength_or_as_a_powder(self) -> None:
        jar = {"sample": "100mL", "used": "6mL", "titrant": "hydrochloric acid 0.1N", "volume": "40L"}
        # by hand: 0.24 eq of 100 g/L is 87.5 mL; of dry bisulfate 28.8 g
        assert values("jar", **jar, stock="hydrochloric acid 100g/L")["amount_ml"] == pytest.approx(87.5, rel=1e-3)
        dry = values("jar", **jar, stock="sodium bisulfate")
        assert dry["weigh_g"] == pytest.approx(28.81, rel=1e-3)
        assert dry["amount_ml"] is None
        assert dry["first_quarter_ml"] is None

    def test_small_volumes_are_shown_in_millilitres(self) -> None:
        jar = {"sample": "100mL", "used": "6mL", "titrant": "sulfuric acid 0.1N", "stock": "sulfuric acid 96%"}
        assert "6.662 mL of the stock" in answer("jar", **jar, volume="40L").lines[1]
        assert "0.6662 L of the stock" in answer("jar", **jar, volume="4000L").lines[1]

    def test_duplicates_apart_widen_by_half_their_distance(self) -> None:
        asked = {"of": "zinc", "titrant": "EDTA 0.1M", "sample": "2mL", "pipette": "0.0001mL"}
        assert values("titrate", **asked, used=("12.0mL", "12.8mL"))["spread_g_l"] == pytest.approx(0.4 * 3.269, rel=1e-3)

    def test_a_blank_has_an_error_too(self) -> None:
        asked = {"of": "zinc", "titrant": "EDTA 0.1M", "sample": "2mL", "pipette": "0.0001mL", "used": "12mL"}
        plain, blanked = (values("titrate", **asked, **more)["spread_g_l"] for more in ({}, {"blank": "0.1mL"}))
        assert blanked == pytest.approx(2**0.5 * plain, rel=1e-3)

    @pytest.mark.parametrize(("length", "threaded"), [(125, 26), (126, 32), (200, 32), (201, 45)])
    def test_threaded_length_of_long_bolts(self, length: int, threaded: int) -> None:
        # ISO 4014 for M10: 26 mm up to 125, 32 up to 200, 45 above
        assert f"{threaded} mm of it threaded" in answer("area", part=f"M10x{length} bolt partly threaded").lines[0]

    def test_plurals(self) -> None:
        assert "over 1 stage" in answer("rinse", ratio="100", stages="1").lines[0]
        assert "over 2 stages" in answer("rinse", ratio="100", stages="2").lines[0]
        assert answer("convert", value="5.4", unit="pH").lines == ("5.4 pH",)

    def test_waits_only_for_what_a_gallon_would_tell(self) -> None:
        found = answer("rinse", drag_in="1gal/h", water="99gal/h")
        assert [o.split(" ")[0] for o in found.open] == ["water_l_h"]
        assert found.values["racks"] is None
