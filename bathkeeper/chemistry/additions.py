"""What to add, or take out, to change a concentration: plain mass balances, with purity and everything else that comes along.

Volumes of dry salts are neglected here. Acid is always poured into water, never water into acid.
"""

from __future__ import annotations

from collections.abc import Iterable

from bathkeeper.chemistry._checks import finite, not_negative, positive, share, within


def missing_g(volume_l: float, from_g_l: float, to_g_l: float) -> float:
    """Grams of a species that raise it to a concentration. Raises ValueError when it should fall: see ``swap_l``."""
    start = not_negative("concentration now in g/L", from_g_l)
    end = not_negative("wanted concentration in g/L", to_g_l)
    if end < start:
        raise ValueError(f"{start:g} g/L is above the wanted {end:g} g/L: swap solution for water, adding does not lower it")
    return positive("volume in L", volume_l) * (end - start)


def reagent_g(species_g: float, content: float, purity: float = 1.0) -> float:
    """Grams from the bag that hold so much of a species; ``content``: its mass fraction in the compound (Zn in ZnCl2 0.48)."""
    return not_negative("species in g", species_g) / (share("content", content) * share("purity", purity))


def brought_g(reagent_g: float, content: float, purity: float = 1.0) -> float:
    """Grams of a species that so much out of the bag brings (the chloride that comes with the zinc)."""
    return not_negative("reagent in g", reagent_g) * share("content", content) * share("purity", purity)


def metal_g_l(salts: Iterable[tuple[float, float]]) -> float:
    """Metal in a bath made up from salts, g/L: sum of (salt in g/L, mass fraction of the metal in it)."""
    return sum(not_negative("salt in g/L", salt) * share("content", content) for salt, content in salts)


def swap_fraction(from_g_l: float, to_g_l: float) -> float:
    """Share of the solution to replace by water to lower a concentration; everything else falls by the same share."""
    start = positive("concentration now in g/L", from_g_l)
    return 1.0 - within("wanted concentration in g/L", to_g_l, 0.0, start) / start


def swap_l(volume_l: float, from_g_l: float, to_g_l: float) -> float:
    """Litres to take out (first) and replace by water to lower a concentration."""
    return positive("volume in L", volume_l) * swap_fraction(from_g_l, to_g_l)


def after_swap_g_l(concentration_g_l: float, fraction: float) -> float:
    """Concentration after a share of the solution was replaced by water."""
    return not_negative("concentration in g/L", concentration_g_l) * (1.0 - within("share replaced", fraction, 0.0, 1.0))


def at_level_g_l(read_g_l: float, volume_now_l: float, level_l: float) -> float:
    """What a reading becomes when the tank is filled with water to its level (88 g/L in 36 L is 79.2 g/L in 40 L)."""
    now = positive("volume now in L", volume_now_l)
    level = positive("working level in L", level_l)
    if level < now:
        raise ValueError(f"the working level must be at or above the {now:g} L that are in the tank, got {level:g}")
    return not_negative("reading in g/L", read_g_l) * now / level


def water_to_level_l(volume_now_l: float, level_l: float) -> float:
    """Water that fills a tank to its level, L; below 0 when it stands too high already."""
    return positive("working level in L", level_l) - not_negative("volume now in L", volume_now_l)


def stock_volume(stock_concentration: float, wanted_concentration: float, wanted_volume: float) -> float:
    """Volume of a stock solution to fill up to a wanted volume of a wanted concentration (c1 V1 = c2 V2; like units)."""
    stock = positive("concentration of the stock", stock_concentration)
    wanted = within("wanted concentration", wanted_concentration, 0.0, stock)
    return positive("wanted volume", wanted_volume) * wanted / stock


def mixed_concentration(parts: Iterable[tuple[float, float]]) -> float:
    """Concentration of a mixture of (volume, concentration), volumes taken to add up."""
    listed = [(not_negative("volume", v), not_negative("concentration", c)) for v, c in parts]
    total = sum(v for v, _ in listed)
    if total <= 0:
        raise ValueError("a mixture needs at least one part with a volume above 0")
    return sum(v * c for v, c in listed) / total


def jar_test_equivalents(titrant_ml: float, normality_mol_l: float, jar_ml: float, tank_l: float) -> float:
    """Moles of acid or base that bring a whole tank where a jar of its solution was brought, mol.

    Only such a test doses a buffered bath: what the pH alone suggests may be a hundred times too little. Dose in quarters.
    """
    per_jar_mol = not_negative("titrant in mL", titrant_ml) * positive("normality in mol/L", normality_mol_l) / 1000.0
    return per_jar_mol * positive("tank in L", tank_l) * 1000.0 / positive("jar in mL", jar_ml)


def g_l_from_percent_w_w(percent: float, sg: float) -> float:
    """g/L of a solution given in % w/w: 10 x % x SG (10 % sulfuric acid, SG 1.066: 106.6)."""
    return 10.0 * within("percent by weight", percent, 0.0, 100.0) * within("specific gravity", sg, 0.5, 3.0)


def percent_w_w_from_g_l(concentration_g_l: float, sg: float) -> float:
    """% w/w of a solution given in g/L. Raises ValueError above 100 %."""
    percent = not_negative("concentration in g/L", concentration_g_l) / (10.0 * within("specific gravity", sg, 0.5, 3.0))
    return within("percent by weight (concentration / (10 x SG))", percent, 0.0, 100.0)


def concentration_change_g_l(added_g: float, volume_l: float) -> float:
    """g/L that an addition (below 0: a removal) makes in a volume."""
    return finite("added in g", added_g) / positive("volume in L", volume_l)
