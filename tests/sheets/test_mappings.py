"""A mapping proposed, asked about, written by hand, kept and found again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bathkeeper.catalogue.own_sheets import SheetMapping
from bathkeeper.entries import Definition
from bathkeeper.sheets.asking import LEAVE_OUT, answered
from bathkeeper.sheets.roles import role_of_words, role_words, with_role
from bathkeeper.sheets.taking import MappingError, look, mapping_body, mapping_of_text, mapping_toml, saved_mappings
from bathkeeper.workshop import Workshop

from .helpers import HEAD, csv_file, entries, imported, line_of_tanks, planned, reasons, understood, values


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return line_of_tanks(tmp_path)


@pytest.mark.parametrize(
    ("heading", "cell", "takes"),
    [
        ("Zn (g/L)", "31", "reading: zinc, g/L"),
        ("zinc g/l", "31", "reading: zinc, g/l"),
        ("Nickel [g/L]", "31", "reading: nickel, g/L"),
        ("pH", "5.4", "reading: ph"),
        ("bath temp °C", "35", "reading: temperature, °C"),
        ("Temp (°F)", "95", "reading: temperature, °F"),
        ("SG", "1.2", "reading: density"),
        ("Level (mm)", "180", "reading: level, mm"),
        ("chloride, g/L", "150", "reading: chloride, g/L"),
        ("Job", "hinges", "not taken"),
        ("Remarks", "dull", "remark: text"),
        ("operator", "me", "who wrote it"),
        ("Tank", "pickle", "the tank"),
        ("zinc chloride (g)", "120", "addition: zinc chloride, g"),
        ("added brightener (mL)", "40", "addition: brightener, mL"),
        ("top-up (L)", "2", "addition: water, L"),
        ("ZnCl2 g", "100", "addition: zinc chloride, g"),
        ("bailed out (L)", "1", "removal: volume, L"),
        ("new bath (L)", "40", "make-up: volume, L"),
        ("zinc-1 (kg)", "3.9", "anode: zinc-1, weighed, kg"),
        ("Ni 2 weight g", "900", "anode: nickel-2, weighed, g"),
        ("anode nickel 2 (g)", "900", "anode: nickel-2, weighed, g"),
        ("moon", "full", "not taken"),
        ("[/]\x1b[31m", "x", "not taken"),
    ],
)
def test_what_a_heading_is_taken_for(workshop: Workshop, tmp_path: Path, heading: str, cell: str, takes: str) -> None:
    looked = look(workshop, csv_file(tmp_path, f'Date,"{heading}"', f"2026-02-13,{cell}"))
    assert role_words(looked.mapping, looked.heads.names[1]) == takes


def test_a_run_needs_more_than_a_description(workshop: Workshop, tmp_path: Path) -> None:
    looked = look(workshop, csv_file(tmp_path, HEAD, "13/02/2026,hinges,3.2,6.5,45,,,,"))
    told = [role_words(looked.mapping, n) for n in looked.heads.names]
    assert told[:5] == ["the date", "run: description", "run: area, dm2", "run: current, A", "run: minutes, min"]


def test_units_that_leave_something_open_are_asked(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,Zn (oz/gal),Ni,Water (gal),pH", "2026-02-13,4.3,24,1,5.4", "2026-02-14,32 g/L,,,")
    looked = look(workshop, path)
    assert [(q.key, len(q.choices)) for q in looked.open] == [("unit:Zn (oz/gal)", 2), ("unit:Ni", 0), ("unit:Water (gal)", 2)]
    answers = {"unit:Zn (oz/gal)": "oz/US gal", "unit:Ni": "g/L", "unit:Water (gal)": "imp gal"}
    plan = planned(workshop, path, answers)
    first, second = (e["values"][0] for e in entries(plan, "reading"))
    assert first["value"] == pytest.approx(4.3 * 7.4892, rel=1e-4)  # 1 oz/US gal = 7.4892 g/L
    assert second["value"] == 32  # the unit in the cell wins
    assert entries(plan, "addition")[0]["items"][0]["amount"] == pytest.approx(4.54609)  # an imperial gallon, by its definition
    for wrong in ("gal", "kg", "oz/gal", ""):
        with pytest.raises(ValueError, match=r"no unit|could be"):
            answered(looked.mapping, "unit:Ni", wrong, workshop.vocabulary)


def test_a_workshop_that_says_which_gallon_is_not_asked(tmp_path: Path) -> None:
    workshop = line_of_tanks(tmp_path, gallon="us", ounce="avoirdupois")
    path = csv_file(tmp_path, "Date,Zn (oz/gal)", "2026-02-13,4.3")
    assert values(planned(workshop, path))["zinc"] == pytest.approx(4.3 * 7.4892, rel=1e-4)


@pytest.mark.parametrize(("answer", "zinc", "water"), [("point", 31.5, 1500), ("comma", None, 1.5)])
def test_the_decimal_mark_is_asked_where_it_decides(
    workshop: Workshop, tmp_path: Path, answer: str, zinc: float | None, water: float
) -> None:
    path = csv_file(tmp_path, "Date;Zn (g/L);Water (mL)", "2026-02-13;31.5;", '2026-02-14;;"1,500"')
    looked = look(workshop, path)
    assert [q.key for q in looked.open] == ["decimal"]
    plan = planned(workshop, path, {"decimal": answer})
    assert entries(plan, "addition")[0]["items"][0]["amount"] == water / 1000
    assert (
        values(plan) == ({"zinc": zinc} if zinc else {})
        and (3 in reasons(plan)) is False
        and (2 in reasons(plan)) is (zinc is None)
    )


def test_without_an_answer_one_thousand_five_hundred_is_never_read(workshop: Workshop, tmp_path: Path) -> None:
    from bathkeeper.sheets.taking import read

    from .helpers import NOW

    path = csv_file(tmp_path, "Date;Zn (g/L);Water (mL)", "2026-02-13;31.5;", '2026-02-14;;"1,500"', "2026-02-15;;1.250")
    plan = read(workshop, look(workshop, path), NOW)
    assert set(reasons(plan)) == {3, 4} and "1.5 or 1500" in reasons(plan)[3]


def test_words_for_tanks_are_asked_and_kept(workshop: Workshop, tmp_path: Path) -> None:
    lines = [
        "Date,Tank,pH",
        *(f"2026-02-1{n},{t},5.{n}" for n, t in enumerate(["ZN", "ZN", "electrolyte", "old crock", "old crock", "pick"])),
    ]
    path = csv_file(tmp_path, *lines)
    looked = look(workshop, path)
    assert [q.key for q in looked.open] == ["tank:ZN", "tank:old crock"]
    answers = {"tank:ZN": "electrolyte", "tank:old crock": LEAVE_OUT}
    plan = imported(workshop, path, answers)
    assert [e["tank"] for e in entries(plan)] == ["electrolyte"] * 3
    assert set(reasons(plan)) == {7} and "no tank `pick`" in reasons(plan)[7]
    assert not look(workshop, path).open


def test_a_book_without_tanks_and_one_with_two_plating_tanks(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,pH", "2026-02-13,5.4")
    empty = Workshop.new(tmp_path / "empty.logbook.jsonl", "Empty")
    with pytest.raises(MappingError, match="no tanks yet"):
        look(empty, path)
    workshop.log({"kind": "tank", "at": "2026-01-02T00:00:00Z", "tank": "nickel", "role": "plate", "recipe": "watts-nickel"})
    assert [q.key for q in look(workshop, path).open] == ["tank"]
    assert entries(planned(workshop, path, {"tank": "nickel"}))[0]["tank"] == "nickel"


def test_the_next_sheet_of_the_layout_asks_nothing(workshop: Workshop, tmp_path: Path) -> None:
    first = csv_file(tmp_path, "Date,Zn", "05/06/2025,31", name="a.csv")
    imported(workshop, first, {"dates": "mdy", "unit:Zn": "g/L"})
    kept = [e for e in workshop.book.entries() if isinstance(e, Definition)]
    assert [(e.of, e.name) for e in kept] == [("sheet mapping", "a")] and kept[0].body["date_order"] == "mdy"
    next_one = look(workshop, csv_file(tmp_path, "printed later", "", "DATE , zn", "07/08/2025,30", name="b.csv"))
    assert next_one.origin == "saved" and next_one.name == "a" and not next_one.open
    plan = imported(workshop, csv_file(tmp_path, "printed later", "", "DATE , zn", "07/08/2025,30", name="b.csv"))
    assert entries(plan)[0]["at"][:10] == "2025-07-08"
    assert len([e for e in workshop.book.entries() if isinstance(e, Definition)]) == 1
    other = look(workshop, csv_file(tmp_path, "Date,Zn,Ni", "07/08/2025,30,20", name="a.csv"))
    assert other.origin == "proposed" and other.name == "a 2"


def test_a_mapping_goes_to_toml_and_json_and_back(workshop: Workshop, tmp_path: Path) -> None:
    looked = look(workshop, csv_file(tmp_path, HEAD, "13/02/2026,hinges,3.2,6.5,45,31,5.4,1.5,x"))
    import json

    assert mapping_of_text(mapping_toml(looked.mapping)) == looked.mapping
    assert mapping_of_text(json.dumps(mapping_body(looked.mapping))) == looked.mapping


OWN = """
header_rows = [1]
first_row = 2
date = "Day"
date_order = "dmy"
decimal = "comma"
tank = "electrolyte"
skip = [{column = "Day", is = ["sum"]}]
[tanks]
beize = "pickle"
[[entries]]
kind = "run"
words = ["pickle=2min"]
columns = [
  {column = "What", as = "description"}, {column = "F", as = "area", unit = "dm2"}, {column = "A", as = "current", unit = "A"},
  {column = "t", as = "minutes", unit = "h:mm"}, {column = "T", as = "temperature", unit = "°C"}, {column = "Rem", as = "note"},
]
only = [{column = "Kind", is = ["plated"]}]
[[entries]]
kind = "reading"
of_run = true
columns = [{column = "um", as = "thickness", unit = "um"}]
[[entries]]
kind = "addition"
columns = [{column = "What", as = "reagent"}, {column = "Amount", as = "amount", unit = "g", unit_column = "Unit"}]
only = [{column = "Kind", is = ["added"]}]
[[entries]]
kind = "removal"
fixed = {to = "drum-1"}
columns = [{column = "out L", as = "volume", unit = "L"}]
[[entries]]
kind = "anode"
fixed = {anode = "zinc-1", action = "weighed"}
columns = [{column = "Zn-1", as = "mass", unit = "kg"}]
[[entries]]
kind = "treatment"
columns = [{column = "Treated", as = "what"}]
[[entries]]
kind = "stock"
columns = [{column = "Bought", as = "reagent"}, {column = "kg", as = "bought", unit = "kg"}, {column = "Price", as = "price"}]
"""
HEADS = "Day;Kind;What;F;A;t;T;Rem;um;Amount;Unit;out L;Zn-1;Treated;Bought;kg;Price"


def test_a_mapping_by_hand_with_every_kind_of_entry(workshop: Workshop, tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(OWN)
    path = csv_file(
        tmp_path,
        HEADS,
        "5.6.2025;plated;hinges = [old];3,2;6,5;0:45;35;a=b -- c;8,5;;;;;;;;",
        "6.6.2025;added;zinc chloride;;;;;;;1.200;;;;;;;",
        "6.6.2025;added;boric acid;;;;;;;0,5;kg;;;;;;",
        "7.6.2025;;;;;;;;;;;1,5;;;;;",
        "8.6.2025;;;;;;;;;;;;3,9;;;;",
        "9.6.2025;;;;;;;;;;;;;carbon;;;",
        "10.6.2025;;;;;;;;;;;;;;zinc chloride;5;32,50",
        "sum;;;;;;;;;;;99;;;;;",
        "11.6.2025;idle;;;;;;;8,5;;;;;;;;",
        "12.6.2025;added;lot;;;;;;;5;;;;;;;",
        "13.6.2025;added;zinc chloride;;;;;;;;;;;;;;",
    )
    plan = planned(workshop, path, given=str(tmp_path / "own.toml"))
    run, thickness, *rest = entries(plan)
    assert run["parts"] == [{"description": "hinges = [old]", "area_dm2": 3.2}] and run["note"] == "a=b -- c"
    assert run["steps"] == [
        {"tank": "pickle", "minutes": 2.0},
        {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.5}, "temperature_c": 35.0},
    ]
    assert (
        thickness["values"] == [{"of": "thickness", "value": 8.5, "unit": "um"}] and thickness["run"] == plan.entries[0][1].id
    )
    assert [e["items"][0] for e in rest[:2]] == [
        {"reagent": "zinc chloride", "amount": 1200.0, "unit": "g"}, {"reagent": "boric acid", "amount": 500.0, "unit": "g"},
    ]  # fmt: skip
    assert {k: v for k, v in rest[2].items() if k not in ("at", "kind")} == {
        "tank": "electrolyte",
        "volume_l": 1.5,
        "to": "drum-1",
    }
    assert (rest[3]["anode"], rest[3]["action"], rest[3]["mass_g"], rest[3]["metal"]) == ("zinc-1", "weighed", 3900.0, "zinc")
    assert (rest[4]["what"], rest[4]["tank"]) == ("carbon", "electrolyte")
    assert {k: rest[5][k] for k in ("reagent", "action", "amount", "price")} == {
        "reagent": "zinc chloride", "action": "bought", "amount": 5000.0, "price": 32.5,
    }  # fmt: skip
    told = reasons(plan)
    assert set(told) == {10, 11, 12} and "makes none" in told[10] and "no reagent `lot`" in told[11] and "no amount" in told[12]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ('date = "Day"', "Dag"),
        ("first_row = 2", "first_row = 1"),
        ('as = "area"', 'As = "area"'),
        ('kind = "stock"', 'kind = "shop"'),
        ('tank = "electrolyte"', 'tank = "elektrolyt"'),
        ("header_rows = [1]", "header_rows = []"),
        ('unit = "kg"', "unit = 5"),
        ("only = [{", "only = [{zzz = 1, "),
        ("[tanks]", "[tanks"),
        ('decimal = "comma"', 'decimal = "dot"'),
        ('is = ["sum"]', "is = []"),
        ('columns = [{column = "um", as = "thickness", unit = "um"}]', ""),
        ('unit = "um"', 'unit = "um", tank = "pickle"'),
    ],
)
def test_mappings_that_cannot_be_say_where(workshop: Workshop, tmp_path: Path, change: str, says: str) -> None:
    new = says if " = " in says or says in ("[tanks", "") or says.startswith("only") else f'date = "{says}"'
    assert change in OWN
    (tmp_path / "own.toml").write_text(OWN.replace(change, new, 1))
    path = csv_file(tmp_path, HEADS, "5.6.2025;plated;x;3,2;6,5;0:45;35;;;;;;;;;;")
    with pytest.raises(MappingError) as refused:
        planned(workshop, path, given=str(tmp_path / "own.toml"))
    assert len(str(refused.value)) > 20


def test_a_name_that_is_no_mapping(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,pH", "2026-02-13,5.4")
    with pytest.raises(MappingError, match="none is kept yet"):
        look(workshop, path, given="old notes")
    imported(workshop, path)
    with pytest.raises(MappingError, match="did you mean notes"):
        look(workshop, path, given="noted")
    assert look(workshop, path, given="notes").origin == "saved" and list(saved_mappings(workshop)) == ["notes"]


def test_a_definition_by_hand_is_checked_like_any_other(workshop: Workshop) -> None:
    from bathkeeper.phrases import PhraseError, compose

    from .helpers import NOW

    words = ["sheet mapping", "mine", "header_rows = [1]", "first_row = 2", 'date = "Date"']
    with pytest.raises(PhraseError, match="entries"):
        compose("definition", words, workshop.vocabulary, NOW)
    body = '[[entries]]\nkind = "remark"\ncolumns = [{column = "N", as = "text"}]'
    assert compose("definition", [*words, body], workshop.vocabulary, NOW).raw["of"] == "sheet mapping"


@pytest.mark.parametrize(
    ("text", "role"),
    [
        ("reading zinc g/L", "reading: zinc, g/L"),
        ("addition zinc chloride = g", "addition: zinc chloride, g"),
        ("date", "the date"),
        ("nothing", "not taken"),
        ("run current A", "run: current, A"),
        ("make-up volume L", "make-up: volume, L"),
        ("anode zinc-1 weighed = g", "anode: zinc-1, weighed, g"),
        ("remark text", "remark: text"),
        ("reading ph", "reading: ph"),
    ],
)
def test_roles_in_words(text: str, role: str) -> None:
    assert role_of_words(text).words == role


@pytest.mark.parametrize("text", ["", "zinc", "reading", "teapot zinc g/L", "anode weighed"])
def test_roles_that_are_none(text: str) -> None:
    with pytest.raises(ValueError, match=r"[Ww]rite for example|anode needs"):
        role_of_words(text)


def test_a_column_taken_as_something_else_is_taken_as_nothing_before(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,Zn,pH", "2026-02-13,1,5.4")
    looked = understood(workshop, path, {"unit:Zn": "g/L"})
    changed = with_role(looked.mapping, "Zn", role_of_words("addition zinc dust = g"))
    assert role_words(changed, "Zn") == "addition: zinc dust, g" and role_words(changed, "pH") == "reading: ph"
    assert isinstance(changed, SheetMapping)
    gone: Any = with_role(with_role(changed, "Zn", role_of_words("nothing")), "pH", role_of_words("nothing"))
    assert gone.entries == ()


def test_a_nought_in_a_column_of_additions_is_nothing_put_in(workshop: Workshop, tmp_path: Path) -> None:
    lines = ["Date,pH,Water (L),zinc chloride (g)", "2026-02-13,5.4,0,0.0", "2026-02-14,5.3,0,120", "2026-02-15,,0,"]
    plan = planned(workshop, csv_file(tmp_path, *lines))
    assert [e["items"] for e in entries(plan, "addition")] == [[{"reagent": "zinc chloride", "amount": 120.0, "unit": "g"}]]
    assert len(entries(plan, "reading")) == 2 and set(reasons(plan)) == {4}
    pair = csv_file(
        tmp_path, "Date,chemical,amount (g)", "2026-02-13,zinc chloride,0", "2026-02-14,zinc chloride,0.05", name="p.csv"
    )
    assert [e["items"][0]["amount"] for e in entries(planned(workshop, pair))] == [0.05]


def test_a_heading_that_leaves_the_unit_open_is_asked(workshop: Workshop, tmp_path: Path) -> None:
    looked = look(workshop, csv_file(tmp_path, "Date,Job,Area,Current,Time", "2026-02-13,x,3,6.5,45"))
    assert [q.key for q in looked.open] == ["unit:Area", "unit:Current", "unit:Time"]


def test_a_mapping_by_name_finds_the_sheet_that_it_fits(workshop: Workshop, tmp_path: Path) -> None:
    from openpyxl import Workbook

    imported(workshop, csv_file(tmp_path, "Date,pH", "2026-02-13,5.4"))
    book = Workbook()
    book.active.append(["Cover", "sheet"])  # type: ignore[union-attr]
    log = book.create_sheet("Log")
    log.append(["Date", "pH"])
    log.append(["2026-02-14", 5.5])
    book.save(tmp_path / "two.xlsx")
    assert values(planned(workshop, tmp_path / "two.xlsx", given="notes")) == {"ph": 5.5}
