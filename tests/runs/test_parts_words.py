"""The ways people write parts: what each comes to, or what would be right. Areas are worked out apart in `test_areas.py`."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load
from bathkeeper.runs.library import KnownPart
from bathkeeper.runs.parts import PartArea, PartError, understand_part, understand_parts
from bathkeeper.units.door import Preferences

PREFS = Preferences()


def understood(text: str) -> PartArea:
    return understand_part(text, PREFS, load())


@pytest.mark.parametrize(
    ("text", "count", "each_cm2", "title"),
    [
        ("20x M8x30 hex bolt", 20, 16.29, "M8x30 hex bolt"),
        ("M8 x 30 x20", 20, 16.29, "M8x30 hex bolt"),
        ("M8x30 hex bolt x20", 20, 16.29, "M8x30 hex bolt"),
        ("20 × M8×30", 20, 16.29, "M8x30 hex bolt"),
        ("M8*30 bolts, 20 off", 20, 16.29, "M8x30 hex bolt"),
        ("m8x30 bolt", 1, 16.29, "M8x30 hex bolt"),
        ("M8 × 30 mm hexagon head screw", 1, 16.29, "M8x30 hex bolt"),
        ("M8x1.25x30x20", 20, 16.29, "M8x30 hex bolt"),
        ("\u202eM8x30\x00", 1, 16.29, "M8x30 hex bolt"),
        ("M8x1x30 bolt", 1, 16.55, "M8x1x30 hex bolt"),
        ("25 M6x20", 25, 8.556, "M6x20 hex bolt"),
        ("M6x20 x 25", 25, 8.556, "M6x20 hex bolt"),
        ("4 No. M10x40 hex bolts 10.9", 4, 26.38, "M10x40 hex bolt"),
        ("12x M8 hex nut", 12, 7.508, "M8 hex nut"),
        ("M8 nuts (12)", 12, 7.508, "M8 hex nut"),
        ("M8 flange nut x 10", 10, 10.73, "M8 flange nut"),
        ("10x M8 nyloc nut", 10, 7.36, "M8 lock nut"),
        ("M8 washers, qty 30", 30, 4.139, "M8 plain washer"),
        ("M12x100 stud", 1, 57.66, "M12x100 threaded rod"),
        ("M10 threaded rod 1000 mm", 1, 466.97, "M10x1000 threaded rod"),
        ("M6x20 socket head cap screw 12.9", 1, 9.41, "M6x20 socket head cap screw"),
        ("M5x10 grub screw", 1, 2.80, "M5x10 set screw"),
        ("M6x16 csk screw", 1, 6.43, "M6x16 countersunk"),
        ("M8x30 flange bolts x 12", 12, 19.86, "M8x30 flange bolt"),
        ("20 off 5/16-18 x 1 1/4 UNC", 20, 16.60, "5/16-18 UNC x 1.25 in hex bolt"),
        ("20 off 5/16-18 x 1.25", 20, 16.60, "5/16-18 UNC x 1.25 in hex bolt"),
        ('5/16 UNC x 1 1/4" bolt, 8 off', 8, 16.60, "5/16-18 UNC x 1.25 in hex bolt"),
        ("5/16-18 x 31.75 mm hex bolt", 1, 16.60, "5/16-18 UNC x 1.25 in hex bolt"),
        ('1/4" x 1" bolt', 1, 10.97, "1/4-20 UNC x 1 in hex bolt"),
        ("1/4 UNF x 1 in bolt", 1, 11.28, "1/4-28 UNF x 1 in hex bolt"),
        ("#10-32 x 1/2 socket head cap screw", 1, 5.27, "#10-32 UNF x 0.5 in socket head cap screw"),
        ('6x 3/8-16 x 2 1/2" hex bolt grade 8', 6, 34.32, "3/8-16 UNC x 2.5 in hex bolt"),
        ("1-8 x 4 bolt", 1, 168.5, "1-8 UNC x 4 in hex bolt"),
        ("3/8-24 nut", 1, 9.926, "3/8-24 UNF hex nut"),
        ("3/8 washer", 1, 5.245, "3/8 plain washer"),
        ("plate 120x80x3 mm", 1, 204.0, "plate 120 x 80 x 3 mm"),
        ("plate 120,5 x 80 x 3 mm", 1, 204.83, "plate 120.5 x 80 x 3 mm"),
        ("2x plate 100 by 60 by 2 mm", 2, 126.4, "plate 100 x 60 x 2 mm"),
        ("100mm x 60mm x 2mm plate", 1, 126.4, "plate 100 x 60 x 2 mm"),
        ("plate 4 x 120x80x3 mm", 4, 204.0, "plate 120 x 80 x 3 mm"),
        ("3 plates 10x20x0.5 cm", 3, 430.0, "plate 100 x 200 x 5 mm"),
        ('4x plate 4" x 2" x 1/8"', 4, 112.9, "plate 101.6 x 50.8 x 3.175 mm"),
        ("plate 4 in by 2 in by 1/8 in", 1, 112.9, "plate"),
        ("plate 4” × 2” × 1/8”", 1, 112.9, "plate"),
        ("plate 1 1/2 x 3 x 1/4 in", 1, 72.58, "plate 38.1 x 76.2 x 6.35 mm"),
        ("2 x 3 x 4 in block", 1, 335.48, "block"),
        ("round bar 4 in x 14 in", 1, 1297.2, "round bar"),
        ("⌀20 x 100 mm round bar", 1, 69.12, "round bar 20 x 100 mm"),
        ("tube 40x2x300 mm", 1, 721.06, "tube"),
        ("tube 40x2x300 mm outside only", 1, 376.99, "tube"),
        ("square tube 30x30x2x300 mm", 1, 676.48, "square tube"),
        ("angle 40x40x3x200 mm", 1, 324.62, "angle"),
        ("channel 50x25x3x200 mm", 1, 393.64, "channel"),
        ("flat bar 40x5x200 mm", 1, 184.0, "flat bar"),
        ("plate 120x80x3 mm one face", 1, 96.0, "plate"),
        ("plate 120x80x3 mm with 4 holes 8.5 mm", 1, 202.67, "plate"),
        ("bracket 100x60x3 + 60x40x3 mm with 4 holes 8.5 mm", 1, 179.87, "bracket"),
        ("bracket 100x60x3mm + 60x40x3mm", 1, 181.2, "bracket"),
        ("wire 0.8 mm 50 g steel", 1, 318.5, "wire"),
        ("wire 0.8 mm 12.672 m", 1, 318.5, "wire"),
        ("sheet 2 mm 500 g steel", 1, 636.9, "sheet"),
        ("clips 0.8 mm 250 g", 1, 796.2, "clip"),
        ("balls 6 mm 200 g steel", 1, 254.8, "ball"),
        ("2x hook 2 mm 150 mm submerged", 2, 9.425, "hook"),
        ("5 pcs ring 30x20x5 mm", 5, 15.71, "ring"),
        ('sphere 1"', 1, 20.27, "sphere"),
        ("cone 30x50 mm", 1, 31.67, "cone"),
    ],
)
def test_what_is_understood(text: str, count: int, each_cm2: float, title: str) -> None:
    part = understood(text)
    assert part.count == count
    assert part.title.startswith(title)
    assert part.each_mm2 / 100 == pytest.approx(each_cm2, rel=2e-3)
    assert part.counted, "which faces are counted is always said"
    assert 0.02 <= part.spread <= 0.1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no part is named"),
        ("bolt", "write for example"),
        ("M8", "how long it is, is missing; write for example M8x30 hex bolt"),
        ("M8x30 rivet", "no fastener known here; there are hex bolt"),
        ("M8x30 hex blot", "did you mean hex bolt"),
        ("M8x30 nut", "has no length; write for example M8 hex nut"),
        ("M7x30", "M7 is not in the table"),
        ("M8x2x30", "no pitch of M8"),
        ("M2 flange bolt", "no flange bolt of that size is on record; there are M5"),
        ("M6x3 csk screw", "shorter than its head"),
        ("3/8-20 nut", "16 threads an inch as UNC and 24 as UNF, not 20"),
        ("3/8-24 UNC nut", "not 24 UNC"),
        ("13/16-10 x 2 bolt", "13/16 is not in the table"),
        ("2x plate 100 by 60 by 2", "the unit is missing; write for example plate 120x80x3 mm"),
        ("plate 10x20 mm", "plate needs length, width, thickness"),
        ("plate 10x20x3 g", "length is wanted"),
        ("plate 0x20x3 mm", "above zero"),
        ("plate 10x-20x3 mm", "below zero"),
        ("tube 40x25x300 mm", "leaves no inside"),
        ("square tube 30x30x15x300 mm", "leaves no inside"),
        ("angle 40x40x45x200 mm", "the thickness stands third"),
        ("ring 10x20x3 mm", "the hole is not smaller"),
        ("brackets", "a bracket is a sum of plates"),
        ("plate 10x10x2 mm with 9 holes 8 mm", "the holes take more"),
        ("sphere 20 mm with 2 holes 5 mm", "holes in a sphere are not worked out"),
        ("sphere 20 mm one face", "say its area instead"),
        ("wire 0.8 mm", "a wire needs its diameter"),
        ("wire 0.8 mm 50 g cheese", "cheese"),
        ("0x M8x30", "0 of them cannot be"),
        ("20x M8x30 x10", "is it 20 or 10 of them"),
        ("a dozen bolts", "write for example"),
        ("M3x150 bolt partly threaded", "is not in the table"),
    ],
)
def test_what_is_refused_says_what_would_be_right(text: str, says: str) -> None:
    with pytest.raises(PartError) as caught:
        understood(text)
    assert says in str(caught.value)


def test_a_property_class_is_kept_for_the_embrittlement_rule() -> None:
    assert understood("4x M10x40 hex bolt 10.9").property_class == "10.9"
    assert understood("M8x30 class 8.8").property_class == "8.8"
    assert understood('3/8-16 x 2" bolt grade 8').property_class == "grade 8"
    assert understood("M8x30 hex bolt").property_class is None


def test_several_parts_are_parted_by_semicolons_or_lines() -> None:
    parts = understand_parts("20x M8x30 hex bolt; 20x M8 nut\nplate 120x80x3 mm", PREFS, load())
    assert [p.count for p in parts] == [20, 20, 1]
    with pytest.raises(PartError, match="rivet"):
        understand_parts("20x M8x30; M8x10 rivet", PREFS, load())


def test_the_workshops_own_parts_come_first() -> None:
    known = {"Gate hinge": KnownPart("Gate hinge", 1.2, 0.1, 3, "run-1", False, "10.9")}
    part = understand_part("4x gate  hinges", PREFS, load(), known)
    assert part.count == 4
    assert part.area_dm2 == pytest.approx(4.8)
    assert part.half_dm2 == pytest.approx(0.4)
    assert part.property_class == "10.9"
    assert "3 runs before" in part.counted


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(
        st.text(max_size=60),
        st.lists(
            st.sampled_from(
                ["20x", "M8", "x30", "x", "1/4", "-20", '"', "in", "mm", "plate", "hex", "bolt", "nut", "3", "0", "-", ",",
                 "off", "#8",
                 "holes", "with", "4", "kg", "wire", "bracket", "+", "one face", "UNC", "10.9", "99999999", "½", "hook"]
            ),
            max_size=9,
        ).map(" ".join),
    )
)  # fmt: skip
def test_any_text_gives_an_area_or_a_sentence(text: str) -> None:
    try:
        part = understood(text)
    except PartError as refusal:
        assert str(refusal)
    else:
        assert part.each_mm2 > 0
        assert part.count >= 1
