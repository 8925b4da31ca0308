"""A member's own units: read and said alike in every mix of metres, yards and wind speeds."""

import pytest

from bot.services.caddie.adapt import read_wind, said_for
from bot.services.pictures.wind_sheets import make_sheet
from shared.bag import Bag
from shared.units import MPS_PER, UNITS, UnitSystem
from shared.wording import from_full, length, offset_in, speed
from tests.kits import demo_caddie, demo_kit


@pytest.mark.parametrize("units", list(UNITS))
def test_a_bare_number_is_a_wind_in_the_members_own_unit(units: UnitSystem) -> None:
    read = read_wind(text="4 from 2", kit=demo_kit(), units=units)
    assert read.speed.mps == pytest.approx(4 * MPS_PER[UNITS[units].speed])
    assert read.relative_deg == 60


@pytest.mark.parametrize("units", list(UNITS))
def test_a_wind_of_the_book_stays_the_same_wind_for_its_reader(units: UnitSystem) -> None:
    for kept in ("9 from 2", "7 m/s from 10"):
        shown = said_for(kept, kit=demo_kit(), bearing_deg=None, units=units)
        book = read_wind(text=kept, kit=demo_kit())
        own = read_wind(text=shown, kit=demo_kit(), units=units)
        assert own.speed.mps == pytest.approx(
            book.speed.mps, abs=0.05 * MPS_PER[UNITS[units].speed]
        )  # a tenth shown
        assert own.relative_deg == book.relative_deg


def test_a_wind_that_reads_alike_is_left_as_it_was_written() -> None:
    kit = demo_kit()
    assert said_for("9 from 2", kit=kit, bearing_deg=None, units="yards") == "9 from 2"
    said = said_for("9 from 2", kit=kit, bearing_deg=None, units="metric")
    assert said == "4 m/s from 2"
    assert said_for("not a wind", kit=kit, bearing_deg=None, units="metric") == "not a wind"


@pytest.mark.parametrize(
    ("units", "far", "blows", "off"),
    [
        ("metres mph", "91.4 m", "20 mph", "2.7 m right, 1.8 short"),
        ("yards m/s", "100.0 yd", "8.9 m/s", "3.0 yd right, 2.0 short"),
        ("yards knots", "100.0 yd", "17.4 kn", "3.0 yd right, 2.0 short"),
        ("metres km/h", "91.4 m", "32.2 km/h", "2.7 m right, 1.8 short"),
    ],
)
def test_mixed_units_are_said_in_both_of_their_units(
    units: UnitSystem, far: str, blows: str, off: str
) -> None:
    assert length(100.0, units) == far
    assert speed(20 * MPS_PER["mph"], units) == blows
    assert offset_in(units, right_yd=3.0, long_yd=-2.0) == off


@pytest.mark.parametrize("units", list(UNITS))
def test_every_unit_system_has_a_sheet_of_round_winds_in_its_own_unit(units: UnitSystem) -> None:
    for clubs in ((), ("5-iron",)):
        scene = make_sheet(demo_caddie(), Bag(units=units), clubs=clubs)
        shown = [speed(each, units) for each in scene.speeds_mps]
        assert all(text.endswith(f" {UNITS[units].speed}") for text in shown)
        assert all("." not in text for text in shown), shown


@pytest.mark.parametrize("units", list(UNITS))
def test_a_set_up_that_rounds_to_nothing_is_full_in_any_unit(units: UnitSystem) -> None:
    for setup_yd in (-0.52, -0.3, 0.49, 0.52, 0.8, -4.6):
        said = from_full(setup_yd, units, bare=True)
        assert said == "full" or float(said.removeprefix("full ").replace("−", "-")) != 0, said
    assert from_full(-0.52, units) == ("full" if units.startswith("met") else "full −1 yd")
