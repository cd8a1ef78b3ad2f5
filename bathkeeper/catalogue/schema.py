"""The shape of the catalogue: every table that holds a number also says where the number comes from.

``status`` is one of

- ``seen``: read in the named source;
- ``derived``: computed from constants or from a seen value, ``source`` says how;
- ``memory``: well known in the trade, not read in a source: an editable default;
- ``practice``: common shop practice without a source: an editable default.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from bathkeeper.entries import Role

Status = Literal["seen", "derived", "memory", "practice"]
Exposure = Literal[
    "ah",
    "dm2",
    "dm2_min",
    "day",
    "run",
    "heated_h",
    "surface_day",
    "surface_heated_h",
    "anode_dm2_day",
    "g_stripped",
]


class Sourced(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of every table with a number in it."""

    status: Status
    source: str = ""

    def __post_init__(self) -> None:
        if self.status in ("seen", "derived") and not self.source:
            raise ValueError(f"status `{self.status}` needs a `source`; without one it is `memory` or `practice`")


class Window(Sourced, frozen=True, kw_only=True):
    """low <= target <= high, and the limits beyond which the bath is given up; any may be absent."""

    unit: str
    low: float | None = None
    target: float | None = None
    high: float | None = None
    give_up_low: float | None = None
    give_up_high: float | None = None

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        steps = [v for v in (self.give_up_low, self.low, self.target, self.high, self.give_up_high) if v is not None]
        if not steps:
            raise ValueError("a window needs at least one of low, target, high")
        if steps != sorted(steps):
            raise ValueError("a window must rise: give_up_low <= low <= target <= high <= give_up_high")


class Species(Window, frozen=True, kw_only=True):
    """Something a bath holds. ``kind``: metal, salt, acid, alkali, additive, contaminant. Acids and alkalis are counted in
    g of the named ``formula``; ``equivalents`` per mol of it turn grams into acid or base. ``counts_weak``: titrated on to a
    low pH, so that weak bases (carbonates) count too. ``hydroxide_held``: mol OH- that one mol of a metal binds in an alkaline
    bath (zincate 4), which is then not free. ``treatment``: what brings a contaminant down, with its source in the text."""

    kind: Literal["metal", "salt", "acid", "alkali", "additive", "contaminant"]
    title: str = ""
    formula: str = ""
    equivalents: float | None = None
    counts_weak: bool = False
    hydroxide_held: float = 0.0
    about: str = ""
    treatment: str = ""


class Ratio(Window, frozen=True, kw_only=True):
    """Mass of ``parts`` over mass of ``whole``, species by name."""

    parts: tuple[str, ...]
    whole: tuple[str, ...]
    title: str = ""


class Coefficient(Sourced, frozen=True, kw_only=True):
    """What one g/L of a species adds to something that a whole solution shows (density in g/cm3, conductivity in mS/cm)."""

    value: float
    unit: str


class DensityAtTarget(Sourced, frozen=True, kw_only=True):
    """Density in g/cm3 of the bath with every species at its target, at ``temperature_c``: where the straight lines of
    ``density`` touch the curve."""

    value: float
    temperature_c: float


class Prior(Sourced, frozen=True, kw_only=True):
    """What is believed of a parameter before this workshop has taught better, as a 95 % range.

    ``scale`` log: value times/over ``factor``; logit or linear: value +- ``spread``. ``walk``: how much of its prior spread it
    may wander in half a year.
    """

    value: float
    unit: str
    scale: Literal["log", "logit", "linear"]
    factor: float | None = None
    spread: float | None = None
    walk: float = 0.3
    title: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if self.scale == "log" and (self.factor is None or self.factor <= 1 or self.value <= 0):
            raise ValueError("a log prior needs a value above 0 and a factor above 1")
        if self.scale != "log" and (self.spread is None or self.spread <= 0):
            raise ValueError(f"a {self.scale} prior needs a spread above 0")
        if self.scale == "logit" and not 0 < self.value < 1:
            raise ValueError("a logit prior needs a value between 0 and 1")


