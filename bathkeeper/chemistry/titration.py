"""From a burette to grams per litre.

    g/L = (titre - blank) x titrant (mol/L) x ratio x molar mass x dilution / sample (mL)

``ratio`` is moles of the species per mole of titrant: 1 for zinc or nickel with EDTA, 1/2 for sulfuric acid with caustic.
Normality works too: molar mass / equivalents with ratio 1.
"""

from __future__ import annotations

from bathkeeper.chemistry._checks import not_negative, positive


def factor_g_l_per_ml(
    sample_ml: float, titrant_mol_l: float, molar_mass_g_mol: float, ratio: float = 1.0, dilution: float = 1.0
) -> float:
    """g/L for each mL of titrant (zinc, 2 mL sample, 0.1 M EDTA: 3.269). ``dilution``: 10 if the sample was thinned tenfold."""
    per_ml_g = positive("titrant in mol/L", titrant_mol_l) * positive("molar mass in g/mol", molar_mass_g_mol)
    return positive("ratio", ratio) * per_ml_g * positive("dilution", dilution) / positive("sample in mL", sample_ml)


def net_titre_ml(titre_ml: float, blank_ml: float = 0.0) -> float:
    """Titre less blank, mL. Raises ValueError when the blank took more than the sample."""
    titre = not_negative("titre in mL", titre_ml)
    blank = not_negative("blank in mL", blank_ml)
    if blank > titre:
        raise ValueError(f"the blank ({blank:g} mL) must be at most the titre ({titre:g} mL): were the two exchanged?")
    return titre - blank


def concentration_g_l(
    titre_ml: float,
    sample_ml: float,
    titrant_mol_l: float,
    molar_mass_g_mol: float,
    ratio: float = 1.0,
    blank_ml: float = 0.0,
    dilution: float = 1.0,
) -> float:
    """Concentration of the species in the bath, g/L."""
    factor = factor_g_l_per_ml(sample_ml, titrant_mol_l, molar_mass_g_mol, ratio, dilution)
    return net_titre_ml(titre_ml, blank_ml) * factor


def concentration_mol_l(
    titre_ml: float, sample_ml: float, titrant_mol_l: float, ratio: float = 1.0, blank_ml: float = 0.0
) -> float:
    """The same in mol/L."""
    return concentration_g_l(titre_ml, sample_ml, titrant_mol_l, 1.0, ratio, blank_ml)


def titre_ml(
    concentration_g_l: float, sample_ml: float, titrant_mol_l: float, molar_mass_g_mol: float, ratio: float = 1.0
) -> float:
    """Titre to expect, mL: to choose a sample that uses most of a burette and no more."""
    expected = not_negative("concentration in g/L", concentration_g_l)
    return expected / factor_g_l_per_ml(sample_ml, titrant_mol_l, molar_mass_g_mol, ratio)


def back_titration_mol(reagent_ml: float, reagent_mol_l: float, back_ml: float, back_mol_l: float) -> float:
    """Moles that a measured excess of reagent bound, from what was left of it (1:1, as with EDTA and a zinc solution).

    Raises ValueError when more came back than was put in.
    """
    put_in = positive("reagent in mL", reagent_ml) * positive("reagent in mol/L", reagent_mol_l)
    left = not_negative("back titration in mL", back_ml) * positive("back titrant in mol/L", back_mol_l)
    if left > put_in:
        raise ValueError(
            f"the back titration found {left:g} mmol of {put_in:g} mmol reagent; it can find no more than was put in"
        )
    return (put_in - left) / 1000.0


def by_difference_ml(total_ml: float, part_ml: float) -> float:
    """Titre of the second metal when one titration counts both and another counts the first (same sample and titrant), mL.

    The two results lean against each other: what the first reads too high, the second reads too low.
    """
    total = not_negative("total titre in mL", total_ml)
    part = not_negative("titre of the part in mL", part_ml)
    if part > total:
        raise ValueError(f"the part ({part:g} mL) must be at most the total ({total:g} mL)")
    return total - part


def alkalinity_ratio(total_ml: float, phenolphthalein_ml: float) -> float:
    """Total over free (phenolphthalein) alkalinity of a cleaner; it rises as the cleaner wears."""
    total = not_negative("total titre in mL", total_ml)
    free = positive("phenolphthalein titre in mL", phenolphthalein_ml)
    if total < free:
        raise ValueError(f"the total titre must be at least the {free:g} mL to phenolphthalein, got {total:g}")
    return total / free
