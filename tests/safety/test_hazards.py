"""Cautions have their cause in the workshop: there when it is, louder when it is at work, absent when it is not."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load as catalogue
from bathkeeper.safety.hazards import hazards, ventilation
from bathkeeper.safety.meeting import meeting_findings
from tests.safety.shops import LINE, Diary


def found(diary, **kw):
    return {f.id: f for f in hazards(diary.shop(**kw))}


def test_the_whole_line_has_its_usual_cautions():
    ids = found(Diary())
    assert {
        "electrolyte.caution.chlorine",
        "rust-removal.caution.chromium-vi-anode",
        "passivate.caution.chromium-vi-film",
        "pickle.caution.stripped-coating",
        "electrolyte.caution.hydrogen",
        "rust-removal.caution.hydrogen",
        "electrolyte.caution.nickel",
        "pickle.caution.hydrogen-acid",
        "acid-dip.caution.nitric",
        "electrolyte.caution.nitrate",
        "pickle.caution.acid-into-water",
        "electrolyte.caution.high-strength",
    } <= set(ids)
    assert {f.level for f in ids.values()} == {"later"}  # nothing is at work
    for finding in ids.values():
        (source,) = finding.because.sources
        assert source == "common practice" or re.match(r"(seen|derived|memory): .{10}", source), source


def test_an_empty_workshop_has_nothing_to_say():
    assert found(Diary(line=[])) == {}
    assert found(Diary(line=[("rinse", "rinse", "still-rinse")])) == {}


def test_chlorine_only_in_chloride_and_loud_when_an_inert_anode_hangs():
    diary = Diary()
    hung = diary.tell("anode", tank="electrolyte", anode="mesh", action="hung", metal="coated titanium", mass_g=100)
    chlorine = found(diary)["electrolyte.caution.chlorine"]
    assert chlorine.level == "now" and "mesh" in chlorine.why and chlorine.because.entries == (hung.id,)
    assert "0.456 L chlorine per Ah" in chlorine.why  # 3600 / (2 F) mol of an ideal gas at 25 degC and 1 atm
    diary.tell("anode", tank="electrolyte", anode="mesh", action="lifted")
    assert found(diary)["electrolyte.caution.chlorine"].level == "later"
    diary.tell("anode", tank="electrolyte", anode="basket", action="hung", metal="titanium", mass_g=100)
    assert found(diary)["electrolyte.caution.chlorine"].level == "later"  # a basket is no inert anode
    assert "rust-removal.caution.chlorine" not in found(diary)


def test_salt_in_the_rust_removal():
    diary = Diary()
    salt = diary.add("rust-removal", "table salt")
    finding = found(diary)["rust-removal.caution.chlorine"]
    assert finding.level == "now" and finding.because.entries == (salt.id,)
    diary.tell("make_up", tank="rust-removal", volume_l=20)
    assert "rust-removal.caution.chlorine" not in found(diary)


def test_a_stainless_anode():
    diary = Diary()
    diary.tell("anode", tank="rust-removal", anode="spoon", action="hung", metal="stainless steel", mass_g=50)
    finding = found(diary)["rust-removal.caution.chromium-vi-anode"]
    assert finding.level == "now" and "spoon" in finding.why and "local authority" in finding.why


def test_an_oxidiser_beside_the_passivate():
    diary = Diary()
    peroxide = diary.add("electrolyte", "hydrogen peroxide 3%", 40, "mL")
    finding = found(diary)["passivate.caution.chromium-vi-film"]
    assert finding.level == "soon" and "hydrogen peroxide 3%" in finding.why and finding.because.entries == (peroxide.id,)
    assert "204 degC" in finding.why


def test_coatings_stripped():
    diary = Diary()
    run = diary.run("pickle", "rinse-2", parts=[{"description": "old bolts", "coating_stripped_g": 2.5}])
    finding = found(diary)["pickle.caution.stripped-coating"]
    assert finding.level == "soon" and finding.because.entries == (run.id,)
    for word in ("cadmium", "chromium", "2.5 g", "local authority"):
        assert word in finding.what + finding.why, word


def test_hydrogen_says_litres_and_air():
    diary = Diary()
    diary.run("rust-removal", charge={"current_a": 20})
    why = found(diary)["rust-removal.caution.hydrogen"].why
    assert "0.456 L for every Ah" in why and "at 20 A" in why and "9.1 L and 0.91 m3" in why
    learned = {f.id: f for f in hazards(diary.shop(), {"electrolyte": 0.5})}["electrolyte.caution.hydrogen"].why
    assert "0.5, learned here" in learned and "0.228 L" in learned


@pytest.mark.parametrize(
    ("amperes", "efficiency", "litres", "air"), [(20, 0.70, 2.74, 0.27), (20, 0.0, 9.1, 0.91), (1, 0.0, 0.456, 0.0456)]
)
def test_ventilation(amperes, efficiency, litres, air):
    """Faraday: 3600 / (2 F) = 0.018656 mol/Ah, 24.465 L/mol at 25 degC and 1 atm."""
    made = ventilation(amperes, efficiency)
    assert made.litres_25c == pytest.approx(litres, rel=0.005)
    assert made.air_m3_for_1_percent == pytest.approx(air, rel=0.02)
    assert made.litres_25c == pytest.approx(amperes * (1 - efficiency) * 3600 / (2 * 96485.33) * 8.314463 * 298.15 / 101.325)


def test_one_rinse_for_both_sides_of_the_chloride_bath():
    diary = Diary()
    plate = diary.run("pickle", "rinse-2", "electrolyte", "rinse-3")
    dip = diary.run("acid-dip", "rinse-4", "passivate")
    assert found(diary)["electrolyte.caution.nitrate"].level == "later"
    shared = diary.run("acid-dip", "rinse-2", "passivate")
    finding = found(diary)["electrolyte.caution.nitrate"]
    assert finding.level == "soon" and "rinse-2" in finding.what and set(finding.because.entries) == {plate.id, shared.id}
    assert dip.id not in finding.because.entries


def test_the_only_rinse_there_is():
    diary = Diary(line=[x for x in LINE if x[1] != "rinse" or x[0] == "rinse-2"])
    assert "only rinse" in found(diary)["electrolyte.caution.nitrate"].what
    without = Diary(line=[x for x in LINE if x[0] != "acid-dip"])
    assert "electrolyte.caution.nitrate" not in found(without)


def test_nitric_acid_for_the_ph():
    diary = Diary()
    poured = diary.add("electrolyte", "nitric acid 68%", 20, "mL")
    finding = found(diary)["electrolyte.caution.nitrate"]
    assert finding.level == "now" and finding.because.entries == (poured.id,)


def test_strong_acids_on_record():
    diary = Diary()
    assert "workshop.caution.acid-into-water" not in found(diary)
    diary.add("electrolyte", "muriatic acid", 20, "mL")
    assert "hydrochloric acid 31%" in found(diary)["workshop.caution.acid-into-water"].why


@pytest.mark.parametrize(
    ("part", "loud"),
    [
        ({"safety_critical": True}, True),
        ({"property_class": "10.9"}, True),
        ({"property_class": "12.9"}, True),
        ({"strength_mpa": 1000}, True),
        ({"strength_mpa": 999}, False),
        ({"property_class": "8.8"}, False),
        ({}, False),
        ({"property_class": "whatever it says"}, True),
    ],
)
def test_parts_for_a_qualified_plater(part, loud):
    diary = Diary()
    run = diary.run("pickle", "electrolyte", parts=[{"description": "swing arm bolt", **part}])
    finding = found(diary)["electrolyte.caution.high-strength"]
    assert "qualified plater, no verdict from us" in finding.what
    assert (finding.level, finding.because.entries) == (("soon", (run.id,)) if loud else ("later", ()))
    assert ("swing arm bolt" in finding.why) == loud


def test_cyanide_anywhere():
    diary = Diary()
    assert "workshop.caution.cyanide" not in found(diary)
    assert found(diary, on_shelf=["sodium cyanide"])["workshop.caution.cyanide"].level == "now"


def test_a_tank_out_of_service_says_nothing():
    diary = Diary(line=[])
    diary.tell("tank", tank="electrolyte", role="plate", recipe="zinc-nickel-chloride-potassium", in_service=False)
    assert found(diary) == {}


def test_a_users_braces_and_brackets_are_only_text():
    diary = Diary()
    diary.run("electrolyte", parts=[{"description": "{0} [/] %s", "safety_critical": True}])
    assert "{0} [/] %s" in found(diary)["electrolyte.caution.high-strength"].why


REAGENTS = sorted(catalogue().reagents)


@given(
    line=st.lists(st.sampled_from(LINE), unique=True),
    reagents=st.lists(st.sampled_from([*REAGENTS, "bleach", "sodium sulfide", "my own stuff"]), max_size=8),
)
def test_no_caution_promises_anything_and_ids_are_unique(line, reagents):
    shop = Diary(line=line).shop(on_shelf=reagents)
    every = [*hazards(shop), *meeting_findings(shop.vessels)]
    assert len({f.id for f in every}) == len(every)
    for finding in every:
        assert finding.id.startswith(f"{finding.tank}.caution.")
        assert finding.tank == "workshop" or finding.tank in {t for t, *_ in line}
        assert finding.because.sources
        text = f"{finding.what} {finding.why} {finding.because.text}".casefold()
        for word in ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous"):
            assert word not in text
        assert not re.search(r"\bsafe(ly)?\b", text)


def test_nitrate_matters_only_to_a_chloride_bath():
    diary = Diary(line=[("tin", "plate", None), ("acid-dip", "acid dip", "nitric-dip"), ("rinse-1", "rinse", "running-rinse")])
    assert "tin.caution.nitrate" not in found(diary)
    diary.add("tin", "potassium chloride", 500)
    assert "tin.caution.nitrate" in found(diary)


def test_a_rinse_further_back_in_the_line_is_not_shared():
    diary = Diary()
    diary.run("rinse-1", "pickle", "rinse-2", "electrolyte")
    diary.run("acid-dip", "rinse-1", "passivate")
    assert found(diary)["electrolyte.caution.nitrate"].level == "later"
