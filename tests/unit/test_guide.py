"""Guides: a hole a page, always the same bytes, nothing cut off or lost in silence."""

import re
import warnings
from dataclasses import replace
from io import BytesIO

import pytest
from PIL import Image

from bot.drawing import style
from bot.drawing.glyphs import Faces
from bot.drawing.guide.job import guide_images, guide_pdf
from bot.drawing.guide.markdown import guide_markdown, plain
from bot.drawing.guide.model import Guide, GuideHole, GuideShot, GuideVariant, GuideWind, Paper
from bot.drawing.guide.page import CUT_SHORT, SIZES, hole_page
from bot.drawing.guide.phone import hole_strip
from bot.drawing.guide.rest import rest_strip
from bot.drawing.scene import ShotScene
from bot.drawing.trust_scene import Bar, BarsScene
from bot.drawing.worker import tools
from bot.services.caddie.caddie import Caddie
from shared.book import Room
from tests.unit.picture_tools import Drawn, demo_kit, scene_from

NOTE = "Land it short of the ridge and let it run on to the back shelf."


@pytest.fixture(scope="module")
def scenes() -> tuple[ShotScene, ShotScene]:
    caddie = Caddie(demo_kit())
    return (
        scene_from(caddie, "9 mph from 4, 3-wood, 190", room=Room(left_yd=8, right_yd=11)),
        scene_from(caddie, "9 mph from 4, 7-iron, 121, up 4", room=Room(short_yd=3, long_yd=8)),
    )


@pytest.fixture(scope="module")
def guide(scenes: tuple[ShotScene, ShotScene]) -> Guide:
    return Guide(
        "Heron Cup, round 2",
        (hole(1, scenes, 3), hole(2, scenes, 1), hole(3, (), 0)),
        whose="for the coach's bag",
    )


@pytest.fixture(scope="module")
def faces() -> Faces:
    return Faces()


def hole(number: int, scenes: tuple[ShotScene, ...], variants: int, note: str = NOTE) -> GuideHole:
    def shots(letter: int) -> tuple[GuideShot, ...]:
        return tuple(
            GuideShot(
                text=f"{scene.shot} {letter}-{count}",
                aim=scene.headline,
                details=("share 88%, set up full −15 yd", "margin ± 1.4 yd across, ± 0.8 yd along"),
                note=note,
                scene=scene if letter == 0 else None,
            )
            for count, scene in enumerate(scenes)
        )

    return GuideHole(
        number=number,
        par=4,
        length_m=292.6,
        name="Gull Point",
        bearing_deg=145.0,
        wind=GuideWind(4.02, 120.0),
        facts=("green falls from back to front", "pin on the left"),
        variants=tuple(
            GuideVariant(
                letter=chr(ord("A") + count),
                shots=shots(count),
                title=f"way number {count}",
                status="tested",
                author="Coach Wren",
                notes=note,
                ceiling=f"Holds up to {10 + count} mph from 12.",
                results=f"Holed {count} of 24.",
            )
            for count in range(variants)
        ),
        ceilings="Above 14 mph take line B.",
        results="41 tries logged, 15 holed.",
    )


def said(drawn: Drawn) -> str:
    return " ".join(each.text for each in drawn.words())


