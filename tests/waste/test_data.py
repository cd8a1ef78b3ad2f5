"""The shipped waste data: every number with status and source, codes and limits as published, words that nobody may say."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files

import pytest

from bathkeeper.waste.loader import LISTS, load
from bathkeeper.waste.schema import ENTRY_WORDS
from bathkeeper.waste.treatment_data import load as treatment
from tests.catalogue.test_sources import tables_with_numbers

ROOT = files("bathkeeper.waste")
FILES = sorted((f for d in (ROOT, ROOT / "rules") for f in d.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
LAW = (
    "codes.toml", "england.toml", "eu-germany.toml", "eu.toml", "mapping.toml", "northern-ireland.toml", "other.toml",
    "scotland.toml", "substances.toml", "triggers.toml", "us-federal.toml", "wales.toml",
)  # fmt: skip
NEVER_SAID = ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous", "not hazardous", "nonhazardous")
REFUSED = re.compile(r"not|never|\bno\b|nor|forbidden|counts? as mixing|included", re.I)


def strings(raw):
    if isinstance(raw, str):
        yield raw
    elif isinstance(raw, dict):
        for v in raw.values():
            yield from strings(v)
    elif isinstance(raw, list):
        for v in raw:
            yield from strings(v)


def test_every_file_is_looked_at():
    assert set(LAW) <= {f.name for f in FILES}


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.name)
def test_every_number_has_a_status_and_every_fact_its_source_and_date(file):
    for path, table in tables_with_numbers(tomllib.loads(file.read_text("utf-8")), file.name):
        assert table.get("status") in ("seen", "derived", "memory", "practice"), path
        if table["status"] in ("seen", "derived"):
            assert len(table.get("source", "")) > 10, path
            assert file.name not in LAW or (table.get("edition") and table.get("citation")), path


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.name)
def test_every_line_of_law_has_a_status(file):
    """Sentences hold numbers too (12 months, 3 working days): each table below the top has its status."""
    for name, rows in tomllib.loads(file.read_text("utf-8")).items():
        for row in rows if isinstance(rows, list) and rows and isinstance(rows[0], dict) else []:
            assert row.get("status") or file.name not in LAW, (file.name, name, row)
            if row.get("status") == "seen" and file.name in LAW:
                assert row.get("source") and row.get("citation") and row.get("edition"), (file.name, name, row)


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.name)
def test_no_string_says_what_nobody_may_say(file):
    for text in strings(tomllib.loads(file.read_text("utf-8"))):
        for word in NEVER_SAID:
            assert word not in text.casefold(), text
        for sentence in re.split(r"(?<=[.;:])\s", text):
            if "dilut" in sentence.casefold() and " " in sentence.strip():  # a bare heading proposes nothing
                assert REFUSED.search(sentence), sentence


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.name)
def test_sources_are_spelled_out(file):
    for path, table in tables_with_numbers(tomllib.loads(file.read_text("utf-8")), file.name):
        assert not re.search(r"\[[UG]\d|regulation(-2)?\.md", str(table)), path


def limit(rules, of, table):
    found = [d for d in load().rules[rules].discharge if d.of == of and d.table == table]
    assert len(found) == 1, (of, table)
    return found[0].max_mg_l, found[0].average_mg_l


@pytest.mark.parametrize(
    ("of", "most", "average"),
    [
        ("cadmium", 0.69, 0.26), ("chromium", 2.77, 1.71), ("copper", 3.38, 2.07), ("lead", 0.69, 0.43), ("nickel", 3.98, 2.38),
        ("silver", 0.43, 0.24), ("zinc", 2.61, 1.48), ("cyanide", 1.20, 0.65),
    ],
)  # fmt: skip
def test_pretreatment_of_existing_metal_finishers(of, most, average):
    """40 CFR 433.15(a), current 2 January 2025 (codes.findlaw.com): daily maximum and monthly average, mg/L."""
    assert limit("us-federal", of, "433.15") == (most, average)


@pytest.mark.parametrize(
    ("of", "most", "average"), [("amenable cyanide", 0.86, 0.32), ("total toxic organics", 2.13, None)]
)
def test_pretreatment_of_what_no_bath_here_holds(of, most, average):
    """40 CFR 433.15 (codes.findlaw.com, current 2 January 2025): amenable cyanide by agreement; toxic organics, no average."""
    assert limit("us-federal", of, "433.15") == (most, average)
    (row,) = (d for d in load().rules["us-federal"].discharge if d.of == of and d.table == "433.15")
    assert row.status == "seen" and not row.compared


@pytest.mark.parametrize(
    ("of", "large", "small", "status"),
    [
        ("nickel", (4.1, 2.6), None, "seen"), ("chromium", (7.0, 4.0), None, "seen"), ("copper", (4.5, 2.7), None, "seen"),
        ("zinc", (4.2, 2.6), None, "seen"), ("lead", (0.6, 0.4), (0.6, 0.4), "seen"), ("silver", (1.2, 0.7), None, "seen"),
        ("cadmium", (1.2, 0.7), (1.2, 0.7), "seen"), ("cyanide", (1.9, 1.0), None, "memory"),
        ("amenable cyanide", None, (5.0, 2.7), "seen"), ("total metals", (10.5, 6.8), None, "memory"),
        ("total toxic organics", (2.13, None), (4.57, None), "seen"),
    ],
)  # fmt: skip
def test_electroplaters_that_existed(of, large, small, status):
    """40 CFR part 413 (trade copy of the tables at sterc.org): daily maximum and average of 4 days, mg/L, from 10,000 gallons a
    day and below; the total of metals and the average of total cyanide are remembered."""
    rows = {d.table: d for d in load().rules["us-federal"].discharge if d.of == of and d.table.startswith("413")}
    for table, wanted in (("413, from 10,000 gallons a day", large), ("413, below 10,000 gallons a day", small)):
        row = rows.get(table)
        assert (None if row is None else (row.max_mg_l, row.average_mg_l)) == wanted
        assert row is None or (row.status == status and not row.compared)
        assert row is None or row.average_mg_l is None or row.average_of == "4 days"


def test_notice_of_hazardous_waste_to_a_sewer():
    """40 CFR 403.12(p): none in a month with no more than 15 kg; above 100 kg a month a fuller one; within 180 days, once."""
    us = load().rules["us-federal"]
    notice, full = us.threshold("sewer-notice"), us.threshold("sewer-notice-full")
    assert (notice.value, notice.unit, notice.tripped(15), notice.tripped(15.01)) == (15, "kg/month", False, True)
    assert (full.value, full.unit, full.tripped(100), full.tripped(100.1)) == (100, "kg/month", False, True)
    assert "within 180 days" in notice.text and "once for each waste" in notice.text
    assert "constituents, mass and concentration" in full.text and notice.status == full.status == "seen"


def test_what_never_goes_into_a_sewer():
    """40 CFR 403.5(b)(1)-(8): flash point under 60 degC, pH below 5.0, heat above 40 degC, slug loads, oil, gas."""
    (note,) = (n for n in load().rules["us-federal"].notes if n.name == "sewer prohibitions")
    for said in ("60 degC", "pH 5.0", "40 degC", "slug loads", "cutting oil", "toxic gas", "hauled waste"):
        assert said in note.text
    assert note.status == "seen"


def test_new_sources_differ_in_cadmium_alone():
    """40 CFR 433.17(a): cadmium 0.11 / 0.07, everything else as 433.15 (sterc.org, paintcenter.org)."""
    rows = [d for d in load().rules["us-federal"].discharge if d.table == "433.17"]
    assert [(d.of, d.max_mg_l, d.average_mg_l) for d in rows] == [("cadmium", 0.11, 0.07)]


def test_the_sewers_lowest_ph():
    """40 CFR 403.5(b)(2): nothing below pH 5.0."""
    assert [d.low for d in load().rules["us-federal"].discharge if d.of == "ph"] == [5.0]


@pytest.mark.parametrize(
    ("of", "most"),
    [
        ("nickel", 0.5), ("zinc", 2), ("chromium", 0.5), ("chromium(VI)", 0.1), ("copper", 0.5), ("lead", 0.5),
        ("cadmium", 0.2), ("tin", 2), ("silver", 0.1), ("arsenic", 0.1), ("cyanide", 0.2), ("sulfide", 1),
        ("free chlorine", 0.5), ("AOX", 1),
    ],
)  # fmt: skip
def test_german_annex_40_for_electroplating(of, most):
    """AbwV, Anhang 40, Teil D, Bereich 1 (gesetze-im-internet.de, state of 13 February 2022), mg/L."""
    assert limit("eu-germany", of, "AbwV annex 40, part D, sector 1")[0] == most


def test_german_annex_40_for_electroless_nickel():
    """The same annex, part D(2): 1 mg/L of nickel."""
    assert limit("eu-germany", "nickel", "AbwV annex 40, part D(2), electroless nickel")[0] == 1


SECTOR_2 = {
    "nickel": 0.5, "zinc": 2, "chromium": 0.5, "chromium(VI)": 0.1, "copper": 0.5, "sulfide": 1, "free chlorine": 0.5, "AOX": 1,
}  # fmt: skip


def test_german_annex_40_for_pickling_shops():
    """The same annex, part D, Bereich 2, whole: no limit of lead, cadmium, tin, silver, arsenic or cyanide there, mg/L."""
    rows = [d for d in load().rules["eu-germany"].discharge if d.table == "AbwV annex 40, part D, sector 2"]
    assert {d.of: d.max_mg_l for d in rows} == SECTOR_2
    assert all(d.status == "seen" for d in rows)


PART_C = {
    "iron": 3, "aluminium": 3, "ammonium nitrogen": 100, "COD": 400, "fluoride": 50, "phosphorus": 2, "hydrocarbons": 10,
}  # fmt: skip


def test_german_annex_40_where_the_water_enters_a_river():
    """The same annex, part C, Bereich 1, mg/L; nitrite nitrogen has no limit. Toxicity to fish eggs: 6."""
    germany = load().rules["eu-germany"]
    rows = [d for d in germany.discharge if d.table == "AbwV annex 40, part C, sector 1"]
    assert {d.of: d.max_mg_l for d in rows} == PART_C
    (eggs,) = (n for n in germany.notes if n.name == "fish eggs")
    assert "6 at most" in eggs.text and eggs.status == "seen" and eggs.citation.endswith("part C")


def test_german_cadmium_baths():
    """The same annex, part E(4) and (5): 0.2 mg/L of cadmium at the outlet of the treatment."""
    (note,) = (n for n in load().rules["eu-germany"].notes if n.name == "cadmium at the outlet")
    assert "0.2 mg/L" in note.text and note.citation.endswith("part E(4), (5)") and note.status == "seen"


def test_germany_has_no_cobalt_limit_here_and_forbids_edta():
    """The same annex: cobalt belongs to sectors 3 and 9; part E(3): no EDTA from degreasing, stripping and nickel baths."""
    germany = load().rules["eu-germany"]
    assert not [d for d in germany.discharge if d.of in ("cobalt", "selenium", "barium", "mercury")]
    said = {n.name: n for n in germany.notes}
    assert "no EDTA" in said["EDTA"].text and said["EDTA"].citation.endswith("part E(3)") and said["EDTA"].status == "seen"
    assert "no cobalt limit" in said["cobalt"].text


TYPES = {
    "11 01 05*": "AH", "11 01 06*": "AH", "11 01 07*": "AH", "11 01 08*": "AH", "11 01 09*": "MH", "11 01 10": "MN",
    "11 01 11*": "MH", "11 01 12": "MN", "11 01 13*": "MH", "11 01 14": "MN", "11 01 15*": "MH", "11 01 16*": "AH",
    "11 01 98*": "MH", "11 01 99": "MN", "11 05 01": "AN", "11 05 02": "AN", "11 05 03*": "AH", "11 05 04*": "AH",
    "06 01 01*": "AH", "06 01 02*": "AH", "06 01 05*": "AH", "06 01 06*": "AH", "06 02 04*": "AH", "06 02 05*": "AH",
    "06 03 11*": "MH", "06 03 13*": "MH", "15 01 10*": "AH", "15 02 02*": "MH", "15 02 03": "MN", "16 05 06*": "MH",
    "16 05 07*": "MH", "16 05 09": "MN", "16 09 03*": "AH", "16 10 01*": "MH", "16 10 02": "MN", "20 01 14*": "AH",
    "20 01 15*": "AH", "20 01 29*": "MH", "20 01 30": "MN", "19 02 05*": "MH", "13 05 07*": "AH", "12 03 01*": "AH",
    "16 09 02*": "AH", "16 09 04*": "AH",
}  # fmt: skip


@pytest.mark.parametrize("code", TYPES)
def test_entry_types_of_the_list_of_waste(code):
    """Defra's public data file of European waste codes, 2 June 2026 (home: Decision 2000/532/EC)."""
    assert load().codes[code].entry == TYPES[code]


