"""The two menus of the wind: the member's usual ones first, in their own unit."""

import pytest

from bot.services.answer_actions import PickWind
from bot.services.members import wind_mmps
from bot.services.wind_menus import HOUR, SPEED, changed_wind, wind_menus
from shared import limits
from shared.menu import MenuFields
from shared.quantities import Speed, Wind
from shared.units import UNITS, SpeedUnit, UnitSystem
from shared.wording import wind_words


def wind(value: float, unit: SpeedUnit, from_deg: float) -> Wind:
    return Wind(speed=Speed(value=value, unit=unit), from_deg=from_deg)


def menus(now: Wind, *usual: Wind, units: UnitSystem = "yards") -> list[MenuFields]:
    return wind_menus(
        lambda part: f"pick|{part}",
        wind=now,
        usual=[wind_mmps(each) for each in usual],
        units=units,
    )


def labels(menu: MenuFields) -> list[str]:
    return [label for label, _, _ in menu.options]


def chosen(menu: MenuFields) -> list[str]:
    return [label for label, _, is_chosen in menu.options if is_chosen]


@pytest.mark.parametrize("units", UNITS)
def test_every_option_is_in_the_members_unit_and_says_what_it_does(units: UnitSystem) -> None:
    unit = UNITS[units].speed
    now = wind(7.3, unit, 102.5)
    speeds, hours = menus(now, wind(5, unit, 210), units=units)
    assert chosen(speeds) == [f"7.3 {unit}"] and chosen(hours) == ["from 102.5°"]
    for menu, part in ((speeds, SPEED), (hours, HOUR)):
        assert len({value for _, value, _ in menu.options}) == len(menu.options) <= limits.CHOICES
        for label, value, is_chosen in menu.options:
            moved = changed_wind(now, part=part, picked=value)
            words = wind_words(moved, units)
            if part == HOUR:
                assert moved.speed == now.speed
                assert words.endswith(f"from {value.removesuffix('.0')} off line") or (
                    moved.relative_deg % 30 == 0 and label.startswith("from ")
                )
            else:
                assert words.startswith("calm" if label == "calm" else f"{label} from ")
            assert is_chosen == (wind_words(moved, units) == wind_words(now, units))


def test_the_likeliest_come_first_and_what_blows_now_is_always_there() -> None:
    often, once, calm = wind(11, "mph", 240), wind(4.5, "mph", 20), wind(0, "mph", 0)
    speeds, hours = menus(wind(33, "mph", 90), once, often, often, calm)
    assert labels(speeds)[:5] == ["33 mph", "11 mph", "4.5 mph", "calm", "1 mph"]
    # Blown from 20 degrees is nearest to 1 o'clock; a calm comes from nowhere.
    assert labels(hours)[:4] == ["from 8", "from 1", "from 12, into", "from 2"]
    assert chosen(hours) == ["from 3, off the right"]


def test_a_menu_keeps_the_wind_beside_what_is_chosen() -> None:
    now = wind(8.4, "mph", 60)
    assert PickWind.read(PickWind(SPEED, 5, now, "5-iron, 165 yd").id).text == "5-iron, 165 yd"
    faster = changed_wind(now, part=SPEED, picked=f"{12 * 0.44704:.3f}")
    assert wind_words(faster, "yards") == "12 mph from 2"
    turned = changed_wind(now, part=HOUR, picked="300.0")
    assert wind_words(turned, "yards") == "8.4 mph from 10"
    with pytest.raises(ValueError, match="could not convert"):
        changed_wind(now, part=HOUR, picked="")
