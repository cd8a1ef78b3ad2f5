"""From a burette to grams per litre, with how sure that is; the factor follows from sample, titrant, reaction and dilution."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import msgspec

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Measured
from bathkeeper.calculators.substances import Strong, split, strong, substance
from bathkeeper.catalogue.loader import plain_name
from bathkeeper.chemistry import titration
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.refusals import near
from bathkeeper.units.door import figures, show

BIGGEST_TITRE_ML = 200.0
MOST_G_L = 1500.0
"""No bath holds more of anything (practice)."""

FERRIC_EQ_PER_MOL = 3.0


class Other(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What the titre to be taken off counts; without a formula its grams are nobody's concern."""

    of: str
    formula: str
    per_equivalent: float
    method: str


class Titration(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One entry of ``titrations.toml``."""

    name: str
    formula: str
    per_equivalent: float
    titrants: tuple[str, ...]
    example: str
    sample: str
    reading: str
    method: str
    reading_formula: str = ""
    indicator: str
    buffer: str
    blank: str
    interferes: str
    status: str
    source: str = ""
    less: Other | None = None
    less_method: str = ""
    bound: dict[str, float] = {}
    ferric: bool = False
    total: str = ""
    aliases: tuple[str, ...] = ()

    @property
    def grams_per_equivalent(self) -> float:
        """g of the species that one equivalent of titrant takes."""
        return molar_mass(self.formula) * self.per_equivalent


@lru_cache(maxsize=1)
def titrations() -> Mapping[str, Titration]:
    """Every method by the name of what it finds."""
    raw = tomllib.loads((files("bathkeeper.calculators") / "titrations.toml").read_text(encoding="utf-8"))["titration"]
    return {name: msgspec.convert({"name": name, **body}, Titration) for name, body in raw.items()}


@dataclass(frozen=True)
class _Titre:
    """Net equivalents of titrant for the sample, in mL of titrant, with the 95 % half-width that burette and scatter give."""

    ml: float
    spread_ml: float
    notes: tuple[str, ...] = ()


def _answer(given: Given) -> Answer:
    how = _method(given)
    titrant = _titrant(given, how)
    sample_ml = 1000 * given.value("sample")
    dilution = given.value("dilution")
    if dilution < 1:
        raise CalcError(
            f"dilution: {figures(dilution)} would make the bath stronger; a sample thinned tenfold is 10", "dilution"
        )
    factor = titration.factor_g_l_per_ml(sample_ml, titrant.equivalents_l, how.grams_per_equivalent, 1.0, dilution)
    titre = _titre(given, titrant)
    less_ml, less_g_l = _less(given, how, factor)
    net_ml = titration.by_difference_ml(titre.ml, less_ml)
    taken_g_l = _taken_otherwise(given, how)
    found_g_l = net_ml * factor
    value = found_g_l - taken_g_l
    _believable(value, found_g_l, taken_g_l, how)
    burette_ml = 1000 * given.value("burette")
    one_sample = 1000 * given.value("pipette") / sample_ml
    pipette = one_sample / math.sqrt(len(given.texts("used")))
    whole, other = math.hypot(titre.spread_ml, pipette * titre.ml), math.hypot(burette_ml, one_sample * less_ml)
    if how.less is None or not how.less.formula:  # the end points of one flask share its sample
        whole, other = math.hypot(titre.spread_ml, pipette * net_ml), burette_ml
    spread = factor * math.hypot(whole, other if given.has("less") else 0.0)
    method = how.less_method if less_ml and how.less_method else how.method
    measured = [_reading(how, value, found_g_l, factor * whole, method)]
    total_g_l, ratio = _total(given, how, factor, titre, measured, burette_ml, pipette)
    if less_g_l is not None and how.less is not None and given.has("less"):
        half = less_g_l / less_ml * other
        measured.append(Measured(how.less.of, less_g_l, "g/L", half, how.less.method, how.less.formula))
    return Answer(
        values={
            "concentration_g_l": value,
            "factor_g_l_per_ml": factor,
            "spread_g_l": spread,
            "titre_ml": titre.ml,
            "found_mmol": net_ml * titrant.equivalents_l * how.per_equivalent,
            "less_g_l": less_g_l,
            "total_g_l": total_g_l,
            "ratio": ratio,
        },
        lines=(
            f"{how.name}: {show(value, 'concentration', given.prefs, spread)} ± {figures(spread, spread)} g/L as {how.formula}",
            f"factor: {figures(factor)} g/L for each mL",
            *(() if less_g_l is None or how.less is None else (f"{how.less.of}: {figures(less_g_l)} g/L",)),
            *(() if total_g_l is None else (f"{how.total}: {figures(total_g_l)} g/L, total/free {figures(ratio or 0.0)}",)),
            *(() if not taken_g_l else (f"before taking off what else counted: {figures(found_g_l)} g/L",)),
        ),
        formula="g/L = (used - blank - less) x N x grams per equivalent x dilution / sample; here "
        f"{figures(titrant.equivalents_l)} eq/L x {figures(how.grams_per_equivalent)} g x {figures(dilution)} / "
        f"{figures(sample_ml)} mL",
        sources=(
            f"{how.name} by {' or '.join(how.titrants)}, {how.status}: {how.source or 'well known, not read in a source'}",
            "spread: burette and pipette, 95 %, practice unless stated; not in it: a wrong titrant, and contents given in g/L",
        ),
        cautions=(*titre.notes, f"{how.interferes}", f"Indicator: {how.indicator}. Buffer: {how.buffer}."),
        measured=tuple(measured),
    )


def _method(given: Given) -> Titration:
    text = given.text("of")
    word = plain_name(text)
    known = titrations()
    for one in known.values():
        if word in (plain_name(one.name), *(plain_name(a) for a in one.aliases)):
            given.note(f"of {one.name}, counted as {one.formula}")
            return one
    acids = [t.name for t in known.values() if t.reading == "free acid"]
    if word in ("free acid", "acid"):
        raise CalcError(f"of: say which acid, because its grams are counted: {', '.join(acids)}", "of")
    raise CalcError(f"of: there is no titration of `{text.strip()[:60]}` here{near(word, known)}", "of")


def _titrant(given: Given, how: Titration) -> Strong:
    text = given.text("titrant")
    name, _ = split(text)
    one = substance(name, "titrant")
    if one is not None and one.name not in how.titrants:
        raise CalcError(
            f"titrant: {how.name} is titrated with {' or '.join(how.titrants)}, not with {one.name}; write for example "
            f"{how.example}",
            "titrant",
        )
    told = strong(text, "titrant", how.example, given.prefs, "titrant")
    given.note(f"titrant {told.echo}, {figures(told.equivalents_l)} eq/L")
    if told.equivalents_l > 10:
        raise CalcError(
            f"titrant: {figures(told.equivalents_l)} eq/L is no titrant; write for example {how.example}", "titrant"
        )
    return told


def _titre(given: Given, titrant: Strong) -> _Titre:
    """Mean of the titres, less the blank, or what of a measured excess was bound."""
    burette_ml = 1000 * given.value("burette")
    used = [1000 * v for v in given.values("used")]
    too_much = next((u for u in used if u > BIGGEST_TITRE_ML), None)
    if too_much is not None:
        raise CalcError(
            f"used: {figures(too_much)} mL is no titre, a burette holds 50; thin the sample or take less of it", "used"
        )
    mean = sum(used) / len(used)
    half_range = (max(used) - min(used)) / 2
    half = max(burette_ml / math.sqrt(len(used)), half_range)
    notes: tuple[str, ...] = ()
    if half_range > 2 * burette_ml:
        notes = (f"The titres are {figures(2 * half_range)} mL apart, more than the burette explains: titrate once more.",)
    blank_ml = 1000 * given.value("blank") if given.has("blank") else 0.0
    if blank_ml:
        half = math.hypot(half, burette_ml)
    if not given.has("added"):
        if given.has("back"):
            raise CalcError(
                "added is missing: a back titration needs how much of the titrant was put in first; for example 10mL", "added"
            )
        return _Titre(titration.net_titre_ml(mean, blank_ml), half, notes)
    added_ml = 1000 * given.value("added")
    back = strong(given.text("back"), "back", "zinc 0.1M", given.prefs, "titrant")
    given.note(f"titrated back with {back.echo}")
    if titrant.substance.name != "EDTA" or back.substance.name != "zinc":
        raise CalcError("back: titrated back is an excess of EDTA, with a zinc solution; write for example zinc 0.1M", "back")
    bound = titration.back_titration_mol(
        added_ml, titrant.equivalents_l, titration.net_titre_ml(mean, blank_ml), back.equivalents_l
    )
    per_ml = back.equivalents_l / titrant.equivalents_l
    return _Titre(1000 * bound / titrant.equivalents_l, math.hypot(half * per_ml, burette_ml), notes)


def _less(given: Given, how: Titration, factor: float) -> tuple[float, float | None]:
    """(mL that another content took, its g/L where it has grams), told by its own titre or by its g/L."""
    told = given.have("less", *(("nickel",) if how.less is not None and how.less.of == "nickel" else ()))
    if not told:
        return 0.0, None
    if how.less is None:
        raise CalcError(f"less: nothing else is counted in a titration of {how.name}", "less")
    if len(told) > 1:
        raise CalcError("less, nickel: give either the titre of nickel alone or its g/L", "less")
    other = molar_mass(how.less.formula) * how.less.per_equivalent if how.less.formula else None
    if told == ["less"]:
        ml = 1000 * given.value("less")
        return ml, ml * factor / how.grams_per_equivalent * other if other else None
    g_l = given.value("nickel")
    assert other is not None
    return g_l / other / (factor / how.grams_per_equivalent), g_l


def _taken_otherwise(given: Given, how: Titration) -> float:
    """g/L of the species that the titre owes to known other contents: chloride of metal salts, iron(III) as acid."""
    equivalents_l = 0.0
    for metal, per_mol in how.bound.items():
        if given.has(metal):
            equivalents_l += per_mol * given.value(metal) / molar_mass({"zinc": "Zn", "nickel": "Ni"}[metal])
    if how.ferric and given.has("ferric"):
        equivalents_l += FERRIC_EQ_PER_MOL * given.value("ferric") / molar_mass("Fe")
    return equivalents_l * how.grams_per_equivalent


def _total(
    given: Given, how: Titration, factor: float, titre: _Titre, measured: list[Measured], burette_ml: float, pipette: float
) -> tuple[float | None, float | None]:
    if not given.has("total") or not how.total:
        return None, None
    total_ml = 1000 * given.value("total")
    ratio = titration.alkalinity_ratio(total_ml, titre.ml)
    value = total_ml * factor
    half = math.hypot(burette_ml * factor, pipette * value)
    measured.append(Measured(how.total, value, "g/L", half, how.method, how.formula))
    return value, ratio


def _believable(value: float, found: float, taken: float, how: Titration) -> None:
    if value < 0:
        raise CalcError(
            f"the other contents would take {figures(taken)} g/L, more than the {figures(found)} g/L that were found; "
            "check their readings",
            "of",
        )
    if value > MOST_G_L:
        raise CalcError(
            f"{figures(value)} g/L of {how.name} is more than dissolves; check the sample, the titrant and the dilution",
            "sample",
        )


def _reading(how: Titration, value: float, found: float, spread: float, method: str) -> Measured:
    """What goes into the book. Of a difference from a second reading the spread is the total's: the book adds the other's."""
    if not how.reading_formula:
        return Measured(how.reading, value, "g/L", spread, method, how.formula)
    per_gram = molar_mass(how.reading_formula) / how.grams_per_equivalent
    return Measured(how.reading, found * per_gram, "g/L", spread * per_gram, method, how.reading_formula)


TITRATE = Calculator(
    name="titrate",
    title="Titration",
    help="A content from a titration, with its spread: metals, chloride, boric acid, acids, alkalis, iron.",
    inputs=(
        Input("of", "text", "of", "What is titrated.", "zinc", required=True, choices=tuple(titrations())),
        Input("titrant", "text", "titrant", "What is in the burette, with its strength.", "EDTA 0.1M", required=True),
        Input("sample", "volume", "sample", "Bath in the flask.", "2mL", required=True),
        Input(
            "used",
            "volume",
            "used",
            "Titrant used; of duplicates each. Of a back titration: what came back.",
            "12.4mL",
            required=True,
            repeated=True,
        ),
        Input("blank", "volume", "blank", "What the same without bath takes.", "0.1mL", zero=True),
        Input("dilution", "number", "dilution", "How many times the bath was thinned before the sample.", "10", default="1"),
        Input(
            "less",
            "volume",
            "less",
            "Titre of the same sample that something else took: nickel alone, or the first end point.",
            "8.5mL",
        ),
        Input("zinc", "concentration", "zinc", "Zinc in the bath, to take its chloride off.", "34.98g/L", zero=True),
        Input(
            "nickel", "concentration", "nickel", "Nickel in the bath, to take it or its chloride off.", "24.94g/L", zero=True
        ),
        Input("ferric", "concentration", "iron(III)", "Iron(III) in a pickle, which counts as acid.", "2g/L"),
        Input("total", "volume", "total", "Of alkali: titre to the low-pH end point, from the start.", "6.0mL"),
        Input("added", "volume", "added", "Of a back titration: titrant put in first.", "10mL"),
        Input("back", "text", "back titrant", "Of a back titration: what it was titrated back with.", "zinc 0.1M"),
        Input("burette", "volume", "burette", "95 % half-width of one titre, drop and readings.", "0.05mL", default="0.05mL"),
        Input("pipette", "volume", "pipette", "95 % half-width of the sample.", "0.02mL", default="0.02mL"),
    ),
    answer=_answer,
    keys={
        "concentration_g_l": "g/L in the bath",
        "factor_g_l_per_ml": "g/L for each mL of titrant",
        "spread_g_l": "95 % half-width from burette and pipette",
        "titre_ml": "net titre in mL",
        "found_mmol": "mmol found in the flask",
        "less_g_l": "g/L of what was taken off (nickel)",
        "total_g_l": "g/L of total alkali",
        "ratio": "total over free alkali",
    },
    examples=(
        {"of": "zinc", "titrant": "EDTA 0.1M", "sample": "2mL", "used": ("12.4mL",)},
        {"of": "zinc", "titrant": "EDTA 0.1M", "sample": "2mL", "used": ("19.2mL",), "less": "8.5mL"},
        {
            "of": "potassium chloride",
            "titrant": "silver nitrate 0.1N",
            "sample": "1mL",
            "used": ("42.3mL",),
            "zinc": "34.98g/L",
            "nickel": "24.94g/L",
        },
        {"of": "free alkali", "titrant": "hydrochloric acid 1N", "sample": "10mL", "used": ("3.4mL",), "total": "6.0mL"},
    ),
    sources=("atomic masses: IUPAC, as in periodictable",),
    logs=True,
)
