"""What is to be drawn: shots of answers and lines as scenes, sheets, guides. Knows no Discord."""

import asyncio
import math
from dataclasses import dataclass, replace

import numpy as np

from bot.drawing.pool import PicturePool
from bot.drawing.scene import Curve, Facts, Run, ShotScene, Spot, Spread
from bot.services.caddie.adapt import AdaptedLine, AdaptedShot
from bot.services.caddie.believed import Spreads
from bot.services.caddie.caddie import Caddie, batch
from bot.services.caddie.rack import Choice
from bot.services.members import BagCache, Caddies
from bot.services.pictures.stored import bars_in
from engine.launch import part_shot
from engine.law import Allowances, Runs, Shots
from engine.motion import wind_vector
from engine.path import Paths, trace
from engine.reach import Verdict
from shared.answer import Allowance, Answer, Offset
from shared.book import Room
from shared.errors import EngineError
from shared.picture import Picture
from shared.shot import Shot
from shared.shot_text import parse, require_question
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import headline
from storage.json import JsonObject

MOST_PICTURES = 4  # a message holds ten; a phone's patience fewer


def line_scenes(
    caddie: Caddie,
    line: AdaptedLine,
    units: UnitSystem,
    spreads: Spreads,
    *,
    most: int = MOST_PICTURES,
) -> list[ShotScene]:
    """A scene for every shot that can be drawn, with the allowance this member is told.

    Takes some 20 ms: not for the event loop.
    """
    poses = [
        adapted_pose(shot, units=units, spread=spreads.get((shot.choice.club, shot.choice.grade)))
        for shot in line.shots[:most]
        if shot.fit == Verdict.FINE
    ]
    return scenes(caddie, poses)


STEPS = 28  # samples of a path: 6 px apart on a phone
LEAST_MARKS = 0.05  # an allowance smaller than this says nothing of how large a mark is


@dataclass(frozen=True)
class Pose:
    """A shot with its allowance, about to be drawn: what a scene is made from.

    ``facts`` None are taken from the flight.
    """

    shot: Shot
    choice: Choice
    allowance: Allowance
    margin: Offset
    plays_yd: float
    facts: Facts | None = None
    room: Room | None = None
    spread: Spread | None = None
    units: UnitSystem = "yards"


def scene_of(
    caddie: Caddie,
    answer: Answer,
    *,
    units: UnitSystem = "yards",
    room: Room | None = None,
    spread: Spread | None = None,
) -> ShotScene:
    """The scene of an answer of this caddie. Not for an event loop: it takes about 20 ms."""
    flight = answer.flight
    facts = flight and Facts(flight.apex_yd * METRES_PER_YARD, flight.landing_deg, flight.time_s)
    pose = Pose(
        shot=answer.shot,
        choice=Choice(answer.club, answer.grade, answer.ball),
        allowance=answer.allowance,
        margin=answer.margin,
        plays_yd=answer.plays_yd,
        facts=facts,
        room=room,
        spread=spread,
        units=units,
    )
    return scenes(caddie, [pose])[0]


def adapted_pose(
    adapted: AdaptedShot, *, units: UnitSystem = "yards", spread: Spread | None = None
) -> Pose:
    """A line's shot as its reader hits it, with the note's room."""
    return Pose(
        shot=adapted.shot,
        choice=adapted.choice,
        allowance=adapted.allowance,
        margin=adapted.margin,
        plays_yd=adapted.plays_yd,
        room=adapted.read.room,
        spread=spread,
        units=units,
    )


def scenes(caddie: Caddie, poses: list[Pose]) -> list[ShotScene]:
    """The scenes of many shots: flown in two batches, in the wind and without.

    The aim points are the poses' own: a chart's or a tested line's may lie off the flown shot's.
    """
    if not poses:
        return []
    shots = batch(
        shots=[pose.shot for pose in poses],
        choices=[pose.choice for pose in poses],
        kit=caddie.kit,
        kit_rack=caddie.kit_rack,
    )
    found = caddie.allow(shots)
    paths = _paths(caddie, shots, found)
    return [_scene(caddie, pose, shots, found, paths, index) for index, pose in enumerate(poses)]


def _mark_m(pose: Pose, flown_m: float) -> float:
    """One mark of the pose's own allowance, so that picture and answer round the same numbers."""
    marks = math.hypot(pose.allowance.right_marks, pose.allowance.long_marks)
    yards = math.hypot(pose.allowance.right_yd, pose.allowance.long_yd)
    return yards * METRES_PER_YARD / marks if marks > LEAST_MARKS else flown_m


def _scene(
    caddie: Caddie, pose: Pose, shots: Shots, found: Allowances, paths: Paths, index: int
) -> ShotScene:
    mark = caddie.kit.mark.name
    charted = bool(caddie.kit_rack.rack.charted[shots.row[index]])
    scene = ShotScene(
        headline=headline(pose.allowance, mark=mark),
        shot=_shot_words(pose),
        mark=mark,
        mark_m=_mark_m(pose, float(found.mark_m[index])),
        distance_m=float(shots.distance_m[index]),
        height_m=float(shots.height_m[index]),
        aim=_spot(pose.allowance),
        margin=_spot(pose.margin),
        plays_m=pose.plays_yd * METRES_PER_YARD,
        wind_mps=float(shots.wind_mps[index]),
        wind_from_deg=float(shots.wind_from_deg[index]),
        room=pose.room if pose.room != Room() else None,
        spread=pose.spread,
        law="chart" if charted else "flight",
        units=pose.units,
        run=(run := _run(found.runs, index)),
    )
    if run is not None and scene.spread is not None:
        scene = replace(scene, spread=replace(scene.spread, centre=run.down))
    if not found.aims.solved[index]:
        return scene
    still = len(shots) + index
    return replace(
        scene,
        flight=_curve(paths, index),
        still=_curve(paths, still) if paths.landing.reached[still] else None,
        facts=pose.facts or _facts(paths, index),
    )


