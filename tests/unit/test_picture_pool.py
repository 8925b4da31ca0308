"""The pool: draws once what is asked for twice, forgets by size, survives a killed worker."""

import asyncio
import os
import signal
from collections.abc import AsyncIterator
from dataclasses import replace

import pytest

from bot.drawing import worker
from bot.drawing.guide.model import Guide, GuideHole
from bot.drawing.pool import PictureCache, PicturePool, content_key
from bot.drawing.scene import ShotScene
from bot.services.caddie.caddie import Caddie
from bot.services.pictures.service import answer_picture
from bot.services.pictures.wind_sheets import make_sheet
from shared.bag import Bag
from shared.shot import Shot
from shared.shot_text import parse
from tests.unit.picture_tools import demo_kit, scene_from
from tests.unit.test_trust_pictures import BARS, game_scene


@pytest.fixture(scope="module")
def caddie() -> Caddie:
    return Caddie(demo_kit())


@pytest.fixture(scope="module")
def scene(caddie: Caddie) -> ShotScene:
    return scene_from(caddie, "7 mph from 5, 6-iron, 133")


@pytest.fixture
async def pool() -> AsyncIterator[PicturePool]:
    pool = PicturePool(in_thread=True)
    yield pool
    await pool.close()


async def test_every_picture_comes_with_its_words(
    pool: PicturePool, caddie: Caddie, scene: ShotScene
) -> None:
    shot = await pool.shot_picture(scene)
    sheet = await pool.wind_sheet(make_sheet(caddie, Bag(), clubs=("6-iron",)))
    bars, game = await pool.bars(BARS), await pool.game(game_scene(8))
    for picture in (shot, sheet, bars, game):
        assert picture.png.startswith(b"\x89PNG") and len(picture.png) <= 150_000
        assert 60 < len(picture.alt) <= 1024
    assert len({picture.png for picture in (shot, sheet, bars, game)}) == 4
    assert "7 mph from 5 o'clock" in shot.alt and "6-iron" in sheet.alt


async def test_an_answers_picture_is_its_scenes(
    pool: PicturePool, caddie: Caddie, scene: ShotScene
) -> None:
    answer = caddie.answer(shot=_shot(caddie), bag=Bag(), given="")
    assert await answer_picture(pool, caddie, answer) == await pool.shot_picture(scene)


def _shot(caddie: Caddie) -> Shot:
    return parse("7 mph from 5, 6-iron, 133", kit=caddie.kit)


async def test_the_same_is_drawn_once(
    pool: PicturePool, scene: ShotScene, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[float] = []

    def shot_png(scene: ShotScene) -> bytes:
        drawn.append(scene.plays_m)
        return b"picture"

    monkeypatch.setattr(worker, "shot_png", shot_png)
    other = replace(scene, plays_m=scene.plays_m + 1)
    await asyncio.gather(*(pool.shot_picture(each) for each in (scene, scene, other)))
    await pool.shot_picture(replace(scene))
    assert sorted(drawn) == [scene.plays_m, other.plays_m]


async def test_who_stops_waiting_stops_nobody_else(pool: PicturePool, scene: ShotScene) -> None:
    first = asyncio.ensure_future(pool.shot_picture(scene))
    second = asyncio.ensure_future(pool.shot_picture(scene))
    await asyncio.sleep(0)
    first.cancel()
    assert (await second).png.startswith(b"\x89PNG")
    with pytest.raises(asyncio.CancelledError):
        await first


async def test_a_failed_drawing_is_told_and_not_kept(
    pool: PicturePool, scene: ShotScene, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(scene: ShotScene) -> bytes:
        raise ZeroDivisionError

    with monkeypatch.context() as patch:
        patch.setattr(worker, "shot_png", broken)
        with pytest.raises(ZeroDivisionError):
            await pool.shot_picture(scene)
    assert len(pool.cache) == 0
    assert (await pool.shot_picture(scene)).png.startswith(b"\x89PNG")


def test_the_cache_forgets_what_was_longest_not_asked_for() -> None:
    cache = PictureCache(most_bytes=10)
    for name in ("a", "b", "c"):
        cache.put(content_key(name), (name.encode() * 3,))
    assert cache.get(content_key("a")) == (b"aaa",)
    cache.put(content_key("d"), (b"dd", b"d"))
    assert cache.get(content_key("b")) is None
    assert cache.get(content_key("a")) == (b"aaa",)
    assert (len(cache), cache.used_bytes) == (3, 9)
    cache.put(content_key("e"), (b"e" * 11,))
    assert (len(cache), cache.used_bytes) == (3, 9)
    assert content_key("a", "b") != content_key("ab") != content_key("a b")


async def test_a_guide_tells_how_far_it_is(pool: PicturePool) -> None:
    holes = tuple(GuideHole(number, 4, 300.0 + number) for number in range(1, 10))
    guide = Guide("Heron Cup", holes)
    heard: list[tuple[int, int]] = []
    pdf = await pool.guide_pdf(guide, paper="letter", progress=lambda *at: heard.append(at))
    assert heard == sorted(set(heard)) and heard[-1] == (9, 9)
    assert pdf == await pool.guide_pdf(guide, paper="letter")
    images = await pool.guide_images(guide)
    assert len(images) == 1 and images[0].startswith(b"\x89PNG")
    assert "## Hole 9" in await pool.guide_markdown(guide)


async def test_a_process_draws_the_same_and_a_killed_one_is_replaced(scene: ShotScene) -> None:
    pool, thread = PicturePool(), PicturePool(in_thread=True)
    try:
        await pool.warm()
        assert await pool.shot_picture(scene) == await thread.shot_picture(scene)
        loop = asyncio.get_running_loop()
        worker_id = await loop.run_in_executor(pool._workers, worker.wake)
        assert worker_id != os.getpid()
        os.kill(worker_id, signal.SIGKILL)
        other = replace(scene, plays_m=77.0)
        assert await pool.shot_picture(other) == await thread.shot_picture(other)
    finally:
        await pool.close()
        await thread.close()


async def test_a_press_warms_itself_beside_what_else_is_done(
    scene: ShotScene, monkeypatch: pytest.MonkeyPatch
) -> None:
    woken: list[str] = []
    monkeypatch.setattr(worker, "wake", lambda: woken.append("thread"))
    thread = PicturePool(in_thread=True)
    thread.warm_soon()
    await asyncio.sleep(0)
    await thread.close()
    assert woken == [] and thread._warming is None
    monkeypatch.undo()
    pool = PicturePool()
    pool.warm_soon()
    assert pool._warming is not None and not pool._warming.done()  # nobody waited
    await pool._warming
    assert len(pool._workers._processes) == 1  # type: ignore[attr-defined]
    async with asyncio.timeout(10):  # the pool tells of a result before it counts the worker idle
        while pool._workers._idle_worker_semaphore._value == 0:  # type: ignore[attr-defined]
            await asyncio.sleep(0.001)
    assert (await pool.shot_picture(scene)).png.startswith(b"\x89PNG")
    assert len(pool._workers._processes) == 1  # type: ignore[attr-defined]
    await pool.close()


async def test_a_press_that_is_closed_while_it_warms_leaves_nothing_behind() -> None:
    pool = PicturePool()
    pool.warm_soon()
    await asyncio.sleep(0)
    await pool.close()
    assert pool._warming is not None
    await asyncio.wait({pool._warming}, timeout=30)
    assert pool._warming.cancelled()
