"""Charge, current, time, mass, thickness, area and efficiency of a deposit: what is known gives the rest."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bathkeeper.calculators.deposits import EXAMPLE, deposit_of, valence_note
from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input
from bathkeeper.chemistry.faraday import UM_DM2_PER_CM3
from bathkeeper.units.door import figures, show

AGREE = 0.005
"""What was given twice may differ by so much: honest rounding."""

MOST_EFFICIENT = 1.03
"""A little over 100 % is weighing error; more is a wrong valence, metal or area (practice)."""

HIGHEST_A_DM2 = 20.0
"""Above it nothing is plated here (practice)."""

UNKNOWNS = ("charge", "current", "time", "area", "thickness", "mass", "efficiency", "density")
KIND = {
    "charge": "charge",
    "current": "current",
    "time": "time",
    "area": "area",
    "thickness": "thickness",
    "mass": "mass",
    "efficiency": "fraction",
    "density": "current_density",
}


@dataclass(frozen=True)
class _Law:
    """left = constant x product of right; every name one of UNKNOWNS."""

    left: str
    right: tuple[str, ...]
    constant: float

    @property
    def names(self) -> tuple[str, ...]:
        return (self.left, *self.right)

    def solve(self, known: dict[str, float]) -> tuple[str, float] | None:
        """The one that is not known yet; None unless exactly one is not."""
        missing = [n for n in self.names if n not in known]
        if len(missing) != 1:
            return None
        if missing[0] == self.left:
            return self.left, self.constant * math.prod(known[n] for n in self.right)
        rest = math.prod(known[n] for n in self.right if n != missing[0])
        return missing[0], known[self.left] / (self.constant * rest)

    def off(self, known: dict[str, float]) -> float:
        """How far the known values are from it, relative."""
        return known[self.left] / (self.constant * math.prod(known[n] for n in self.right)) - 1.0


def _laws(g_per_ah: float, density_g_cm3: float) -> tuple[_Law, ...]:
    return (
        _Law("charge", ("current", "time"), 1.0 / 60.0),
        _Law("current", ("density", "area"), 1.0),
        _Law("mass", ("charge", "efficiency"), g_per_ah),
        _Law("mass", ("thickness", "area"), density_g_cm3 / UM_DM2_PER_CM3),
    )


def _solve(laws: tuple[_Law, ...], known: dict[str, float]) -> None:
    """Fills in what follows. Raises CalcError when two givens contradict each other."""
    moved = True
    while moved:
        moved = False
        for law in laws:
            found = law.solve(known)
            if found is not None:
                known[found[0]] = found[1]
                moved = True
    for law in laws:
        if all(n in known for n in law.names) and abs(law.off(known)) > AGREE:
            texts = ", ".join(f"{n} {show(known[n], KIND[n])}" for n in law.names)
            raise CalcError(f"these do not go together: {texts} are {law.off(known):+.0%} apart; leave one out", law.left)


def _answer(given: Given) -> Answer:
    deposit = deposit_of(given.text("metal"), "metal", given.catalogue, given.prefs)
    given.note(f"deposit {deposit.title}; {valence_note(deposit, given.catalogue)}")
    density = given.maybe("metal-density") or deposit.density_g_cm3
    known: dict[str, float] = {}
    for name in UNKNOWNS:
        if given.has(name):
            context = {"thickness_density_g_cm3": density} if name == "thickness" else {}
            known[name] = given.value(name, **context)
    told = set(known)
    laws = _laws(deposit.g_per_ah, density)
    _solve(laws, known)
    if "efficiency" not in known:
        known["efficiency"] = 1.0
        told.add("efficiency")
        given.note("efficiency 100 % (taken, as nothing else was said)")
        _solve(laws, known)
    if not set(known) - told:
        raise _too_little(told)
    if known["efficiency"] > MOST_EFFICIENT:
        raise CalcError(
            f"this would take {known['efficiency']:.0%} efficiency: more metal than the charge can lay down; check charge, "
            f"mass, area, and the valence ({valence_note(deposit, given.catalogue)})",
            "efficiency",
        )
    return Answer(
        values={
            "charge_ah": known.get("charge"),
            "current_a": known.get("current"),
            "minutes": known.get("time"),
            "mass_g": known.get("mass"),
            "thickness_um": known.get("thickness"),
            "efficiency": known["efficiency"],
            "area_dm2": known.get("area"),
            "density_a_dm2": known.get("density"),
        },
        lines=tuple(_line(n, known[n], given) for n in UNKNOWNS if n in known and n not in told),
        formula="mass = efficiency x charge x 3600/F x M/n (alloys: charge adds up metal by metal); charge = current x time; "
        "thickness = mass / (density x area)"
        f"; here {figures(deposit.g_per_ah)} g/Ah at 100 %, {figures(density)} g/cm³",
        sources=deposit.sources,
        cautions=(*_cautions(known), *deposit.cautions),
    )


def _too_little(told: set[str]) -> CalcError:
    what = " and ".join(sorted(told - {"efficiency"})) or "the metal"
    return CalcError(
        f"{what} alone does not tell anything else; give for example charge and area, or current, area and thickness, or mass",
        "charge",
    )


def _line(name: str, value: float, given: Given) -> str:
    label = {"density": "current density", "thickness": "thickness, average"}.get(name, name)
    text = show(value, KIND[name], given.prefs)
    if name == "time" and value >= 120:
        text += f" ({figures(value / 60)} h)"
    return f"{label}: {text}"


def _cautions(known: dict[str, float]) -> tuple[str, ...]:
    found = []
    if "thickness" in known:
        found.append("The thickness is an average: edges get more, recesses less.")
    if known.get("density", 0.0) > HIGHEST_A_DM2:
        found.append(f"{figures(known['density'])} A/dm² is more than is plated here; check the area.")
    if known["efficiency"] > 1.0 + 1e-9:
        found.append("An efficiency over 100 % is an error of weighing or of the charge.")
    return tuple(found)


DEPOSIT = Calculator(
    name="deposit",
    title="Charge and deposit",
    help="Charge, current, time, mass and thickness of a deposit: give what is known, the rest follows.",
    inputs=(
        Input("metal", "text", "metal", "What is laid down: a metal, or an alloy with its share.", EXAMPLE, required=True),
        Input("charge", "charge", "charge", "Amp-hours that passed.", "4.9Ah"),
        Input("current", "current", "current", "Current on the whole load.", "6.5A"),
        Input("time", "time", "time", "How long the current flows.", "45min"),
        Input("area", "area", "area", "Wetted area of the load, both faces.", "3.2dm2"),
        Input("thickness", "thickness", "thickness", "Average thickness.", "8um"),
        Input("mass", "mass", "mass", "Mass of the deposit.", "2.9g"),
        Input(
            "efficiency",
            "fraction",
            "efficiency",
            "Share of the current that lays down metal; 100 % unless given or it follows.",
            "93%",
        ),
        Input("density", "current_density", "current density", "Current over area.", "1.5A/dm2"),
        Input("metal-density", "metal density", "density of the metal", "Instead of the catalogue's.", "7.14g/cm3"),
    ),
    answer=_answer,
    keys={
        "charge_ah": "charge in Ah",
        "current_a": "current in A",
        "minutes": "time in min",
        "mass_g": "deposit in g",
        "thickness_um": "average thickness in µm",
        "efficiency": "cathode efficiency, 1 is all of the current",
        "area_dm2": "area in dm²",
        "density_a_dm2": "current density in A/dm²",
    },
    examples=(
        {"metal": "zinc-nickel:13%", "thickness": "8um", "area": "5dm2", "density": "2A/dm2", "efficiency": "93%"},
        {"metal": "nickel", "current": "2A", "time": "30min", "area": "1dm2", "efficiency": "95%"},
        {"metal": "zinc", "charge": "4.9Ah", "mass": "5.6g"},
    ),
    sources=("Faraday's law; F = 96485.33212 C/mol (CODATA 2018, exact)",),
)
