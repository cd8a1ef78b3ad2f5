"""Made-up waste vessels, plain and random."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Species
from bathkeeper.findings import Estimate
from bathkeeper.waste.stream import Origin, Stream

NOW = datetime(2024, 5, 20, 12, 0, tzinfo=UTC)
SINCE = datetime(2024, 3, 1, 9, 30, tzinfo=UTC)
CATALOGUE = load()


def exact(value: float, unit: str = "g") -> Estimate:
    return Estimate(value, value, value, unit)


def about(value: float, relative: float, unit: str = "g") -> Estimate:
    return Estimate(value, value * (1 - relative), value * (1 + relative), unit)


def species(kind: str, formula: str = "", equivalents: float | None = None, **more) -> Species:
    return Species(status="practice", unit="g/L", target=0.0, kind=kind, formula=formula, equivalents=equivalents, **more)


ACIDS = {
    "hydrochloric acid": species("acid", "HCl", 1.0),
    "sulfuric acid": species("acid", "H2SO4", 2.0),
    "free acid": species("acid", "NaHSO4", 1.0),
    "nitric acid": species("acid", "HNO3", 1.0),
}
SALTS = {
    "boric acid": species("salt", "H3BO3"),
    "ammonium chloride": species("salt", "NH4Cl"),
    "ammonium": species("salt", "NH4"),
    "chloride": species("salt", "Cl"),
    "carbonate": species("contaminant", "Na2CO3"),
    "free alkali": species("alkali", "NaOH", 1.0),
    "amine": species("salt", "C6H15NO3"),
}
METALS = ("zinc", "nickel", "chromium", "iron", "iron(II)", "iron(III)", "cobalt", "copper", "aluminium", "cadmium", "lead")
KNOWN = {**ACIDS, **SALTS, **{m: species("metal") for m in METALS}}


def vessel(litres: float | None = 1.0, *, what="bath", role="plate", recipe=None, spread=0.0, **fields) -> Stream:
    """A vessel with ``amounts`` in g by the names above; ``spread`` is the relative spread of all."""
    grams = fields.pop("amounts", {})
    origin = Origin(at=SINCE, entry="entry-000001", what=what, tank="tank-1", role=role, recipe=recipe, litres=litres or 0.0)
    base = {
        "name": "drum-1",
        "since": SINCE,
        "origins": (origin,),
        "amounts": {n: g if isinstance(g, Estimate) else about(g, spread) for n, g in grams.items()},
        "species": {n: KNOWN[n] for n in grams if n in KNOWN},
        "volume_l": about(litres, spread, "L") if litres is not None else None,
    }
    return Stream(**{**base, **fields})


def of_recipe(name: str, litres: float = 20.0, role: str | None = None) -> Stream:
    """A bath as its recipe wants it, dumped."""
    recipe = CATALOGUE.recipe(name)
    amounts = {}
    for key, one in recipe.species.items():
        amounts[key] = about((one.target or 0.0) * litres, 0.05, "mL" if one.unit == "mL/L" else "g")
    return vessel(
        litres, role=role or recipe.role, recipe=name, name=name, amounts=amounts, species=dict(recipe.species), spread=0.02
    )


numbers = st.one_of(
    st.floats(-1.0, 1e5), st.sampled_from([0.0, 1e-9, 1e300, -1e300, float("inf"), float("-inf"), float("nan")])
)
ODD = ["[red]x[/red]", "\x1b[31mx", "\u202egnp", "🧪" * 20, "x" * 5000, "(VI)"]
FORMULAS = ["", "not a formula", "ZnCl2", "K2CrO4", "NaHCO3", "((", "C10H14N2Na2O8.2H2O", "NaCl"]
hostile = st.one_of(
    st.text(max_size=30), st.sampled_from(["[red]x[/red]", "\x1b[31mx", "\u202egnp", "🧪" * 20, "x" * 5000, "(VI)"])
)


@st.composite
def any_estimate(draw, units=("g", "mL", "")) -> Estimate:
    return Estimate(draw(numbers), draw(numbers), draw(numbers), draw(st.sampled_from(units)))


@st.composite
def any_stream(draw) -> Stream:
    """Whatever a book could lead to and more: unknown species, wrong formulas, nothing measured, numbers that are none."""
    names = draw(st.lists(st.one_of(st.sampled_from(sorted(KNOWN)), hostile), max_size=8, unique=True))
    kinds = {}
    for name in names:
        known = KNOWN.get(name)
        if known is None and draw(st.booleans()):
            formula = draw(st.sampled_from(FORMULAS))
            known = species(draw(st.sampled_from(["metal", "salt", "acid", "alkali", "additive", "contaminant"])), formula)
        if known is not None:
            kinds[name] = known
    what = st.sampled_from(
        ["bath", "rinse water", "sludge", "filters", "carbon", "rags", "empty packaging", "chemicals", "oil", "eluate", "resin",
         "other"]
    )
    roles = st.sampled_from(["", "pickle", "plate", "passivate", "degrease", "rust removal", "acid dip", "rinse"])
    recipes = st.sampled_from([None, "bisulfate-pickle", "nitric-dip", "no-such-recipe", "zinc-nickel-chloride-ammonium"])
    origins = [
        Origin(
            at=SINCE,
            entry=f"entry-{n}",
            what=draw(what),
            tank=draw(hostile),
            role=draw(roles),
            recipe=draw(recipes),
            litres=draw(st.floats(0, 1e3)),
            mass_kg=draw(st.floats(0, 1e3)),
        )
        for n in range(draw(st.integers(0, 4)))
    ]
    maybe = st.one_of(st.none(), any_estimate(units=("L",)))
    return Stream(
        name=draw(hostile) or "x",
        since=draw(st.sampled_from([None, SINCE])),
        origins=tuple(origins),
        amounts={n: draw(any_estimate()) for n in names},
        species=kinds,
        volume_l=draw(maybe),
        mass_kg=draw(maybe),
        ph=draw(maybe),
        density_g_ml=draw(st.sampled_from([None, 1.1, 0.0, -1.0, float("nan"), 1e300])),
        complete=draw(st.booleans()),
    )