def test_mirror_entries_name_their_other_half():
    codes = load().codes
    for code in codes.values():
        assert code.entry in ENTRY_WORDS
        if code.pair:
            assert {code.entry, codes[code.pair].entry} == {"MH", "MN"}
            assert codes[code.pair].system == code.system
    assert codes["11 01 11*"].pair == "11 01 12" and codes["11 01 12"].pair == "11 01 11*"


def test_hot_galvanising_and_cyanide_are_marked_never():
    never = {c.code for c in load().codes.values() if c.never}
    assert {c for c in load().codes if c.startswith("11 05")} <= never
    assert {"F007", "F008", "F009", "11 03 01*", "06 03 11*"} <= never
    assert not never & {row.code for row in load().mapped}


HARMONISED = {
    "nickel sulfate": ("028-009-00-5", "H302 H332 H315 H317 H334 H341 H350i H360D H372 H400 H410"),
    "nickel dichloride": ("028-011-00-6", "H301 H331 H315 H317 H334 H341 H350i H360D H372 H400 H410"),
    "nickel dihydroxide": ("028-008-00-X", "H302 H332 H315 H317 H334 H341 H350i H360D H372 H400 H410"),
    "zinc chloride": ("030-003-00-2", "H302 H314 H335 H400 H410"),
    "zinc sulfate": ("030-006-00-9", "H302 H318 H400 H410"),
    "hydrochloric acid": ("017-002-01-X", "H314 H335"),
    "sulfuric acid": ("016-020-00-8", "H314"),
    "sodium hydrogensulfate": ("016-046-00-X", "H318"),
    "nitric acid": ("007-030-00-3", "H272 H331 H314 EUH071"),
    "sodium hydroxide": ("011-002-00-6", "H314"),
    "sodium carbonate": ("011-005-00-2", "H319"),
    "ammonium chloride": ("017-014-00-8", "H302 H319"),
    "boric acid": ("005-007-00-2", "H360FD"),
    "cobalt dinitrate": ("027-009-00-2", "H317 H334 H341 H350i H360F H400 H410"),
}


