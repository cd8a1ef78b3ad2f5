"""Defects: every table sound, every name that its evidence uses known to some recipe, words found, errors that say where."""

from __future__ import annotations

from pathlib import Path

import pytest

from bathkeeper.catalogue.defects import (
    bath_of,
    canonical,
    defects_of,
    find_defect,
    load_defects,
    read_defects,
)
from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.typed import CatalogueError

RECIPES = load().recipes
KINDS = {bath_of(r) for r in RECIPES.values()}


def recipes_for(bath: str, role: str) -> list[object]:
    """Recipes that evidence may be looked up in: of another tank's role, else of the bath itself."""
    return [r for r in RECIPES.values() if (r.role == role if role else bath_of(r) == bath)]


@pytest.mark.parametrize("name", list(load_defects()))
def test_evidence_can_be_looked_up_somewhere(name):
    defect = load_defects()[name]
    for cause in defect.causes:
        baths = cause.baths or defect.baths
        for evidence in cause.evidence:
            if evidence.kind not in ("content", "ratio", "indicator"):
                continue
            known = set()
            for bath in baths:
                for recipe in recipes_for(bath, evidence.at):
                    table = {"content": "species", "ratio": "ratios", "indicator": "indicators"}[evidence.kind]
                    known |= set(getattr(recipe, table))
                if bath in ("dry", "rinse", "seal") and not evidence.at:
                    known |= {"temperature", "conductivity", "ph"}
            if (evidence.kind, evidence.of) == ("content", "copper") and "pickle" in (evidence.at, *baths):
                continue  # a pickle may hold what no recipe tracks; where a keeper's own does, it counts
            assert evidence.of in known, f"{name} / {cause.name}: {evidence.of} is in none of {baths} {evidence.at}"


def test_the_bench_has_defects_for_every_kind_of_bath_that_plates_cleans_or_passivates():
    for bath in KINDS - {"rinse", "dry", "other"}:
        assert defects_of(bath), bath
    plated = {d.name for d in defects_of("acid zinc-nickel")}
    assert {
        "burnt",
        "dull",
        "pitting",
        "blisters",
        "dark_recesses",
        "rough",
        "low_coverage",
        "brittle",
        "wrong_alloy",
    } <= plated
    passivated = {d.name for d in defects_of("passivate")}
    assert {"pale_passivate", "powdery_passivate", "white_rust", "stained"} <= passivated
    assert {"rust_left", "smut", "embrittled"} <= {d.name for d in defects_of("pickle")}


def test_kinds_of_bath():
    assert bath_of(RECIPES["alkaline-zinc"]) == "alkaline zinc"
    assert bath_of(RECIPES["zinc-chloride-ammonium"]) == "acid zinc"
    assert bath_of(RECIPES["zinc-nickel-chloride-potassium"]) == "acid zinc-nickel"
    assert bath_of(RECIPES["alkaline-zinc-nickel-generator"]) == "alkaline zinc-nickel"
    assert bath_of(RECIPES["watts-nickel"]) == bath_of(RECIPES["nickel-sulfamate"]) == "nickel"
    assert bath_of(RECIPES["acid-copper"]) == "copper"
    assert bath_of(RECIPES["bisulfate-pickle"]) == "pickle"


def test_everyday_words_are_found():
    assert canonical("Burned Edges") == canonical("burning") == "burnt"
    assert canonical("black-recesses") == "dark_recesses"
    assert canonical("purple  Haze at noon") == "purple haze at noon"
    assert find_defect("PINHOLES").name == "pitting"
    with pytest.raises(CatalogueError, match=r"no defect `pittng`.*pitting"):
        find_defect("pittng")


def test_embrittlement_says_to_take_the_load_out_of_use():
    assert "qualified plater" in load_defects()["embrittled"].caution


def test_every_cause_says_what_to_try_and_what_to_do_and_where_it_is_from():
    for defect in load_defects().values():
        for cause in defect.causes:
            assert len(cause.test) > 10 and len(cause.remedy) > 10, (defect.name, cause.name)
            if cause.status == "seen":
                assert "weight" in cause.source and "practice" in cause.source, "the weight beside a seen cause is practice"


def test_how_loudly_a_defect_speaks_of_an_additive():
    dull = load_defects()["dull"]
    loud = dull.speaks_of("brightener", "nickel")
    causes = dull.causes_in("nickel")
    assert loud == pytest.approx(next(c.weight for c in causes if c.name == "brightener low") / sum(c.weight for c in causes))
    assert dull.speaks_of("carrier", "nickel") == 0.0
    assert load_defects()["pitting"].speaks_of("wetter", "acid zinc") == 0.0, "an acid zinc bath has none"


GOOD = """
[defect.x]
looks = "odd"
baths = ["nickel"]
[[defect.x.cause]]
name = "a"
title = "A"
weight = 1
test = "t"
remedy = "r"
status = "practice"
"""


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("weight = 1", "weight = 0"), r"defects\.toml, defect `x`.*weight"),
        (("weight = 1", "weight = 'much'"), r"defect `x`.*weight.*number"),
        (('remedy = "r"', 'cure = "r"'), r"defect `x`.*no such field"),
        (('baths = ["nickel"]', 'baths = ["silver"]'), r"defect `x`.*baths"),
        (('baths = ["nickel"]', 'baths = ["nickel", "copper"]\naliases = ["y"]'), None),
        (('status = "practice"', 'status = "seen"'), r"source"),
        (('test = "t"', 'test = "t"\nbaths = ["copper"]'), r"`copper` is none of the defect's"),
        (('test = "t"', 'test = "t"\nevidence = [{kind="counter", of="moons", side="high"}]'), r"counter `moons`.*age_days"),
        (('looks = "odd"', 'looks = "odd"\nsays = {brightener = "low"}'), r"no cause names `brightener`"),
        (("[defect.x]", "[fault.y]\n[defect.x]"), r"fault: no such table"),
        (('looks = "odd"', "looks = "), r"not readable as TOML"),
    ],
)
def test_a_fault_names_its_place(tmp_path: Path, change, says):
    file = tmp_path / "defects.toml"
    file.write_text(GOOD.replace(*change), encoding="utf-8")
    if says is None:
        assert list(read_defects(file)) == ["x"]
        return
    with pytest.raises(CatalogueError, match=says):
        read_defects(file)


def test_a_word_belongs_to_one_defect(tmp_path: Path):
    file = tmp_path / "defects.toml"
    other = GOOD.replace("defect.x", "defect.y").replace('looks = "odd"', 'looks = "odd"\naliases = ["X"]')
    file.write_text(GOOD + other, encoding="utf-8")
    with pytest.raises(CatalogueError, match=r"`x` is a word of `x` already"):
        read_defects(file)
