"""Constants against scipy's copy of CODATA."""

from __future__ import annotations

import pytest
import scipy.constants

from bathkeeper.chemistry import constants

from .printed import printed


def test_faraday_constant_is_that_of_codata() -> None:
    # CODATA, through scipy.constants: exact e x N_A
    assert pytest.approx(scipy.constants.value("Faraday constant"), rel=1e-10) == constants.FARADAY_C_MOL
    assert printed("96485.33212") == constants.FARADAY_C_MOL
    assert pytest.approx(scipy.constants.e * scipy.constants.N_A, rel=1e-10) == constants.FARADAY_C_MOL


def test_gas_constant_is_that_of_codata() -> None:
    assert pytest.approx(scipy.constants.R, rel=1e-9) == constants.GAS_CONSTANT_J_MOL_K
    assert scipy.constants.atm == constants.ATMOSPHERE_PA
    assert scipy.constants.zero_Celsius == constants.ZERO_CELSIUS_K


def test_an_ampere_hour_in_moles() -> None:
    # 3600 s x 1 A / F; 37.31 mol in a kAh
    assert printed("0.037311") == constants.MOL_PER_AH
    assert pytest.approx(3600.0) == constants.MOL_PER_AH * constants.FARADAY_C_MOL


def test_molar_volume_at_25_degrees() -> None:
    # CODATA prints 22.41396954 L/mol at 0 degC and 1 atm; x 298.15/273.15
    at_zero_l = scipy.constants.value("molar volume of ideal gas (273.15 K, 101.325 kPa)") * 1000
    assert at_zero_l * 298.15 / 273.15 == pytest.approx(constants.MOLAR_VOLUME_25C_L, rel=1e-9)
    assert printed("24.465") == constants.MOLAR_VOLUME_25C_L