@pytest.mark.parametrize("name", HARMONISED)
def test_harmonised_entries(name):
    """ECHA's spreadsheet of Annex VI to Regulation (EC) No 1272/2008, up to the 17th adaptation (December 2021)."""
    index, hazards = HARMONISED[name]
    substance = load().substances[name]
    assert substance.index == index
    assert sorted(h.split()[0] for h in substance.hazards) == sorted(hazards.split())


def test_corrosive_sub_categories():
    """Same file: zinc chloride and hydrochloric acid 1B; sulfuric, nitric acid and caustic soda 1A."""
    carries = {n: [c for c in ("1A", "1B", "1C") if load().substances[n].carries(f"H314 {c}")] for n in HARMONISED}
    assert carries["zinc chloride"] == carries["hydrochloric acid"] == ["1B"]
    assert carries["sulfuric acid"] == carries["nitric acid"] == carries["sodium hydroxide"] == ["1A"]
    assert not load().substances["sodium hydrogensulfate"].carries("H314")


def test_chromium_iii_and_iron_chlorides_have_no_entry():
    """Same file: none for trivalent chromium salts, iron chlorides, potassium chloride, zinc hydroxide."""
    for name in ("chromium(III) salts", "iron(III) chloride", "iron(II) chloride", "potassium chloride", "zinc hydroxide"):
        assert not load().substances[name].hazards and "no harmonised entry" in load().substances[name].about


