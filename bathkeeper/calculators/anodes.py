"""Anodes against deposit: what a charge does to a bath of zinc and nickel, the acid it takes, and the split that holds both."""

from __future__ import annotations

from typing import Final

from bathkeeper.calculators.given import Given, show_volume
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Value
from bathkeeper.calculators.substances import substance
from bathkeeper.chemistry import alloy, balance
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.units.door import figures, show

METALS: Final = {"zinc": "Zn", "nickel": "Ni"}
ELECTRONS: Final = {"zinc": 2.0, "nickel": 2.0}
TELL = {
    "holds": "with this split both metals hold",
    "grows": "the shares that hold both sum to less than one: even at the best split metal grows",
    "falls": "the shares that hold both sum to more than one: salts are needed even at the best split",
}


def _anodes(given: Given) -> Answer:
    charge_ah = given.value("charge")
    nickel = given.value("nickel")
    cathode, anode = given.value("efficiency"), given.value("anode-efficiency")
    share = given.value("nickel-share")
    masses = {m: molar_mass(symbol) for m, symbol in METALS.items()}
    fractions = {"zinc": 1.0 - nickel, "nickel": nickel}
    shares = {"zinc": 1.0 - share, "nickel": share}
    lost_l, baths = _drag_out(given, fractions)
    per_ah_l = lost_l / charge_ah
    net = balance.net_bath_g(charge_ah, shares, fractions, masses, ELECTRONS, cathode, anode, per_ah_l, baths)
    deposit_g = charge_ah * alloy.deposit_g_per_ah(fractions, masses, ELECTRONS, cathode)
    anode_loss = {m: balance.anode_g(charge_ah, shares[m], masses[m], ELECTRONS[m], anode) for m in METALS}
    wanted = balance.balance_share(fractions, masses, ELECTRONS, cathode, anode, per_ah_l, baths)
    acid_mol = balance.acid_used_mol(charge_ah, anode, cathode)
    acid_ml, acid_g, acid_line, acid_source = _acid(given, acid_mol)
    growth = {
        m: balance.net_bath_g(charge_ah, shares, fractions, masses, ELECTRONS, cathode, anode)[m] / charge_ah for m in METALS
    }
    break_even: dict[str, Value] = {
        m: 1000.0 * balance.break_even_dragout_l_per_ah(growth[m], baths[m]) for m in METALS if m in baths
    }
    volume_l = given.maybe("volume")
    by_litre: dict[str, Value] | None = {m: g / volume_l for m, g in net.items()} if volume_l else None
    case = balance.balance_case(wanted)
    return Answer(
        values={
            "net_bath_g": dict(net),
            "deposit_g": deposit_g,
            "anode_loss_g": sum(anode_loss.values()),
            "acid_mol": acid_mol,
            "balance_share": wanted["nickel"],
            "deposit_by_metal_g": {m: deposit_g * f for m, f in fractions.items()},
            "anode_loss_by_metal_g": dict(anode_loss),
            "balance_share_sum": sum(wanted.values()),
            "case": case,
            "net_bath_g_l": by_litre,
            "break_even_ml_per_ah": break_even,
            "acid_ml": acid_ml,
            "acid_g": acid_g,
        },
        lines=(
            "deposit: " + ", ".join(f"{m} {show(deposit_g * f, 'mass', given.prefs)}" for m, f in fractions.items() if f),
            "anodes lose: " + ", ".join(f"{m} {show(g, 'mass', given.prefs)}" for m, g in anode_loss.items() if g),
            "bath gains: "
            + ", ".join(f"{m} {figures(g)} g" for m, g in net.items())
            + ("" if by_litre is None else " = " + ", ".join(f"{figures(float(str(v)))} g/L" for v in by_litre.values())),
            acid_line,
            f"nickel share that holds nickel: {figures(100 * wanted['nickel'])} %; {TELL[case]}",
            *(f"break-even drag-out of {m}: {figures(float(str(v)))} mL/Ah" for m, v in break_even.items()),
        ),
        formula="anodes: efficiency x share x charge x 3600/F x M/n; bath = anodes - deposit - drag-out; acid = (anode - "
        "cathode efficiency) x charge x 3600/F",
        sources=(*acid_source, "anodes taken as dissolving by current only: idle zinc dissolves besides"),
        cautions=(
            "On one common bus the split is not set by area: zinc carries nearly all of it. Set it with a second supply.",
            "Dose acid by a jar test, in quarters: this is only a bound.",
        ),
    )


