"""Air density against the standard atmosphere and against CIPM-2007."""

import pytest

from engine.air import cipm_density_kgpm3, density_kgpm3, iso_density_kgpm3
from engine.launch_tables import MEN
from engine.motion import Air
from shared.errors import EngineError
from tests.published.flown import flown


@pytest.mark.parametrize(("altitude_m", "density"), [(0, 1.2250), (1000, 1.1117), (2000, 1.0066)])
def test_standard_atmosphere(altitude_m: float, density: float) -> None:
    """ISO 2533:1975, computed with the library ambiance (X)."""
    assert iso_density_kgpm3(altitude_m=altitude_m) == pytest.approx(density, abs=5e-5)


@pytest.mark.parametrize(("humidity", "density"), [(0.5, 1.1993), (0.0, 1.2046)])
def test_moist_air(humidity: float, density: float) -> None:
    """CIPM-2007 (Picard et al., Metrologia 45:149-155) at 20 C, 101325 Pa: CoolProp (X), .05%."""
    found = cipm_density_kgpm3(pressure_pa=101_325, temperature_c=20, humidity=humidity)
    assert found == pytest.approx(density, rel=5e-4)


def test_altitude_alone_is_the_standard_atmosphere_through_cipm() -> None:
    """Two independent roads to dry air's density meet within the .05% that CIPM is held to."""
    for altitude_m in (0.0, 700.0, 2100.0):
        standard = iso_density_kgpm3(altitude_m=altitude_m)
        assert density_kgpm3(altitude_m=altitude_m) == pytest.approx(standard, rel=5e-4)


def test_warm_moist_and_thin_air_is_lighter() -> None:
    plain = density_kgpm3(altitude_m=300, temperature_c=12, humidity=0.3)
    assert density_kgpm3(altitude_m=300, temperature_c=31, humidity=0.3) < plain
    assert density_kgpm3(altitude_m=300, temperature_c=12, humidity=0.9) < plain
    assert density_kgpm3(altitude_m=1400, temperature_c=12, humidity=0.3) < 0.9 * plain


def test_a_driver_carries_farther_in_thin_air() -> None:
    low = flown(MEN["driver"], air=Air(density_kgpm3=iso_density_kgpm3(altitude_m=0)))
    high = flown(MEN["driver"], air=Air(density_kgpm3=iso_density_kgpm3(altitude_m=2000)))
    assert 1.02 < high.long_m[0] / low.long_m[0] < 1.12


@pytest.mark.parametrize(
    ("altitude_m", "temperature_c", "humidity"),
    [(12_500, 15, 0.4), (-800, 15, 0.4), (100, 75, 0.4), (100, -80, 0.4), (100, 15, 1.2)],
)
def test_air_outside_what_the_formulas_cover_is_refused(
    altitude_m: float, temperature_c: float, humidity: float
) -> None:
    with pytest.raises(EngineError, match="outside"):
        density_kgpm3(altitude_m=altitude_m, temperature_c=temperature_c, humidity=humidity)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
def test_air_that_is_no_number_is_refused(bad: float) -> None:
    with pytest.raises(EngineError):
        density_kgpm3(altitude_m=bad)
    with pytest.raises(EngineError):
        density_kgpm3(temperature_c=bad)
    with pytest.raises(EngineError):
        density_kgpm3(humidity=bad)
