"""Plain constants of the simulated workshop: charge, molar masses, what reagents bring.

Molar masses in g/mol: IUPAC abridged standard atomic weights 2021. The Faraday constant in C/mol: CODATA 2018.
"""

FARADAY_C_MOL = 96_485.33212
SECONDS_AN_HOUR = 3600.0

ZINC, NICKEL, IRON, CHROMIUM = 65.38, 58.693, 55.845, 51.996
HYDROGEN, OXYGEN, SODIUM, CARBON, SULFUR, NITROGEN = 1.008, 15.999, 22.990, 12.011, 32.06, 14.007
CHLORINE, POTASSIUM, BORON = 35.45, 39.098, 10.81

HYDROCHLORIC_ACID = HYDROGEN + CHLORINE
ZINC_CHLORIDE = ZINC + 2 * CHLORINE
NICKEL_CHLORIDE_6H2O = NICKEL + 2 * CHLORINE + 6 * (2 * HYDROGEN + OXYGEN)
POTASSIUM_CHLORIDE = POTASSIUM + CHLORINE
SODIUM_BISULFATE = SODIUM + HYDROGEN + SULFUR + 4 * OXYGEN
SODIUM_HYDROXIDE = SODIUM + OXYGEN + HYDROGEN
SODIUM_CARBONATE = 2 * SODIUM + CARBON + 3 * OXYGEN
NITRIC_ACID = HYDROGEN + NITROGEN + 3 * OXYGEN

HYDROCHLORIC_DENSITY_G_ML = 1.18  # 37 % at 20 degC, any supplier's sheet
HYDROCHLORIC_FRACTION = 0.37
HYDROCHLORIC_MOL_ML = HYDROCHLORIC_DENSITY_G_ML * HYDROCHLORIC_FRACTION / HYDROCHLORIC_ACID

ZINC_DENSITY_G_CM3 = 7.14
SALT_VOLUME_L_G = 0.0003  # what a gram of salt adds to the volume once dissolved: invented, about right

BRINGS_G_G: dict[str, dict[str, float]] = {
    "zinc chloride": {"zinc": ZINC / ZINC_CHLORIDE, "chloride": 2 * CHLORINE / ZINC_CHLORIDE},
    "nickel chloride hexahydrate": {"nickel": NICKEL / NICKEL_CHLORIDE_6H2O, "chloride": 2 * CHLORINE / NICKEL_CHLORIDE_6H2O},
    "potassium chloride": {"potassium": POTASSIUM / POTASSIUM_CHLORIDE, "chloride": CHLORINE / POTASSIUM_CHLORIDE},
    "boric acid": {"boric acid": 1.0},
}
