"""Air density from altitude, temperature and humidity, and the wind's profile with height."""

import numpy as np
from numpy.typing import NDArray

from shared.errors import EngineError

Array = NDArray[np.float64]

ISO_DENSITY_KGPM3 = 1.225  # ISO 2533:1975 at 0 m
ISO_PRESSURE_PA = 101_325.0
ISO_TEMPERATURE_K = 288.15
ISO_LAPSE_KPM = 0.0065
ISO_GRAVITY_MPS2 = 9.80665
ISO_GAS_CONSTANT = 287.05287  # J/(kg K)
ISO_EARTH_RADIUS_M = 6_356_766.0  # turns a height into the geopotential altitude of ISO 2533
ISO_TOP_M = 11_000.0
KELVIN = 273.15
PROFILE_REFERENCE_M = 10.0  # the height at which a forecast gives its wind
PROFILE_FLOOR_M = 1.0  # our choice; a ball is above it but for the first and last tenth of a second
SEVENTH_ROOT = 1 / 7  # AMS Glossary: seventh-root profile


def iso_density_kgpm3(*, altitude_m: float) -> float:
    """Dry density of the ISO 2533:1975 standard atmosphere below 11 km."""
    pressure_pa, temperature_k = _iso(altitude_m)
    return pressure_pa / (ISO_GAS_CONSTANT * temperature_k)


def density_kgpm3(
    *, altitude_m: float = 0.0, temperature_c: float | None = None, humidity: float = 0.0
) -> float:
    """Density of moist air: the ISO pressure at the altitude through CIPM-2007.

    ``temperature_c`` is the ISO temperature of the altitude where none is given; ``humidity`` is
    relative, 0 to 1. Errors: EngineError outside -500..11,000 m, -60..60 C or 0..1.
    """
    pressure_pa, iso_k = _iso(altitude_m)
    celsius = iso_k - KELVIN if temperature_c is None else temperature_c
    return cipm_density_kgpm3(pressure_pa=pressure_pa, temperature_c=celsius, humidity=humidity)


def cipm_density_kgpm3(*, pressure_pa: float, temperature_c: float, humidity: float) -> float:
    """CIPM-2007 density of moist air (Picard et al., Metrologia 45:149-155, 2008), 400 ppm CO2."""
    if not -60 <= temperature_c <= 60:
        raise EngineError(f"air at {temperature_c:g} C is outside -60 to 60 C")
    if not 0 <= humidity <= 1:
        raise EngineError(f"a relative humidity of {humidity:g} is outside 0 to 1")
    kelvin = temperature_c + KELVIN
    saturation = np.exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )
    enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c**2
    vapour = humidity * enhancement * saturation / pressure_pa  # mole fraction
    compressibility = _compressibility(pressure_pa, temperature_c, vapour)
    dry = pressure_pa * 28.96546e-3 / (compressibility * 8.314472 * kelvin)
    return float(dry * (1 - vapour * (1 - 18.01528e-3 / 28.96546e-3)))


def power_profile(
    *, height_m: Array, exponent: float = SEVENTH_ROOT, reference_m: float = PROFILE_REFERENCE_M
) -> Array:
    """Wind speed at ``height_m`` (any shape) over that at the reference: (y / y_ref)^exponent.

    Held below 1 m, where a power law's gradient grows without limit towards the ground.
    """
    return (np.maximum(height_m, PROFILE_FLOOR_M) / reference_m) ** exponent


def _iso(altitude_m: float) -> tuple[float, float]:
    if not -500 <= altitude_m <= ISO_TOP_M:
        raise EngineError(f"an altitude of {altitude_m:g} m is outside -500 to 11,000 m")
    geopotential_m = ISO_EARTH_RADIUS_M * altitude_m / (ISO_EARTH_RADIUS_M + altitude_m)
    temperature_k = ISO_TEMPERATURE_K - ISO_LAPSE_KPM * geopotential_m
    exponent = ISO_GRAVITY_MPS2 / (ISO_GAS_CONSTANT * ISO_LAPSE_KPM)
    return ISO_PRESSURE_PA * (temperature_k / ISO_TEMPERATURE_K) ** exponent, temperature_k


def _compressibility(pressure_pa: float, celsius: float, vapour: float) -> float:
    kelvin = celsius + KELVIN
    ratio = pressure_pa / kelvin
    first = 1.58123e-6 - 2.9331e-8 * celsius + 1.1043e-10 * celsius**2
    second = (5.707e-6 - 2.051e-8 * celsius) * vapour
    third = (1.9898e-4 - 2.376e-6 * celsius) * vapour**2
    return 1 - ratio * (first + second + third) + ratio**2 * (1.83e-11 - 0.765e-8 * vapour**2)
