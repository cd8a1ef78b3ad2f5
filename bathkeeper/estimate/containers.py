"""What stands in containers of waste: taken out, tested, treated, and how it looks; contents as ranges.

A container's contents are a Gaussian of their own: what comes from a tank brings that tank's spread along, litres and grams
together. What was put in without anybody knowing what it holds makes the contents incomplete.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from bathkeeper.catalogue.schema import Species
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import Container, Papers, WasteKind
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.state import Z95, Flows, booked, put_right_by

VOLUME, SOLIDS, BASE = "volume", "solids", "base"
NOTHING_LEFT_L = 0.01
EMPTY_L, EMPTY_KG = 0.001, 0.001  # what is left by the arithmetic alone [practice]
SOLUTE_G_ML = 0.0008  # what a g/L of dissolved salts adds to a solution's density, g/mL [practice]
MOST_SOLUTE_G_L = 600.0  # beyond this a list of contents tells no density
FILL_SPREAD = 0.05  # of litres or kilograms that a keeper states, 95 % [practice]
SHARE_SPREAD = 0.05  # of a part that was poured off, 95 % [practice]
CARBON_DIOXIDE_KG_MOL = 0.04401  # IUPAC standard atomic weights, abridged
DOUBT = 10.828  # 99.9 % point of chi-square with one degree of freedom (scipy.stats.chi2.ppf)
NAMED: tuple[str, ...] = (VOLUME, SOLIDS, BASE)


@dataclass(frozen=True)
class Fill:
    """Something that came in: litres of a tank or of another container, kilograms of solids, pieces of empty packaging.

    ``weighs_kg``: all of it as it came, liquid and solids, by estimate until a density or a scale told it better; ``left_kg``:
    what of that is in the container still. ``why``: why it became waste, as the keeper said; ``name``: what a left-over
    chemical is called; ``note``: what the keeper noted of it; ``by``: the containers that it went through on its way here,
    ``container`` the last of them, by the entries ``moves``; ``came``: when it came here, where that is later than ``at``.
    """

    entry: str
    at: datetime
    what: WasteKind
    tank: str = ""
    role: str = ""
    recipe: str | None = None
    container: str = ""
    litres: float = 0.0
    mass_kg: float = 0.0
    pieces: int = 0
    known: bool = True
    why: str = ""
    name: str = ""
    note: str = ""
    by: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()
    weighs_kg: float = 0.0
    left_kg: float = 0.0
    came: datetime | None = None


@dataclass(frozen=True)
class Named:
    """A chemical by its name: litres, kilograms where it is solid, (value, variance) by name of what it holds; ``known`` is
    False where no catalogue tells what that is; ``weighs_kg``: all of it, as heavy as water where nothing tells."""

    name: str
    litres: float
    mass_kg: float
    amounts: Mapping[str, tuple[float, float]]
    species: Mapping[str, Species]
    known: bool
    weighs_kg: float


@dataclass(frozen=True)
class Test:
    """The latest test of something in a container."""

    entry: str
    at: datetime
    of: str
    unit: str
    value: float | None
    word: str | None
    spread: float | None = None
    by_lab: str | None = None


@dataclass(frozen=True)
class Handed:
    """Something that was handed over, with what it held: (value, variance) by name as in the container's Gaussian.

    ``density_g_ml``: of its liquid as it was then believed, None where nothing was on record; ``share``: how much of the
    container it was, 0 to 1; ``by_scale``: by how much a scale found it heavier than believed, as a factor. ``refused``: why it
    was, so that it stays or is back in the container since ``refused_at``; ``on_record`` is False where no entry tells what had
    gone into the container; ``before``: the container as it then stood, for a load that comes back.
    """

    entry: str
    at: datetime
    container: str
    to: str
    amounts: Mapping[str, tuple[float, float]]
    species: Mapping[str, Species]
    weighed_kg: float | None
    fills: tuple[Fill, ...]
    codes: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    papers: Papers | None = None
    reference: str | None = None
    receipt: str | None = None
    receipt_at: datetime | None = None
    complete: bool = True
    since: datetime | None = None
    why: tuple[str, ...] = ()
    physical_form: str | None = None
    colour: str | None = None
    refused: str | None = None
    refused_at: datetime | None = None
    on_record: bool = True
    before: ContainerState | None = field(default=None, compare=False, repr=False)
    density_g_ml: float | None = None
    share: float = 1.0
    by_scale: float = 1.0


@dataclass(frozen=True)
class ContainerState:
    """One container. ``since``: when the oldest of what is in it came, None while it is empty. ``checks``: field -> (answer,
    at, entry). ``past``: what was in it before it was last emptied. ``flows``: what moved, by cause and name, over all the
    times that it was filled and emptied. ``put_right``: by name the variance of what tests put right since it was last empty,
    ``put_right_past`` of the times before, with that of what was there when it was emptied. ``beyond_kg``: what the liquid
    weighs beyond its litres of water and the salts that are counted: by a tested density, or what treatments brought; below
    zero where it is lighter. ``gained``: when treatments made it heavier, kg, or lighter, over all the times that it was
    filled."""

    name: str
    gauss: Gauss = field(default_factory=lambda: Gauss.independent([(n, 0.0, 0.0) for n in NAMED]))
    opened: datetime | None = None
    since: datetime | None = None
    form: str | None = None
    size_l: float | None = None
    place: str | None = None
    fills: tuple[Fill, ...] = ()
    past: tuple[Fill, ...] = ()
    species: Mapping[str, Species] = field(default_factory=dict)
    tests: Mapping[str, Test] = field(default_factory=dict)
    checks: Mapping[str, tuple[bool, datetime, str]] = field(default_factory=dict)
    codes: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    labelled: datetime | None = None
    treatments: tuple[Container, ...] = ()
    handed: tuple[Handed, ...] = ()
    flows: Flows = field(default_factory=dict)
    complete: bool = True
    physical_form: str | None = None
    colour: str | None = None
    put_right: Mapping[str, float] = field(default_factory=dict)
    put_right_past: Mapping[str, float] = field(default_factory=dict)
    beyond_kg: float = 0.0
    gained: tuple[tuple[datetime, float], ...] = ()

    @property
    def volume_l(self) -> float:
        return self.gauss.value(VOLUME)

    @property
    def solids_kg(self) -> float:
        return self.gauss.value(SOLIDS)

    @property
    def pieces(self) -> int:
        """Pieces of empty packaging in it."""
        return sum(f.pieces for f in self.fills)

    @property
    def why(self) -> tuple[str, ...]:
        """Why what is in it became waste, each reason once."""
        return tuple(dict.fromkeys(f.why for f in self.fills if f.why))

    @property
    def empty(self) -> bool:
        """Whether nothing is in it, by the entries."""
        return not self.fills

    @property
    def liquid_kg(self) -> float:
        """The liquid, kg, by estimate: water with its dissolved salts, and what it is known to weigh beyond these."""
        return salty_kg(self.gauss) + self.beyond_kg

    @property
    def density_g_ml(self) -> float:
        """Of the liquid as tested, else by what is dissolved; a treatment or a further filling carries it on by weight."""
        return self.liquid_kg / self.volume_l if self.volume_l > 1e-9 else 1.0

    @property
    def mass_kg(self) -> float:
        """Liquid and solids, kg, by estimate."""
        return self.liquid_kg + self.solids_kg

    def held(self) -> dict[str, float]:
        """Everything in it by name: ``volume`` L, ``solids`` kg, ``base`` mol left over, ``mass:SPECIES`` g or mL."""
        return {n: self.gauss.value(n) for n in self.gauss.names}


def salty_kg(gauss: Gauss) -> float:
    """Litres of water with the salts counted in them, kg."""
    litres = gauss.value(VOLUME) if VOLUME in gauss else 0.0
    grams = sum(gauss.value(n) for n in gauss.names if n.startswith("mass:"))
    return litres + SOLUTE_G_ML * min(grams, MOST_SOLUTE_G_L * litres)


def portion(gauss: Gauss, share: float, relative_sd: float, names: Iterable[str]) -> Gauss:
    """A share of what a vessel holds as a Gaussian of its own, the share being sure to ``relative_sd`` of itself. That the rest
    and the portion are wrong together is dropped, as between tanks."""
    kept = tuple(n for n in names if n in gauss)
    places = [gauss.index[n] for n in kept]
    mean = gauss.mean[places] * share
    cov = gauss.cov[np.ix_(places, places)] * share**2 + relative_sd**2 * np.outer(mean, mean)
    return Gauss(kept, mean, cov, {n: i for i, n in enumerate(kept)})


def is_whole(state: ContainerState, share: float) -> bool:
    """Whether nothing is left once a share of it (0 to 1) is gone: what arithmetic alone would leave is nothing."""
    left = max(1.0 - share, 0.0) * (1 - 1e-9)
    return share >= 1.0 or (left * state.volume_l <= EMPTY_L and left * state.solids_kg <= EMPTY_KG and not state.pieces)


def taken_out(state: ContainerState, share: float, cause: str) -> tuple[ContainerState, Gauss]:
    """The container after a share (0 to 1) of all that is in it left, and what that was; after the whole of it, it is empty and
    begins anew."""
    whole = is_whole(state, share)
    share = 1.0 if whole else share
    gone = portion(state.gauss, min(share, 1.0), 0.0 if whole else SHARE_SPREAD / Z95, state.gauss.names)
    flows = booked(state.flows, cause, {n: -gone.value(n) for n in gone.names})
    if whole:
        gauss = Gauss.independent([(n, 0.0, 0.0) for n in NAMED])
        fresh = ContainerState(name=state.name, form=state.form, size_l=state.size_l, place=state.place)
        return replace(
            fresh, gauss=gauss, opened=state.opened, past=(*state.past, *state.fills), flows=flows, handed=state.handed,
            checks=state.checks, put_right_past=_past(state), gained=state.gained,
        ), gone  # fmt: skip
    rest = portion(state.gauss, 1.0 - share, SHARE_SPREAD / Z95 * share / (1.0 - share), state.gauss.names)
    fills = tuple(replace(f, left_kg=f.left_kg * (1.0 - share)) for f in state.fills)
    return replace(state, gauss=rest, flows=flows, fills=fills, beyond_kg=state.beyond_kg * (1.0 - share)), gone


def weighed(fills: Iterable[Fill], share: float, factor: float) -> tuple[Fill, ...]:
    """The fills after a share of what is left of them was found to weigh ``factor`` times its estimate."""
    return tuple(replace(f, weighs_kg=f.weighs_kg + f.left_kg * share * (factor - 1.0)) for f in fills)


def _past(state: ContainerState) -> dict[str, float]:
    """What tests put right up to the emptying: what left was as unsure as it stood there."""
    past = dict(state.put_right_past)
    for name, variance in state.put_right.items():
        past[name] = past.get(name, 0.0) + variance + state.gauss.variance(name)
    return past


def tested(state: ContainerState, entry: Container) -> ContainerState:
    """With a test taken up: concentrations and the volume sharpen the estimate, everything is kept to be shown. A density that
    was tested, or that a treatment carried on, stays until it is tested again."""
    tests = dict(state.tests)
    told = state.density_g_ml if state.beyond_kg else None
    for read in entry.values:
        value, unit = read.value, read.unit
        spread = read.spread
        if unit == "mg/L" and value is not None:
            value, unit = value / 1000, "g/L"
            spread = spread / 1000 if spread is not None else None
        of = read.of.replace("_", " ")
        tests[of] = Test(entry.id, entry.at, of, unit, value, read.word, spread, entry.by_lab)
        if value is None:
            continue
        if of == "density" and unit == "g/cm3":
            told = value
        half = spread if spread is not None else max(0.1 * value, 1e-4)
        if of == VOLUME and unit == "L":
            state = _sharpened(state, VOLUME, value, half, direct=True)
        elif unit == "g/L" or (unit == "mL/L" and of in state.species):
            state = _sharpened(state, f"mass:{of}", value, half, direct=False)
    if told is not None:
        state = _of_density(state, told)
    return replace(state, tests=tests)


def _of_density(state: ContainerState, density_g_ml: float) -> ContainerState:
    """The container with a liquid of that density; what came into it weighs accordingly."""
    before = state.liquid_kg
    after = state.volume_l * density_g_ml
    liquid = replace(state, beyond_kg=after - salty_kg(state.gauss))
    return replace(liquid, fills=_as_dense(state.fills, after / before)) if before > 0 else liquid


def _as_dense(fills: Iterable[Fill], factor: float) -> tuple[Fill, ...]:
    """The fills after their liquid was found ``factor`` times as heavy; solids weigh what they weigh."""
    made = []
    for f in fills:
        liquid = 1.0 - f.mass_kg / f.weighs_kg if f.weighs_kg > 0 else 0.0
        more = f.left_kg * liquid * (factor - 1.0)
        made.append(replace(f, weighs_kg=f.weighs_kg + more, left_kg=f.left_kg + more))
    return tuple(made)


def _sharpened(state: ContainerState, name: str, value: float, half: float, *, direct: bool) -> ContainerState:
    before = state.gauss
    if not direct and before.value(VOLUME) <= NOTHING_LEFT_L:
        return state
    if name not in before:
        litres = before.value(VOLUME)
        wide = (10.0 * max(value, 1e-3) * litres) ** 2  # nothing was known of it: the test alone tells
        before = before.extended([(name, 0.0, wide)])
    elif direct and before.variance(name) == 0.0 and before.value(name) == 0.0:
        before = before.replaced({name: (value, (10.0 * max(value, 1e-3)) ** 2)})
    h = before.dual(name) if direct else before.dual(name) / before.dual(VOLUME)
    noise = max((half / Z95) ** 2, 1e-12)
    miss = (value - h.value) * (1.0 if direct else before.value(VOLUME))
    if (value - h.value) ** 2 > DOUBT * (before.variance_of(h) + noise):
        # Nobody tests a drum twice to be believed: what was found in it is in it, whatever the estimate had thought.
        i = before.index[name]
        cov = before.cov.copy()
        cov[i, i] += miss**2
        before = Gauss(before.names, before.mean, cov, before.index)
    after = before.updated([h], [value], np.array([[noise]]))
    mean = after.mean.copy()
    mean[mean < 0] = 0.0
    after = after.with_mean(mean)
    moved = {n: after.value(n) - (state.gauss.value(n) if n in state.gauss else 0.0) for n in after.names}
    put_right = dict(state.put_right)
    for n in after.names:
        put_right[n] = put_right.get(n, 0.0) + put_right_by(state.gauss, before, after, n)
    return replace(state, gauss=after, flows=booked(state.flows, "reading adjustments", moved), put_right=put_right)


def treated(
    state: ContainerState,
    entry: Container,
    brought: Mapping[str, tuple[float, float]],
    base_mol: float,
    put_in_kg: float,
    gas_mol: float,
) -> ContainerState:
    """After a treatment: what it brought (litres, grams of what is tracked), base against the free acid, water driven off.

    Base takes the acids in it down to nothing, each by its share; what is left of it is kept as ``base``. Metals stay: as
    sludge they are still in the container. The weight carries on: what was there and ``put_in_kg``, less the water driven off
    and the carbon dioxide that acid sets free of the ``gas_mol`` in carbonates put in, each base taking its share of the acid.
    """
    before, weight = state.mass_kg, state.mass_kg + put_in_kg
    shifts = dict(brought)
    names = [n for n in shifts if n not in state.gauss]
    gauss = state.gauss.extended([(n, 0.0, 0.0) for n in names]).shifted(shifts)
    flows = booked(state.flows, "treated", {n: s[0] for n, s in shifts.items()})
    state = replace(state, gauss=gauss, flows=flows)
    state, spent_mol = _neutralised(state, base_mol)
    if base_mol > 0:
        weight -= gas_mol * min(spent_mol / base_mol, 1.0) * CARBON_DIOXIDE_KG_MOL
    if entry.volume_l:
        gone = min(entry.volume_l, state.volume_l)
        weight -= gone  # what goes is water, 1 kg/L
        state = replace(
            state,
            gauss=state.gauss.shifted({VOLUME: (-gone, (FILL_SPREAD * gone / Z95) ** 2)}),
            flows=booked(state.flows, "driven off", {VOLUME: -gone}),
        )
    gained = (*state.gained, (entry.at, weight - before))
    return replace(_of_weight(state, weight), treatments=(*state.treatments, entry), gained=gained)


def _of_weight(state: ContainerState, weight_kg: float) -> ContainerState:
    """The container weighing so much; what is left when all water is gone is solid."""
    rest = weight_kg - state.solids_kg
    if state.volume_l <= 1e-9 and rest > 0:
        dry = state.gauss.shifted({SOLIDS: (rest, (FILL_SPREAD * rest / Z95) ** 2)})
        return replace(state, gauss=dry, flows=booked(state.flows, "treated", {SOLIDS: rest}), beyond_kg=0.0)
    return replace(state, beyond_kg=rest - salty_kg(state.gauss))


def _neutralised(state: ContainerState, base_mol: float) -> tuple[ContainerState, float]:
    """After base was put to it, with the mol of acid that it took."""
    acids = {
        n: molar_mass(s.formula) / (s.equivalents or 1.0)
        for n, s in state.species.items()
        if s.kind == "acid" and s.formula and f"mass:{n}" in state.gauss
    }
    there = sum(state.gauss.value(f"mass:{n}") / m for n, m in acids.items())
    spent = min(max(base_mol, 0.0), there)
    moved: dict[str, float] = {}
    changes: dict[str, Dual] = {}
    if spent > 0 and there > 0:
        for n in acids:
            changes[f"mass:{n}"] = state.gauss.dual(f"mass:{n}") * (-spent / there)
            moved[f"mass:{n}"] = changes[f"mass:{n}"].value
    gauss = state.gauss.moved(changes)
    left = base_mol - spent
    if left:
        gauss = gauss.shifted({BASE: (left, (0.05 * left / Z95) ** 2)})
        moved[BASE] = left
    return replace(state, gauss=gauss, flows=booked(state.flows, "treated", moved)), spent


def seen_as(state: ContainerState, physical_form: str | None, colour: str | None) -> ContainerState:
    """With how it looks, where that was said; what was said before stays else."""
    return replace(state, physical_form=physical_form or state.physical_form, colour=colour or state.colour)
