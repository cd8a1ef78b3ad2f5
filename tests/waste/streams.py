"""Streams for the tests: a dumped bath of a recipe, anything by hand, and random ones."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load as catalogue
from bathkeeper.catalogue.schema import Species
from bathkeeper.entries import ROLES, WASTE_KINDS
from bathkeeper.findings import Estimate
from bathkeeper.waste.stream import Origin, Stream

AT = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
ONE = Estimate(1.0, 1.0, 1.0, "kg")


def exactly(value: float, unit: str = "g") -> Estimate:
    return Estimate(value, value, value, unit)


def about(value: float, share: float, unit: str = "g") -> Estimate:
    return Estimate(value, value * (1 - share), value * (1 + share), unit)


def origin(role="plate", what="bath", recipe=None, tank="tank", litres=1.0) -> Origin:
    return Origin(at=AT, entry="e1", what=what, tank=tank, role=role, recipe=recipe, litres=litres)


def stream(amounts=None, *, formulas=None, role="plate", what="bath", recipe=None, litres=1.0, **more) -> Stream:
    """A stream by hand; ``formulas``: species -> (kind, formula, equivalents)."""
    species = {
        name: Species(kind=kind, formula=formula, equivalents=eq, unit="g/L", target=1.0, status="practice")
        for name, (kind, formula, eq) in (formulas or {}).items()
    }
    return Stream(
        name=more.pop("name", "drum 1"),
        since=AT,
        origins=more.pop("origins", (origin(role, what, recipe),)),
        amounts=amounts or {},
        species=species,
        volume_l=None if litres is None else exactly(litres, "L"),
        **more,
    )


def dumped(recipe: str, what="bath", litres=20.0, share=0.1, **more) -> Stream:
    """A bath of the catalogue at its targets, as dumped."""
    r = catalogue().recipes[recipe]
    amounts = {
        name: about((s.target or 0.0) * litres, share, "mL" if s.unit == "mL/L" else "g") for name, s in r.species.items()
    }
    return Stream(
        name="drum 1",
        since=AT,
        origins=(origin(r.role, what, recipe, litres=litres),),
        amounts=amounts,
        species=r.species,
        volume_l=about(litres, 0.02, "L"),
        **more,
    )


_TEXTS = st.one_of(
    st.sampled_from(["zinc", "nickel", "chromium", "cadmium", "free acid", "free alkali", "boric acid", "ammonium", "cobalt"]),
    st.text(max_size=12),
    st.sampled_from(["[bold]x[/]", "\u202ezinc", "Zn\n\x1b[31m", "🧪" * 40, "x" * 5000]),
)
_NUMBERS = st.floats(0, 1e6, allow_nan=False)


@st.composite
def estimates(draw, unit="g"):
    value = draw(_NUMBERS)
    share = draw(st.floats(0, 1))
    return Estimate(value, value * (1 - share), value * (1 + share), unit)


@st.composite
def random_streams(draw):
    recipes = st.sampled_from([*catalogue().recipes, "my own", "[red]zinc[/]"])
    origins = draw(
        st.lists(
            st.builds(
                origin, role=st.sampled_from(["", *ROLES]), what=st.sampled_from(WASTE_KINDS), recipe=st.none() | recipes
            ),
            max_size=3,
        )
    )
    known = {n: s for o in origins if o.recipe in catalogue().recipes for n, s in catalogue().recipes[o.recipe].species.items()}
    names = draw(st.lists(st.one_of(_TEXTS, st.sampled_from(sorted(known))) if known else _TEXTS, max_size=6, unique=True))
    ph = draw(st.none() | st.floats(-1, 15))
    return Stream(
        name=draw(_TEXTS),
        since=draw(st.none() | st.just(AT)),
        origins=tuple(origins),
        amounts={n: draw(estimates(draw(st.sampled_from(["g", "g", "mL"])))) for n in names},
        species=known if draw(st.booleans()) else {},
        volume_l=draw(st.none() | estimates("L")),
        mass_kg=draw(st.none() | estimates("kg")),
        ph=None if ph is None else about(ph, 0.0, "pH"),
        density_g_ml=draw(st.none() | st.floats(0.8, 2)),
        complete=draw(st.booleans()),
    )