def _run(runs: Runs | None, index: int) -> Run | None:
    """What the ball does on the ground, where it is to finish at the target."""
    if runs is None or not (runs.asked[index] and runs.solved[index]):
        return None
    places = (
        (runs.landed_right_m, runs.landed_long_m),
        (runs.second_right_m, runs.second_long_m),
        (runs.rolls_right_m, runs.rolls_long_m),
        (runs.ends_right_m, runs.ends_long_m),
    )
    return Run(*(Spot(float(right[index]), float(long[index])) for right, long in places))


def _spot(offset: Offset) -> Spot:
    return Spot(offset.right_yd * METRES_PER_YARD, offset.long_yd * METRES_PER_YARD)


def _shot_words(pose: Pose) -> str:
    choice = pose.choice
    return " · ".join(
        [f"{choice.club} ({choice.grade})", f"{choice.ball} ball", *_extras(pose.shot)]
    )


def _extras(shot: Shot) -> list[str]:
    extras: list[str] = []
    if shot.curve is not None:
        extras.append(shot.curve.kind)
    for steps, plus, minus in (
        (shot.backspin, "backspin", "topspin"),
        (shot.sidespin, "right spin", "left spin"),
    ):
        if steps:
            extras.append(f"{plus if steps > 0 else minus} {abs(steps):g}")
    if shot.onto is not None:
        extras.append(f"onto {shot.onto}")
    return extras


def _paths(caddie: Caddie, shots: Shots, found: Allowances) -> Paths:
    """Paths of all shots in their winds, then of all in still air."""
    twice = np.tile(np.arange(len(shots)), 2)
    windy = np.repeat((1.0, 0.0), len(shots))
    rows = caddie.kit_rack.rack.take(shots.row[twice])
    launch = part_shot(
        full=rows.full,
        speed_factor=found.aims.speed_factor[twice],
        azimuth_rad=found.aims.azimuth_rad[twice],
        spin_factor=shots.spin_factor[twice],
        tilt_rad=shots.tilt_rad[twice],
    )
    wind = wind_vector(
        speed_mps=shots.wind_mps[twice] * rows.wind_share * windy,
        from_deg=shots.wind_from_deg[twice],
    )
    down_m = found.situations.height_m  # of where the ball comes down
    return trace(launch=launch, wind_mps=wind, height_m=down_m[twice], steps=STEPS)


def _curve(paths: Paths, index: int) -> Curve:
    along, up, right = (tuple(axis.tolist()) for axis in paths.position_m[:, :, index].round(3))
    return Curve(right_m=right, long_m=along, up_m=up)


def _facts(paths: Paths, index: int) -> Facts:
    landing = paths.landing
    return Facts(
        float(landing.apex_m[index]),
        float(landing.descent_deg[index]),
        float(landing.time_s[index]),
    )


async def answer_picture(
    pool: PicturePool,
    caddie: Caddie,
    answer: Answer,
    *,
    units: UnitSystem = "yards",
    room: Room | None = None,
    spread: Spread | None = None,
) -> Picture:
    """The picture of an answer: ``scene_of`` in a thread, then drawn by the pool."""
    scene = await asyncio.to_thread(scene_of, caddie, answer, units=units, room=room, spread=spread)
    return await pool.shot_picture(scene)


class PictureService:
    """Draws for members: their answers, lines, sheets and guides."""

    def __init__(
        self,
        *,
        pool: PicturePool,
        kits: Caddies,
        bags: BagCache,
    ) -> None:
        self.pool = pool
        self.kits = kits
        self.bags = bags

    async def question(self, community_id: int, member_id: int, text: str) -> Picture:
        """The picture of a wind question's answer. Errors: those of the question."""
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        shot = parse(text, kit=caddie.kit, units=bag.units, bag=bag)
        require_question(shot, text, kit=caddie.kit, units=bag.units)
        answer = await asyncio.to_thread(caddie.answer, shot=shot, bag=bag, given=text)
        spreads = caddie.believed.spreads
        return await self._picture(caddie, answer, bag.units, spreads)

    async def line(
        self, community_id: int, caddie: Caddie, line: AdaptedLine, units: UnitSystem
    ) -> list[Picture]:
        """Pictures of a line's shots; none where drawing fails, for the words are enough."""
        try:
            spreads = caddie.believed.spreads
            scenes = await asyncio.to_thread(line_scenes, caddie, line, units, spreads)
            return list(await asyncio.gather(*(self.pool.shot_picture(s) for s in scenes)))
        except EngineError:
            return []

    async def answers(
        self, community_id: int, answers: list[Answer], units: UnitSystem
    ) -> list[Picture]:
        """Pictures of some answers; none where drawing fails."""
        caddie = await self.kits.caddie(community_id)
        spreads = caddie.believed.spreads
        drawn = (self._picture(caddie, each, units, spreads) for each in answers[:MOST_PICTURES])
        try:
            return list(await asyncio.gather(*drawn))
        except EngineError:
            return []

    async def of_body(self, body: JsonObject) -> list[Picture]:
        """The pictures of a stored message. Errors: EngineError where drawing failed."""
        return list(await asyncio.gather(*(self.pool.bars(scene) for scene in bars_in(body))))

    async def _picture(
        self, caddie: Caddie, answer: Answer, units: UnitSystem, spreads: Spreads
    ) -> Picture:
        spread = spreads.get((answer.club, answer.grade))
        return await answer_picture(self.pool, caddie, answer, units=units, spread=spread)