def media_boxes(pdf: bytes) -> list[tuple[float, float]]:
    found = re.findall(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", pdf)
    return [(float(width), float(height)) for width, height in found]


def test_the_same_guide_gives_the_same_bytes(guide: Guide) -> None:
    (pdf,) = guide_pdf(guide, "a4")
    assert guide_pdf(replace(guide), "a4") == (pdf,)
    assert pdf.startswith(b"%PDF-")
    assert b"CreationDate" not in pdf and b"ModDate" not in pdf
    changed = replace(guide, whose="for me")
    assert guide_pdf(changed, "a4") != (pdf,)
    assert guide_images(guide) == guide_images(replace(guide))
    assert tools().meter.value == 3


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_hole_has_a_page_of_the_paper_asked_for(guide: Guide, paper: str) -> None:
    size = {"a4": (595.28, 841.89), "letter": (612, 792)}[paper]  # ISO 216; ANSI Y14.1 A
    (pdf,) = guide_pdf(guide, "a4" if paper == "a4" else "letter")
    boxes = media_boxes(pdf)
    assert len(boxes) == len(guide.holes)
    assert all(box == pytest.approx(size, abs=0.01) for box in boxes)


@pytest.mark.parametrize("index", [0, 1, 2])
def test_a_page_says_all_and_nothing_overlaps(guide: Guide, faces: Faces, index: int) -> None:
    each = guide.holes[index]
    drawn = Drawn(hole_page(guide, each, faces, paper="a4"))
    assert drawn.overlaps() == drawn.outside() == []
    text = said(drawn)
    for variant in each.variants:
        assert f"{variant.letter} · {variant.title} (tested)" in text
        assert variant.ceiling in text and variant.results in text
        for shot in variant.shots:
            assert shot.aim in text and shot.details[1] in text
    assert f"hole {each.number} of 3" in text
    assert each.ceilings in text and each.results in text
    assert "9 mph" in text and "from 4 o'clock" in text
    pictures = text.count("in the air")
    assert pictures == (2 if each.variants else 0)
    assert ("No line has been noted" in text) == (not each.variants)


def bars_of(count: int) -> BarsScene:
    bars = tuple(
        Bar(f"{chr(ord('A') + at)} · way number {at}", 0.4, 0.3, 0.5, "6 of 15 holed")
        for at in range(count)
    )
    return BarsScene("Hole 1: which line to take", "of the group", bars, "90% interval")


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("shots", "variants"), [(0, 2), (1, 2), (2, 2), (2, 3), (1, 5)])
def test_bars_stand_on_the_page_and_the_strip(
    scenes: tuple[ShotScene, ShotScene],
    faces: Faces,
    shots: int,
    variants: int,
    paper: Paper,
) -> None:
    tried = replace(hole(1, scenes, variants), bars=bars_of(variants))
    if not shots:
        tried = replace(tried, variants=tuple(_undrawn(each) for each in tried.variants))
    elif shots == 1:
        tried = replace(tried, variants=hole(1, scenes[:1], variants).variants)
    page = Drawn(hole_page(Guide("Heron Cup", (tried,)), tried, faces, paper=paper))
    assert page.overlaps() == page.outside() == []
    assert len(page.named("bar")) == len(page.named("interval")) == variants
    assert len(page.named("flight")) == shots
    assert all(f"way number {at} (tested)" in said(page) for at in range(variants))
    strip = Drawn(hole_strip(Guide("Heron Cup", (tried,)), tried, faces))
    assert strip.overlaps() == strip.outside() == []
    assert len(strip.named("bar")) == variants


def test_where_pictures_have_to_go_the_shots_go_before_the_bars(
    scenes: tuple[ShotScene, ShotScene], faces: Faces
) -> None:
    full = replace(hole(1, scenes, 6), bars=bars_of(6))
    page = Drawn(hole_page(Guide("Heron Cup", (full,)), full, faces, paper="a4"))
    assert page.overlaps() == page.outside() == []
    assert len(page.named("bar")) == 6 and page.named("flight") == []
    assert min(each.size for each in page.words()) >= 4.9


def test_bars_are_said_in_words_and_give_the_same_bytes(guide: Guide) -> None:
    tried = replace(guide, holes=(replace(guide.holes[0], bars=bars_of(2)), *guide.holes[1:]))
    assert "> Hole 1: which line to take. of the group." in guide_markdown(tried)
    assert plain("A · way number 0: 40% (30–50), 6 of 15 holed.") in guide_markdown(tried)
    again = replace(guide, holes=(replace(guide.holes[0], bars=bars_of(2)), *guide.holes[1:]))
    assert guide_pdf(tried, "a4") == guide_pdf(again, "a4") != guide_pdf(guide, "a4")
    assert guide_images(tried) == guide_images(again)


def _undrawn(variant: GuideVariant) -> GuideVariant:
    return replace(variant, shots=tuple(replace(shot, scene=None) for shot in variant.shots))