REMEMBERED = re.compile(r"memory|our (own )?(reading|inference|assumption)|inferred", re.I)


def test_nothing_that_was_read_rests_on_memory_or_on_a_reading_of_ours():
    """A line that joins the two is parted into one that was read and one that says where it comes from."""
    told = [(r.name, line) for r in load().rules.values() for field in LISTS for line in getattr(r, field)]
    told += [("home_treatment", note) for note in treatment().notes.values()]
    for where, line in told:
        if line.status == "seen":
            words = " ".join(getattr(line, field, "") for field in ("text", "citation", "source", "about"))
            assert not REMEMBERED.search(words), (where, line)


@pytest.mark.parametrize(
    ("rules", "law", "who"),
    [
        ("scotland", "Sewerage (Scotland) Act 1968, Part II", "Scottish Water"),
        ("northern-ireland", "Water and Sewerage Services (Northern Ireland) Order 2006", "Northern Ireland Water"),
    ],
)
def test_whom_to_ask_about_sewers_north_and_west(rules, law, who):
    """Laws and companies by name from memory, and marked so."""
    (line,) = (a for a in load().rules[rules].ask if a.name == "sewer")
    assert line.citation == law and who in line.text and line.status == "memory"


@pytest.mark.parametrize("nation", ["scotland", "wales", "northern-ireland"])
def test_english_pages_and_statutes_are_not_passed_off_as_another_nations(nation):
    """English council pages and SI 2005/894 were read for England; elsewhere what rests on them is remembered."""
    rules = load().rules[nation]
    english = re.compile(r"\bSI 2005/894|Leicester|Somerset|Norfolk|Warwickshire|Lincolnshire|Essex")
    for line in (line for field in LISTS for line in getattr(rules, field)):
        assert line.status != "seen" or not english.search(f"{line.citation} {line.source}"), line
    assert {r.name: r.status for r in rules.routes}["household"] == "memory"
    papers = {p.name: p for p in rules.papers}
    assert "consignee return" not in papers or papers["consignee return"].citation.startswith("Hazardous Waste (Wales)")
    assert {m.name: m for m in rules.mixing}["mixing"].citation == "Directive 2008/98/EC, Art. 18(1)"


def test_every_substance_has_atoms():
    from bathkeeper.chemistry.formulas import molar_mass

    for s in load().substances.values():
        assert molar_mass(s.formula) > 10, s.name


def test_lines_of_a_rule_set_are_named_once_and_differ_from_the_base_only_where_told():
    sets = load().rules
    england, scotland = sets["england"], sets["scotland"]
    for field in LISTS:
        names = [line.name for line in getattr(scotland, field)]
        assert len(names) == len(set(names))
    assert {p.name: p for p in scotland.papers}["consignment note"].text.startswith("special waste")
    assert {a.name: a for a in scotland.ask}["contractor"] == {a.name: a for a in england.ask}["contractor"]
    assert "SEPA" not in england.ask_first and "Environment Agency" in england.ask_first