class Effect(Sourced, frozen=True, kw_only=True):
    """What one unit of a wear term's extent does: ``amount`` (g, mL, mol or L of ``to``) per unit, times a parameter if named.

    ``to``: a species, ``water`` (litres), ``acid`` (mol of the acid balance), ``anode:METAL`` (g off the hung anodes) or
    ``solution`` (litres of bath leaving with everything in it; ``to`` the next tank for drag-out).
    """

    to: str
    amount: float
    parameter: str | None = None


class Wear(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One exposure turned into changes: extent = rate(parameter) x exposure x (slowing species / its target) ^ power x
    temperature."""

    name: str
    exposure: Exposure
    rate: str
    effects: tuple[Effect, ...]
    slowed_by: str | None = None
    power: str | None = None
    per_degree: str | None = None
    anode_metal: str | None = None
    about: str = ""


class Electrode(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """What charge does. ``deposit``: metals laid down, base metal first (empty: hydrogen only). Parameters by fixed names in
    ``Recipe.parameters``: cathode_efficiency; deposit_METAL (fraction of every metal but the base); ratio_exponent, per_degree,
    density_exponent; anode_efficiency_METAL; anode_share_METAL for every anode metal but the base.
    ``reference``: where deposit_METAL holds (ratio of the alloy metal in solution, temperature, current density).
    ``inert``: metals that belong in this bath as anodes but only carry current.
    ``density``: the window of the current density at the parts; ``anode_density``: what an anode metal stands (``high``), of
    its own area."""

    deposit: tuple[str, ...] = ()
    anodes: tuple[str, ...] = ()
    inert: tuple[str, ...] = ()
    reference: Reference | None = None
    density: Window | None = None
    anode_density: dict[str, Window] = {}

    def __post_init__(self) -> None:
        named = [("density", self.density), *((f"anode_density.{m}", w) for m, w in self.anode_density.items())]
        for field, window in named:
            if window is not None and window.unit != "A/dm2":
                raise ValueError(f"{field}: a current density has the unit A/dm2, not {window.unit}")
            if window is not None and any(v is not None and v <= 0 for v in (window.low, window.target, window.high)):
                raise ValueError(f"{field}: a current density lies above 0")


class Reference(Sourced, frozen=True, kw_only=True):
    """The point at which the deposit's composition prior holds."""

    ratio: float
    temperature_c: float
    density_a_dm2: float


class Due(Sourced, frozen=True, kw_only=True):
    """How often something wants reading or the bath its end: whichever of days, charge or area comes first."""

    days: float | None = None
    charge_ah: float | None = None
    area_dm2: float | None = None


class Caution(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A hazard of this bath, said where it is met."""

    text: str
    when: Literal["always", "make_up", "addition", "run", "removal", "anode"] = "always"


class Meeting(Sourced, frozen=True, kw_only=True):
    """What must not meet this bath in a tank, a tray or a container: ``what`` is a role, a recipe, a reagent or one of
    :data:`STRANGERS`; ``why``: what comes of it."""

    what: str
    why: str


STRANGERS = ("aluminium", "cyanide", "organics", "sulfides")
"""Things that are no tank, recipe or reagent of ours but turn up where they must not."""


class MakeUpStep(Sourced, frozen=True, kw_only=True):
    """One step of filling a tank fresh: so much of a reagent for each litre of finished bath, or water up to the mark."""

    reagent: str
    amount_g_l: float | None = None
    amount_ml_l: float | None = None
    to_the_mark: bool = False
    why: str

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if [self.amount_g_l is not None, self.amount_ml_l is not None, self.to_the_mark].count(True) != 1:
            raise ValueError("a step needs exactly one of amount_g_l, amount_ml_l, to_the_mark = true")
        if any(a is not None and a <= 0 for a in (self.amount_g_l, self.amount_ml_l)):
            raise ValueError("an amount must be above 0; leave a step out that adds nothing")


class Piece(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """What several recipes have in common, and all that a recipe can hold but its name, title, role and summary."""

    species: dict[str, Species] = {}
    ratios: dict[str, Ratio] = {}
    indicators: dict[str, Window] = {}
    density: dict[str, Coefficient] = {}
    density_at_target: DensityAtTarget | None = None
    conductivity: dict[str, Coefficient] = {}
    parameters: dict[str, Prior] = {}
    wear: tuple[Wear, ...] = ()
    electrode: Electrode | None = None
    readings: dict[str, Due] = {}
    life: Due | None = None
    cautions: tuple[Caution, ...] = ()
    must_not_meet: tuple[Meeting, ...] = ()
    make_up: tuple[MakeUpStep, ...] = ()
    water: str = ""


class Recipe(Piece, frozen=True, kw_only=True):
    """What a bath should be: species and windows, ratios, indicators, parameters, wear, electrodes, cautions, what must not
    meet it, how it is made up, and the quality of ``water`` that it wants (a name of water.toml)."""

    name: str
    title: str
    role: Role
    summary: str
    flow: Literal["bath", "still", "running"] = "bath"


class WaterQuality(Sourced, frozen=True, kw_only=True):
    """What water may hold at most (but for ``ph_low``) for a use; any limit may be absent. Hardness in meq/L of calcium and
    magnesium (1 meq/L is 50 mg/L as CaCO3)."""

    name: str
    title: str
    use: str
    ph_low: float | None = None
    ph_high: float | None = None
    conductivity_us_cm: float | None = None
    residue_mg_l: float | None = None
    hardness_meq_l: float | None = None
    sulfate_mg_l: float | None = None
    chloride_mg_l: float | None = None
    nitrate_mg_l: float | None = None
    phosphate_mg_l: float | None = None
    iron_mg_l: float | None = None
    nickel_mg_l: float | None = None
    zinc_mg_l: float | None = None
    chromium_mg_l: float | None = None

    def limits(self) -> dict[str, float]:
        """The limits that are given, by field."""
        return {f: v for f in self.__struct_fields__ if isinstance(v := getattr(self, f), float)}

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not self.limits():
            raise ValueError("a water quality needs at least one limit, for example conductivity_us_cm")
        if any(v < 0 for v in self.limits().values()):
            raise ValueError("a limit cannot be below 0")
        if self.ph_low is not None and self.ph_high is not None and self.ph_low > self.ph_high:
            raise ValueError("ph_low must not be above ph_high")


class Reagent(Sourced, frozen=True, kw_only=True):
    """A chemical on the shelf, by formula with its hydrate. ``purity`` is the mass fraction of ``formula`` in what is bought;
    ``density_g_ml`` for liquids. ``brings``: species -> the element or group of the formula that counts for it, or ``whole``.
    ``acid_equivalents`` per mol of formula: + for acids, - for bases (``weak_base``: a carbonate or the like). Proprietary
    additives: ``additive`` names the species (mL)."""

    name: str
    title: str
    formula: str = ""
    form: Literal["solid", "liquid", "additive", "water"]
    purity: float = 1.0
    density_g_ml: float | None = None
    brings: dict[str, str] = {}
    acid_equivalents: float = 0.0
    weak_base: bool = False
    additive: str | None = None
    aliases: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Method(Sourced, frozen=True, kw_only=True):
    """A way of measuring. ``relative`` and ``absolute``: 95 % half-width of the scatter (fraction of the value; in
    ``unit``), added in
    squares; ``bias_relative``/``bias_absolute``: 95 % half-width of what is wrong the same way every time (per lot, or per
    instrument)."""

    name: str
    title: str
    of: tuple[str, ...]
    unit: str
    relative: float = 0.0
    absolute: float = 0.0
    bias_relative: float = 0.0
    bias_absolute: float = 0.0
    by_difference_from: str | None = None
    about: str = ""


class Spread(Sourced, frozen=True, kw_only=True):
    """A default 95 % half-width that belongs to no reading: charge told as ramp, area guessed, amount weighed ..."""

    name: str
    relative: float = 0.0
    absolute: float = 0.0
    unit: str = ""
    about: str = ""


class Metal(Sourced, frozen=True, kw_only=True):
    """A metal that is plated or hung: symbol, electrons per atom, density."""

    name: str
    symbol: str
    electrons: int
    density_g_cm3: float
    title: str = ""
    caution: str = ""


class Place(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One tank of a line template."""

    tank: str
    role: Role
    recipe: str | None = None
    working_volume_l: float | None = None


class Template(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A line to start from: tanks in process order. Volumes are the keeper's to change."""

    name: str
    title: str
    places: tuple[Place, ...]
