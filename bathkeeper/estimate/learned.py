"""What the workshop has taught about itself, and what is still only assumed."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from bathkeeper.catalogue.schema import Prior
from bathkeeper.estimate.state import Z95, TankState, prior_belief, to_natural

STILL_ASSUMED = 0.8  # posterior spread / prior spread above which nothing worth naming was learned

EXPERIMENTS = {
    "drag_out": "read the rinse's conductivity before and after ten loads",
    "cathode_efficiency": "weigh ten loads together before and after plating",
    "deposit_": "have one panel or part analysed for its nickel",
    "ratio_exponent": "have parts analysed at two different nickel ratios",
    "per_degree": "have parts analysed at two different temperatures",
    "density_exponent": "have parts analysed at two different current densities",
    "anode_share_": "read the current of each anode branch with a clamp meter, or weigh the nickel anode after 200 Ah",
    "anode_efficiency_": "weigh the brushed anodes before and after a fortnight of runs, lifted when idle",
    "idle_cemented": "brush and weigh the zinc anodes after an idle fortnight, and titrate nickel before and after",
    "idle_": "weigh the zinc anodes before and after an idle fortnight",
    "evaporation_": "read the level mark before and after an idle week",
    "ph_slope": "read the pH with a calibrated meter before and after 50 Ah without adding acid",
    "iron_rate": "read the pickle's iron before and after ten loads",
    "rust_load": "weigh a load of rusty parts before and after pickling",
    "acid_per_rust": "titrate the pickle's free acid and iron together, twice",
    "generator": "titrate zinc before and after a week of the generator without plating",
    "carbonate_uptake": "titrate free and total alkali a month apart without use",
    "inhibitor_use": "note every addition of inhibitor; its use shows over ten loads",
    "amine_use": "have the complexant analysed twice, 200 Ah apart",
    "cobalt_laid": "have the passivate's cobalt analysed before and after 100 dm2",
    "second_part_use": "note every addition of the second part; its use shows over 100 dm2",
    "sealer_laid": "weigh ten dry parts before and after sealing",
    "acid_per_iron": "titrate the pickle's free acid and iron together, twice",
}


class Learned(msgspec.Struct, frozen=True, kw_only=True):
    """A parameter as it is believed now and as it was before any entry; ``told``: posterior spread / prior spread."""

    value: float
    low: float
    high: float
    unit: str
    title: str
    prior: dict[str, float]
    told: float
    assumed: bool
    experiment: str
    status: str
    source: str


def learned(state: TankState) -> dict[str, Learned]:
    """Every parameter of the tank's recipe, by name."""
    if state.recipe is None:
        return {}
    return {name: _one(state, name, prior) for name, prior in state.recipe.parameters.items()}


def instrument_errors(state: TankState) -> dict[str, Learned]:
    """What is believed of supplies, titrant lots and the habit of guessing areas, as relative errors."""
    found = {}
    for name in state.gauss.names:
        if name.startswith(("gain:", "bias:", "habit:")):
            sd = math.sqrt(max(state.gauss.variance(name), 0.0))
            value = state.gauss.value(name)
            found[name] = Learned(
                value=value,
                low=value - Z95 * sd,
                high=value + Z95 * sd,
                unit="fraction",
                title=name.replace(":", ": "),
                prior={},
                told=0.0,
                assumed=False,
                experiment="calibrate it",
                status="practice",
                source="",
            )
    return found


def _one(state: TankState, name: str, prior: Prior) -> Learned:
    mean, variance = state.gauss.value(f"theta:{name}"), state.gauss.variance(f"theta:{name}")
    before, before_variance = prior_belief(prior)
    sd, before_sd = math.sqrt(max(variance, 0.0)), math.sqrt(before_variance)
    told = sd / before_sd if before_sd > 0 else 0.0
    return Learned(
        value=to_natural(prior, mean),
        low=to_natural(prior, mean - Z95 * sd),
        high=to_natural(prior, mean + Z95 * sd),
        unit=prior.unit,
        title=prior.title or name.replace("_", " "),
        prior={
            "value": prior.value,
            "low": to_natural(prior, before - Z95 * before_sd),
            "high": to_natural(prior, before + Z95 * before_sd),
        },
        told=told,
        assumed=told > STILL_ASSUMED,
        experiment=next(
            (text for key, text in EXPERIMENTS.items() if name.startswith(key)), "compare a reading before and after ten loads"
        ),
        status=prior.status,
        source=prior.source,
    )


def efficiencies_of(tanks: Mapping[str, TankState]) -> dict[str, float]:
    """The cathode efficiency by tank, as believed, where the recipe has one."""
    return {
        n: s.parameter_value("cathode_efficiency")
        for n, s in tanks.items()
        if s.recipe is not None and "cathode_efficiency" in s.recipe.parameters
    }