@pytest.mark.parametrize("variants", [4, 6, 26])
def test_many_variants_shrink_then_say_that_there_are_more(
    guide: Guide, scenes: tuple[ShotScene, ShotScene], faces: Faces, variants: int
) -> None:
    full = hole(1, scenes, variants)
    drawn = Drawn(hole_page(guide, full, faces, paper="letter"))
    assert drawn.overlaps() == drawn.outside() == []
    assert min(each.size for each in drawn.words()) >= 4.9
    last = f"{full.variants[-1].letter} · way number {variants - 1}"
    assert (last in said(drawn)) != (CUT_SHORT in said(drawn))
    assert (CUT_SHORT in said(drawn)) == (variants == 26)
    strip = Drawn(hole_strip(guide, full, faces))
    assert last in said(strip)
    assert strip.overlaps() == strip.outside() == []


def test_a_strip_reads_on_a_phone(guide: Guide, faces: Faces) -> None:
    drawn = Drawn(hole_strip(guide, guide.holes[0], faces))
    assert drawn.width == style.PHONE_PX
    assert min(each.size for each in drawn.words()) >= style.LEAST_TEXT_PX
    assert said(drawn).count("in the air") == 2


def test_a_hole_is_a_picture_and_those_without_a_line_share_one(guide: Guide) -> None:
    bare = [replace(guide.holes[2], number=number) for number in (3, 4, 5)]
    many = replace(guide, holes=(*guide.holes[:2], *bare))
    files = guide_images(many)
    sizes = [Image.open(BytesIO(file)).size for file in files]
    assert len(files) == 3 and {width for width, _ in sizes} == {585}
    strips = [Drawn(hole_strip(guide, each, tools().faces)).height for each in many.lined]
    assert [height for _, height in sizes[:2]] == pytest.approx([1.5 * x for x in strips], abs=2)
    rest = Drawn(rest_strip(many, tools().faces))
    assert rest.overlaps() == rest.outside() == [] and rest.height < 240
    for number in (3, 4, 5):
        assert f"{number} · Gull Point · par 4 · 320 yd · bearing 145°" in said(rest)
    (pdf,) = guide_pdf(many, "a4")
    assert len(media_boxes(pdf)) == 3


@pytest.mark.parametrize("count", [3, 4, 5])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_shot_of_a_line_is_drawn(
    scenes: tuple[ShotScene, ShotScene], faces: Faces, count: int, paper: Paper
) -> None:
    some = (*scenes, *scenes, *scenes)[:count]
    long = hole(1, some, 1, note="")
    page = Drawn(hole_page(Guide("Heron Cup", (long,)), long, faces, paper=paper))
    assert page.overlaps() == page.outside() == []
    assert len(page.named("flight")) == count
    strip = Drawn(hole_strip(Guide("Heron Cup", (long,)), long, faces))
    assert len(strip.named("flight")) == count


def test_markdown_keeps_every_word_and_no_markup_of_others(guide: Guide) -> None:
    evil = replace(
        guide.holes[1], name="[x](http://y) <b>*a*", results="# not a\nheading", facts=("1) `c`",)
    )
    text = guide_markdown(replace(guide, holes=(guide.holes[0], evil)))
    assert re.findall(r"(?m)^## .*$", text) == [
        "## Hole 1: Gull Point",
        r"## Hole 2: \[x\]\(http://y\) \<b\>\*a\*",
    ]
    assert r"\# not a heading" in text
    assert re.findall(r"(?m)^### (.).*$", text) == ["A", "B", "C", "A"]
    assert text.count("   **Aim ") == 3 * 2 + 1 * 2
    assert "Wind 9 mph from 4 o'clock, helping and off the right" in text
    assert "   > Aim " in text  # pictures in words
    assert plain("a\n\n_b_ ~c~ |") == r"a \_b\_ \~c\~ \|"


def test_odd_texts_can_be_set(guide: Guide, faces: Faces) -> None:
    odd = "𝔊 $x^2$ 🦆 שלום\u0000 " + "w" * 400
    strange = replace(guide.holes[0], name=odd, facts=(odd,) * 3, ceilings=odd, results=odd)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for paper in SIZES:
            drawn = Drawn(hole_page(replace(guide, title=odd), strange, faces, paper=paper))
            assert drawn.overlaps() == drawn.outside() == []
        strip = Drawn(hole_strip(replace(guide, title=odd, whose=odd), strange, faces))
    assert strip.overlaps() == strip.outside() == []
    (pdf,) = guide_pdf(replace(guide, title=odd, holes=(strange,)), "a4")
    assert len(media_boxes(pdf)) == 1