def _drag_out(given: Given, fractions: dict[str, float]) -> tuple[float, dict[str, float]]:
    baths = {m: given.value(f"{m}-bath") for m in METALS if given.has(f"{m}-bath")}
    if not given.has("drag-out"):
        return 0.0, baths
    for metal in METALS:
        if metal not in baths and fractions[metal] > 0:
            raise CalcError(
                f"{metal}-bath is missing: with drag-out it takes the {metal} in the bath; for example 32g/L", f"{metal}-bath"
            )
    return given.value("drag-out"), {**dict.fromkeys(METALS, 0.0), **baths}


def _acid(given: Given, acid_mol: float) -> tuple[float | None, float | None, str, tuple[str, ...]]:
    if acid_mol < -1e-12:
        given.skip("acid")
        return None, None, f"the bath makes acid: {figures(-acid_mol)} mol", ()
    try:
        reagent = given.catalogue.reagent(given.text("acid"))
    except ValueError as problem:
        raise CalcError(f"acid: {problem}", "acid") from None
    one = substance(reagent.formula, "acid")
    if one is None:
        raise CalcError(f"acid: {reagent.title} is no acid known here; write for example hydrochloric acid 37%", "acid")
    pure = balance.reagent_for_equivalents_g(max(acid_mol, 0.0), one.molar_mass_g_mol, one.equivalents)
    liquid = reagent.density_g_ml if reagent.form == "liquid" else None
    ml = pure / reagent.purity / liquid if liquid else None
    measure = f" = {show_volume(ml / 1000, given.prefs)} of {reagent.title}" if ml is not None else ""
    source = f"{reagent.name}, {reagent.status}: {reagent.source or 'an editable default'}"
    return ml, pure, f"acid used: {figures(acid_mol)} mol, {figures(pure)} g {one.formula}{measure}", (source,)


ANODES = Calculator(
    name="anodes",
    title="Anodes and acid",
    help="What a charge does to a zinc-nickel bath: metals gained or lost, anodes, acid, and the nickel share that holds.",
    inputs=(
        Input("charge", "charge", "charge", "Amp-hours that passed.", "1000Ah", required=True),
        Input(
            "nickel",
            "fraction",
            "nickel in the deposit",
            "Share of nickel in the deposit, by mass; 0 % of a zinc bath.",
            "13%",
            required=True,
            zero=True,
        ),
        Input(
            "efficiency", "fraction", "cathode efficiency", "Share of the current that lays down metal.", "93%", default="100%"
        ),
        Input(
            "nickel-share",
            "fraction",
            "nickel's share",
            "Share of the anode current that the nickel anodes carry.",
            "10%",
            required=True,
            zero=True,
        ),
        Input(
            "anode-efficiency",
            "fraction",
            "anode efficiency",
            "Share of the anode current that dissolves metal.",
            "100%",
            default="100%",
        ),
        Input("drag-out", "volume", "drag-out", "Solution dragged out over this charge.", "1.3L"),
        Input("zinc-bath", "concentration", "zinc in the bath", "For drag-out and break-even.", "32g/L"),
        Input("nickel-bath", "concentration", "nickel in the bath", "For drag-out and break-even.", "22.6g/L"),
        Input("volume", "volume", "tank", "Solution in the tank, to see g/L.", "40L"),
        Input("acid", "text", "acid", "The acid on the shelf.", "hydrochloric acid 37%", default="hydrochloric acid 37%"),
    ),
    answer=_anodes,
    keys={
        "net_bath_g": "g of each metal that the bath gains",
        "deposit_g": "g of deposit",
        "anode_loss_g": "g off the anodes",
        "acid_mol": "mol of acid used (below 0: made)",
        "balance_share": "nickel's share of the anode current that holds nickel",
        "deposit_by_metal_g": "the deposit by metal",
        "anode_loss_by_metal_g": "the anodes by metal",
        "balance_share_sum": "sum of the shares that hold each metal",
        "case": "holds, grows or falls",
        "net_bath_g_l": "g/L gained, with a volume",
        "break_even_ml_per_ah": "drag-out that carries the surplus away, by metal",
        "acid_ml": "mL of the acid on the shelf",
        "acid_g": "g of the pure acid",
    },
    examples=(
        {"charge": "1000Ah", "nickel": "13%", "efficiency": "93%", "nickel-share": "10%"},
        {
            "charge": "1000Ah",
            "nickel": "13%",
            "efficiency": "93%",
            "nickel-share": "15%",
            "drag-out": "1.29L",
            "zinc-bath": "32g/L",
            "nickel-bath": "22.6g/L",
            "volume": "40L",
        },
    ),
    sources=("Faraday's law; atomic masses: IUPAC",),
)
