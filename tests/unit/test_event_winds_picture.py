"""The winds of a cup as a picture: in its own units, divisions that share side by side."""

from bot.drawing.event_winds import ACROSS, EventWindsScene, WindEntry, event_winds_figure
from bot.drawing.style import PHONE_PX
from bot.drawing.worker import event_winds_png, tools
from bot.services.book.wind_table import hour_of, wind_columns, winds_scene
from shared.book import Event, Hole, HoleWind
from tests.unit.test_book_service import KITS

DIVISIONS = ("Sail", "Oar", "Punt", "Skiff", "Raft")


def cup(**units: str) -> Event:
    winds = tuple(
        HoleWind(division=name, round="Saturday", wind=f"{6 + place} mph from {1 + place}")
        for place, name in enumerate(DIVISIONS[:4])
    )
    same = (HoleWind(division="Sail", round="Sunday", wind="0 mph from 12"),)
    holes = (
        Hole(number=3, par=4, yards=388, winds=(*winds, *same)),
        Hole(number=11, par=3, yards=150, bearing_deg=140.0),
    )
    fields = {"name": "Harbour Cup", "divisions": DIVISIONS, "rounds": ("Saturday", "Sunday")}
    return Event.model_validate({**fields, "holes": holes, **units})


def scene(event: Event) -> EventWindsScene:
    return winds_scene(event, KITS.first, "Sunday", event.units)


def test_a_cell_says_speed_and_hour_in_the_events_units() -> None:
    saturday, sunday = scene(cup()).rounds
    assert saturday.name == "Saturday" and sunday.name == "Sunday (now)"
    assert [column.name for column in saturday.columns] == list(DIVISIONS)
    assert saturday.columns[1].winds == (WindEntry("7 from 2", 60.0), WindEntry("–", None))
    assert [column.name for column in sunday.columns] == ["Sail", "Oar, Punt, Skiff, Raft"]
    assert sunday.columns[0].winds[0] == WindEntry("calm", None)
    metric = scene(cup(units="metric"))
    assert metric.subtitle == "m/s, and the hour it comes from"
    assert metric.rounds[0].columns[1].winds[0].words == "3.1 from 2"


def test_a_wind_off_the_hours_is_said_on_the_clock_to_five_minutes() -> None:
    """5 m/s from the north-west on a bearing of 200 comes from 115 degrees: ten to four."""
    wind = HoleWind(division="Oar", round="Saturday", wind="5 m/s from 315 hole 200")
    hole = Hole(number=5, par=5, yards=560, bearing_deg=200.0, winds=(wind,))
    event = cup().model_copy(update={"holes": (hole,)})
    assert scene(event).rounds[0].columns[1].winds[0] == WindEntry("11.2 from 3:50", 115.0)
    columns = {each.divisions[0]: each for each in wind_columns(event, KITS.first, "yards")}
    assert columns["Oar"].cells == ("11.2/3:50",)
    assert [hour_of(deg) for deg in (0, 225, 359, 3.1, 60)] == ["12", "7:30", "12", "12:05", "2"]


def test_five_divisions_stand_below_each_other_on_a_phone() -> None:
    figure = event_winds_figure(scene(cup()), tools().faces)
    width, height = figure.get_size_inches() * figure.dpi
    alone = event_winds_figure(
        scene(cup().model_copy(update={"rounds": ("Sunday",)})), tools().faces
    )
    assert len(DIVISIONS) > ACROSS and width % PHONE_PX == 0
    assert height > 2 * alone.get_size_inches()[1] * alone.dpi
    assert event_winds_png(scene(cup())).startswith(b"\x89PNG")


def test_the_words_of_the_picture_name_every_wind() -> None:
    said = scene(cup()).alt
    assert said.startswith(
        "Winds of Harbour Cup, mph, and the hour it comes from. Saturday, Sail: "
    )
    assert "Saturday, Skiff: hole 3 9 from 4; hole 11 –." in said
