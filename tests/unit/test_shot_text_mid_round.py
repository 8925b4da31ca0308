"""What players type on a phone between two shots: read at once, or one press away.

Written down before the parser was asked, each group by what it means.
"""

from typing import NamedTuple

import pytest

from shared.errors import ShotTextError
from shared.shot import Shot
from shared.shot_text import parse
from shared.units import UnitSystem
from tests.kits import demo_kit

KIT = demo_kit()


class Meant(NamedTuple):
    """A question in full, the asker's units, and the hole's bearing where it is known."""

    text: str
    units: UnitSystem
    bearing: float | None


READ: list[tuple[Meant, str]] = [
    (
        Meant("8 mph from 2, 5-iron, 165 yd", "yards", None),
        "8mph 2 o'clock 5 iron 165 | 8 2oclock 5i 165 | 8@2 165 5i | 165y 5i 8 mph @ 2 oclock"
        " | 8 mph wind from 2 o'clock with a 5 iron 165 yards"
        " | wind 8 from 2 oclock, 165 out, 5 iron | 165 out 5i 8 from 2"
        " | 165 to the pin 5 iron wind 8 at 2 | 165 to go, 5i, 8 from 2"
        " | i have 165 to the hole wind is 8 from 2 with 5 iron | 5 iron 165 yds 8mph from 2"
        " | 8mph@2 5i165 | 5i165 8@2 | 8 mph, 2 o'clock, 5i, 165 | 8 mph 2 o clock 5i 165"
        " | 2 o'clock 8mph 5i 165 | from 2 o'clock 8 5i 165 | from 2oclock at 8mph 5i 165"
        " | two o'clock 8 mph five iron 165 | 8mph from two oclock 5i 165 | 8 frm 2 5iron 165yd"
        " | 8 fm 2 5i 165 | wind: 8 from 2. club: 5i. distance: 165"
        " | Wind 8mph 2 o clock Club 5 Iron Distance 165 yards | 5i 165 with 8 from 2"
        " | 5 iron from 165 yards wind 8 from 2 o'clock | 165yd 5i wind @2 8mph"
        " | 8.0mph from 2 165 5i | 8mph from the 2 5i 165 | 8 mph coming from 2 o'clock 5i 165",
    ),
    (
        Meant("8 mph from 3, 5-iron, 165 yd", "yards", None),
        "8 off the right 5i 165 | 8mph r to l 5i 165 | 8 r2l 5i 165 | 8 right-to-left 5i 165"
        " | 8 right 2 left 5i 165 | 8 rtol 5i 165 | crosswind right to left 8mph 5i 165"
        " | 8mph cross r2l 5i 165 | 8 mph crosswind off the right 165 5i"
        " | cross from right 8 165 5i | 8 from right to left 5i 165"
        " | 8 blowing right to left 5i 165 | 8 R→L 5i 165 | 8 r > l 5i 165"
        " | 8 full cross from the right 5i 165 | pure cross 8 off right 5i 165"
        " | 8 from 3 o'clock 5i 165 | 8 from the right hand side 5i 165 | 8 from rhs 5i 165"
        " | 8 out the right 5i 165 | 8mph wind from right 5i 165",
    ),
    (
        Meant("8 mph from 9, 5-iron, 165 yd", "yards", None),
        "8 l2r 5i 165 | 8 l-r 5i 165 | 8 l to r 5i 165 | 8 L→R 5i 165 | 8 lefttoright 5i 165"
        " | 8 left2right 5i 165 | 8 from left 5 iron 165 | 8 off left 5i 165"
        " | 8 cross off left 165 5i | left to right wind 8 5i 165 | 8 from the left side 5i 165"
        " | 8 mph left to right crosswind 5i 165",
    ),
    (
        Meant("8 mph from 12, 5-iron, 165 yd", "yards", None),
        "8 into 5i 165 | headwind 8 5i 165 | 8 headwind 5i 165 | 8 mph head wind 5i 165"
        " | 8 in the face 5i 165 | 8 into the face 5i 165 | 8 mph in face 5i 165"
        " | 8 hurting 5i 165 | hurting 8 5i 165 | 8 into wind 5i 165 | 8 dead into 5i 165"
        " | 8 straight into 5i 165 | straight into the wind 8 5i 165 | 8mph against me 5i 165"
        " | 8 at me 5i 165 | 8 hw 5i 165 | hw 8 5i 165 | 8 12 oclock 5i 165"
        " | 8 coming at me 5i 165 | 8 front 5i 165 | 8 in my face 5i 165 | 8 upwind 5i 165"
        " | 8 directly into 5i 165 | 8 towards me 5i 165 | 8 toward me 5i 165 | facing 8 5i 165"
        " | 8 in the teeth 5i 165 | into a 8mph breeze 5i 165 | 5i 165 into 8"
        " | 165 5i into an 8 mph wind | 8mph into the wind 5 iron 165",
    ),
    (
        Meant("8 mph from 6, 5-iron, 165 yd", "yards", None),
        "8 helping 5i 165 | helping 8 5i 165 | 8 downwind 5i 165 | 8 tailwind 5i 165"
        " | 8 tw 5i 165 | tail 8 5i 165 | 8 behind 5i 165 | 8 from behind 5i 165"
        " | 8 behind me 5i 165 | 8 at my back 5i 165 | wind at back 8 5i 165 | 8 assist 5i 165"
        " | 8 helping wind 5i 165 | 8 help 5i 165 | 8 with me 5i 165 | 8 mph with us 5i 165"
        " | 8 down the wind 5i 165 | 8 downbreeze 5i 165 | 8 6 oclock 5i 165"
        " | 8 from the back 5i 165 | 8 back wind 5i 165 | 8 wind behind 5i 165"
        " | 8 following 5i 165 | 8 straight behind 5i 165 | 8 directly behind 5i 165",
    ),
    (
        Meant("8 mph from 1:30, 5-iron, 165 yd", "yards", None),
        "8 quartering into from the right 5i 165 | 8 into off the right 5i 165"
        " | 8 into r2l 5i 165 | 8 hurting off the right 5i 165 | 8 hurting right to left 5i 165"
        " | 8 into and right to left 5i 165 | 8 into from right 5i 165"
        " | 8 quartering headwind from the right 5i 165 | 8 in from the right 5i 165"
        " | 8 into right to left 5i 165 | 8 1:30 5i 165 | 8 at 1:30 5i 165 | 8 from 1.5 5i 165"
        " | 8 headwind r2l 5i 165 | 8 in off right 5i 165 | 8 right to left into 5i 165"
        " | 8 from 45 degrees 5i 165",
    ),
    (
        Meant("8 mph from 7:30, 5-iron, 165 yd", "yards", None),
        "8 helping l2r 5i 165 | 8 helping off the left 5i 165 | 8 down off the left 5i 165"
        " | 8 down l to r 5i 165 | 8 quartering down from the left 5i 165"
        " | 8 helping and left to right 5i 165 | 8 tailwind from the left 5i 165"
        " | 8 downwind l>r 5i 165 | 8 from 7:30 5i 165 | 8 from 225° 5i 165"
        " | 8 quartering helping from left 5i 165 | 8 helping from left 5i 165",
    ),
    (
        Meant("calm, 5-iron, 165 yd", "yards", None),
        "calm 5i 165 | no wind 5i 165 | nothing 5i 165 | 5i 165 nothing | 0 5i 165"
        " | 0mph 5i 165 | zero wind 5i 165 | none 5i 165 | wind none 5i 165 | no breeze 5i 165"
        " | still 5i 165 | dead calm 5i 165 | dead still 5i 165 | nil 5i 165 | zero 5i 165"
        " | 5 iron 165 no wind at all | windless 5i 165 | wind 0 5i 165 | without wind 5i 165"
        " | flat calm 5i 165 | no wind, 5i, 165",
    ),
    (
        Meant("5 m/s from 2, 5-iron, 150 m", "metric", None),
        "5 from 2 5i 150 | 5 m/s from 2 5i 150 | 5ms from 2 5i 150m | 5mps @2 5i 150m"
        " | 5 m/s 2 o'clock 5i 150 metres | 5,0 from 2 5i 150 | 5 m/s from 2, 5i, 150,0"
        " | 5 meters per second from 2 5i 150 meters | 5m/sec from 2 5i 150",
    ),
    (
        Meant("4.5 m/s from 2, 5-iron, 150 m", "metric", None),
        "4,5 from 2 5i 150 | 4.5 @ 2 5i 150 | 4,5m/s from 2 5i 150 | 4 1/2 from 2 5i 150"
        " | 4½ from 2 5i 150",
    ),
    (
        Meant("20 km/h from 10, 7-iron, 125 m", "metres km/h", None),
        "20 from 10 7i 125 | 20kmh from 10 7i 125 | 20 kph 10 o'clock 7i 125m"
        " | 20 km/h from 10 7i 125 m | 20 kmph from 10 7i 125 | 20km/hr from 10 7i 125",
    ),
    (
        Meant("12 kn from 10, 7-iron, 125 m", "metres knots", None),
        "12kts from 10 7i 125m | 12 kt from 10 7i 125 | 12 knots 10 o'clock 7i 125"
        " | 12 kn @10 125 7i | 12kn from 10 7i 125",
    ),
    (
        Meant("10 km/h from 2, 5-iron, 165 yd", "yards", None),
        "10 km/h from 2 5i 165 | 10kph@2 5i 165 | 10 kmh 2 oclock 165y 5i",
    ),
    (
        Meant("7.5 mph from 10, 7-iron, 140 yd", "yards", None),
        "7.5 from 10 7i 140 | 7 1/2 from 10 7i 140 | 7½ from 10 7i 140 | 7,5 from 10 7i 140"
        " | 7.5mph@10 7i 140 | seven and a half from 10 7i 140 | 7 and a half from 10 7i 140"
        " | 7 1/2mph from 10 7 iron 140",
    ),
    (
        Meant("6 mph from 6, driver, 230 yd", "yards", None),
        "6 helping driver 230 | 6 helping d 230 | 1w 230 6 helping | dr 230 6mph tail"
        " | driver 230 6 downwind | drvier 230 6 helping | Driver, 230, 6 helping",
    ),
    (
        Meant("6 mph from 12, 3-wood, 210 yd", "yards", None),
        "6 into 3w 210 | w3 210 6 into | 3 wood 210 6 into | wood 3 210 into 6"
        " | three wood 210 6 into | 3wood 210 6 hurting | 3 w 210 6 into",
    ),
    (
        Meant("6 mph from 12, hybrid, 185 yd", "yards", None),
        "6 into hybrid 185 | 6 into hyb 185 | 6 into hy 185 | 6 into 4h 185 | 6 into 4hy 185"
        " | 6 into rescue 185 | 6 into h4 185 | 6 into 4-hybrid 185",
    ),
    (
        Meant("6 mph from 12, pitching wedge, 100 yd", "yards", None),
        "6 into pw 100 | pw 100 6 into | 6 into p wedge 100 | pitching 100 6 into"
        " | 6 into pitching wedge 100 | pitch 100 6 into",
    ),
    (
        Meant("6 mph from 12, sand wedge, 70 yd", "yards", None),
        "6 into sw 70 | sand wedge 70 6 into | sand 70 into 6 | 6 into sandwedge 70",
    ),
    (
        Meant("6 mph from 12, gap wedge, 85 yd", "yards", None),
        "6 into gw 85 | gap 85 6 into | 6 into gap wedge 85 | 6 into gapwedge 85",
    ),
    (
        Meant("8 mph from 2, 7-iron, 135 yd, up 3 yd", "yards", None),
        "8 from 2 7i 135 up 3 | 8 from 2 7i 135 3 up | 8 from 2 7i 135 uphill 3"
        " | 8 from 2 7i 135 3 uphill | 8 from 2 7i 135 3yd up | 8 from 2 7i 135 3 yards uphill"
        " | 8 from 2 7i 135 elevated 3 | 8 from 2 7i 135 3 above | 8 from 2 7i 135 3 higher"
        " | 8 from 2 7i 135 elev +3 | 8 from 2 7i 135 elevation 3"
        " | 8 from 2 7i 135 3 yards above me | 8 from 2 7i 135 up by 3",
    ),
    (
        Meant("8 mph from 2, 7-iron, 135 yd, down 10 ft", "yards", None),
        "8 from 2 7i 135 10 feet below | 8 from 2 7i 135 10ft down"
        " | 8 from 2 7i 135 10 ft downhill | 8 from 2 7i 135 10 feet lower"
        " | 8 from 2 7i 135 down 10 feet | 8 from 2 7i 135 drop 10ft"
        " | 8 from 2 7i 135 10 foot drop | 8 from 2 7i 135 10' down"
        " | 8 from 2 7i 135 below by 10 ft | 8 from 2 7i 135 10 ft below me",
    ),
    (
        Meant("8 mph from 2, 5-iron, 132 yd", "yards", None),
        "8 from 2 80% 5i | 80% 5 iron 8 from 2 | 8 from 2 5i 80% | 8 from 2 5i at 80%"
        " | 8 from 2 5i 80 pct | 80 percent 5i 8 from 2 | 8 from 2 5i 80% power"
        " | 8 from 2 5i 80% swing",
    ),
    (Meant("8 mph from 2, 5-iron, 123.8 yd", "yards", None), "75% 5i 8 from 2"),
    (Meant("8 mph from 2, 5-iron, 82.5 yd", "yards", None), "50% 5i 8 from 2"),
    (
        Meant("8 mph from 45 hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 NE 5i 165 | 8 from NE 5i 165 | 8 north east 5i 165 | NE 8mph 5i 165"
        " | 8 northeast 5i 165 | 8mph ne wind 5i 165 | wind NE 8 5i 165"
        " | 8 north-easterly 5i 165 | 8 from the north east 5i 165 | 8 from the NE 5i 165",
    ),
    (
        Meant("8 mph from 0 deg hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 from N 5i 165 | 8 north 5i 165 | northerly 8 5i 165 | 8 from the north 5i 165"
        " | north wind 8 5i 165",
    ),
    (
        Meant("8 mph from 270 hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 from W 5i 165 | west 8 5i 165 | westerly 8 5i 165 | 8 from west 5i 165",
    ),
    (
        Meant("8 mph from 180 hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 from S 5i 165 | 8 south 5i 165 | 8 from 180 5i 165 | 8 from 180 deg 5i 165",
    ),
    (
        Meant("8 mph from 2, 5-iron, 165 yd, back 2", "yards", None),
        "8 from 2 5i 165 back 2 | 8 from 2 5i 165 2 back | 8 from 2 5i 165 backspin 2"
        " | 8 from 2 5i 165 2 backspin | 8 from 2 5i 165 2 clicks back | 8 from 2 5i 165 bs 2"
        " | 8 from 2 5i 165 bs2 | 8 from 2 5i 165 2 steps of backspin"
        " | 8 from 2 5i 165 back spin 2 | 8 from 2 5i 165 with 2 back"
        " | 8 from 2 5i 165 2 of back",
    ),
    (
        Meant("8 mph from 2, 5-iron, 165 yd, top 1", "yards", None),
        "8 from 2 5i 165 top 1 | 8 from 2 5i 165 1 top | 8 from 2 5i 165 topspin 1"
        " | 8 from 2 5i 165 ts 1 | 8 from 2 5i 165 1 topspin",
    ),
    (
        Meant("8 mph from 2, 5-iron, 165 yd, ball tern", "yards", None),
        "8 from 2 5i 165 tern | 8 from 2 5i 165 tern ball | 8 from 2 tern 5i 165"
        " | 8 from 2 5i 165 with a tern | 8 from 2 5i 165 using tern | 8 from 2 5i 165 tren",
    ),
    (
        Meant("8 mph from 2, 5-iron (oak), 165 yd", "yards", None),
        "8 from 2 oak 5i 165 | 8 from 2 5i oak 165 | 8 from 2 5i (oak) 165"
        " | 8 from 2 5 iron oak 165",
    ),
    (
        Meant("8 mph from 2, 5-iron, 165 yd, fade", "yards", None),
        "8 from 2 5i 165 fade | 8 from 2 fade 5i 165 | 8 from 2 5i fade 165"
        " | 8 from 2 5i cut 165 | 8 from 2 cut 5i 165 | 8 from 2 5i 165 slice",
    ),
    (
        Meant("8 mph from 2, 5-iron, 165 yd, draw 3 deg", "yards", None),
        "8 from 2 5i 165 draw 3 | 8 from 2 5i 165 3 draw | 8 from 2 5i 165 3° draw"
        " | 8 from 2 5i 165 draw 3 degrees | 8 from 2 draw 3 5i 165 | 8 from 2 5i 165 3 deg draw",
    ),
]
ONE_PRESS: list[tuple[Meant, str]] = [
    (
        Meant("8 mph from 2, 5-iron, 165 yd", "yards", None),
        "5i,165,8@2 | 165 left 5i wind 8 from 2 | 5i from 165, 8 from 2"
        " | 8 from 2 o'clock direction 5i 165",
    ),
    (
        Meant("8 mph from 3, 5-iron, 165 yd", "yards", None),
        "8 ← 5i 165 | 8 <- 5i 165 | 8mph <-- 5i 165 | 8 right to lft 5i 165"
        " | 8 wind right 5i 165 | 8 wind going left 5i 165 | 8 blowing left 5i 165"
        " | 8 pushing left 5i 165",
    ),
    (
        Meant("8 mph from 9, 5-iron, 165 yd", "yards", None),
        "8 → 5i 165 | 8 -> 5i 165 | 8 --> 5i 165 | 8 blowing right 5i 165",
    ),
    (Meant("8 mph from 12, 5-iron, 165 yd", "yards", None), "8 ↓ 5i 165 | 8 in 5i 165"),
    (Meant("8 mph from 6, 5-iron, 165 yd", "yards", None), "8 ↑ 5i 165"),
    (
        Meant("8 mph from 1:30, 5-iron, 165 yd", "yards", None),
        "8 between 1 and 2 5i 165 | 8 from 1-2 5i 165 | 8 from 1/2 oclock 5i 165"
        " | 8 into & right 5i 165 | 8 front right 5i 165 | 8 from front right 5i 165",
    ),
    (
        Meant("8 mph from 7:30, 5-iron, 165 yd", "yards", None),
        "8 from 7 30 5i 165 | 8 from 7h30 5i 165 | 8 from 225 5i 165 | 8 behind left 5i 165"
        " | 8 from behind left 5i 165",
    ),
    (
        Meant("20 km/h from 10, 7-iron, 125 m", "metres km/h", None),
        "20k from 10 7i 125 | 20 km from 10 7i 125 | 20 km/u from 10 7i 125",
    ),
    (Meant("6 mph from 6, driver, 230 yd", "yards", None), "6mph down driver 230"),
    (
        Meant("6 mph from 12, 3-wood, 210 yd", "yards", None),
        "3wd 210 6 into | 6 into 3-wood from 210",
    ),
    (Meant("6 mph from 12, hybrid, 185 yd", "yards", None), "6 into 4 hybrid 185"),
    (
        Meant("6 mph from 12, pitching wedge, 100 yd", "yards", None),
        "p 100 6 into | 6 into p/w 100",
    ),
    (Meant("6 mph from 12, sand wedge, 70 yd", "yards", None), "6 into s 70 | 6 into s/w 70"),
    (
        Meant("8 mph from 2, 7-iron, 135 yd, up 3 yd", "yards", None),
        "8 from 2 7i 135 +3 | 8 from 2 7i 135 green 3 up | 8 from 2 7i 135 3 higher green"
        " | 8 from 2 7i 135 plus 3",
    ),
    (Meant("8 mph from 2, 7-iron, 135 yd, down 10 ft", "yards", None), "8 from 2 7i 135 -10ft"),
    (
        Meant("8 mph from 2, 5-iron, 123.8 yd", "yards", None),
        "three quarter 5 iron 8 from 2 | 3/4 5i 8 from 2 | 8 from 2 3/4 5 iron"
        " | 8 from 2 three-quarter 5i | 8 from 2 5i 3/4 swing | 8 from 2 3 quarter 5i"
        " | ¾ 5i 8 from 2",
    ),
    (
        Meant("8 mph from 2, 5-iron, 82.5 yd", "yards", None),
        "half 5i 8 from 2 | half swing 5i 8 from 2",
    ),
    (
        Meant("8 mph from 0 deg hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 N 5i 165 | 8 n wind 5i 165",
    ),
    (
        Meant("8 mph from 270 hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 W 5i 165 | w wind 8 5i 165 | 8 w 5i 165",
    ),
    (
        Meant("8 mph from 180 hole 90, 5-iron, 165 yd", "yards", 90.0),
        "8 S 5i 165 | 8 at 180 5i 165",
    ),
    (Meant("8 mph from 2, 5-iron, 165 yd, fade", "yards", None), "8 from 2 5i 165 small fade"),
]


def cases(table: list[tuple[Meant, str]]) -> list[tuple[str, Meant]]:
    return [(text, meant) for meant, texts in table for text in texts.split(" | ")]


def read(text: str, meant: Meant) -> Shot:
    return parse(text, kit=KIT, units=meant.units, bearing_deg=meant.bearing)


@pytest.mark.parametrize(("text", "meant"), cases(READ))
def test_it_is_read_as_meant(text: str, meant: Meant) -> None:
    assert read(text, meant) == parse(meant.text, kit=KIT)


@pytest.mark.parametrize(("text", "meant"), cases(ONE_PRESS))
def test_it_is_refused_and_what_was_meant_is_one_press_away(text: str, meant: Meant) -> None:
    with pytest.raises(ShotTextError) as caught:
        read(text, meant)
    offers = [read(each, meant) for each in caught.value.suggestions]
    assert parse(meant.text, kit=KIT) in offers


def test_there_are_enough_of_them() -> None:
    assert len(set(cases(READ))) > 300
