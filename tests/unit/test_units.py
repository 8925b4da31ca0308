"""A person's units: named, mixed, and their numbers."""

import pytest
from pydantic import ValidationError

from shared.bag import Bag
from shared.units import (
    LENGTH_UNIT_OF,
    SPEED_UNIT_OF,
    UNITS,
    distance_text,
    speed_text,
    unit_system,
)


def test_the_two_old_names_mean_what_they_meant() -> None:
    assert (LENGTH_UNIT_OF["yards"], SPEED_UNIT_OF["yards"]) == ("yd", "mph")
    assert (LENGTH_UNIT_OF["metric"], SPEED_UNIT_OF["metric"]) == ("m", "m/s")
    assert Bag.model_validate_json('{"units": "metric"}').units == "metric"


def test_each_distance_goes_with_each_speed() -> None:
    pairs = {(units.distance, units.speed) for units in UNITS.values()}
    assert len(pairs) == len(UNITS) == 2 * 4
    assert unit_system(distance="m", speed="mph") == "metres mph"
    assert Bag(units=unit_system(distance="yd", speed="kn")).units == "yards knots"
    for system, units in UNITS.items():
        assert unit_system(distance=units.distance, speed=units.speed) == system


def test_a_unit_system_that_is_none_is_refused() -> None:
    with pytest.raises(ValidationError):
        Bag.model_validate({"units": "cubits"})


def test_quantities_in_a_persons_units() -> None:
    assert distance_text(150.876, "yards knots") == "165.0 yd"
    assert distance_text(150.876, "metres mph", digits=0) == "151 m"
    assert speed_text(3.755136, "metres mph") == "8.4 mph"  # 8.4 * .44704
    assert speed_text(10.0, "metres km/h") == "36 km/h"
    assert speed_text(18.52, "yards knots") == "36 kn"  # a knot is 1,852 m an hour
    assert speed_text(4.04, "metric") == "4 m/s"
