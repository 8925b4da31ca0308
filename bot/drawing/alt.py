"""Alt texts: what a picture shows, in words, for those who don't see it."""

from bot.drawing.bars import percent
from bot.drawing.scene import Run, ShotScene
from bot.drawing.sheet_scene import SheetScene
from bot.drawing.trust_scene import BarsScene, ChancesScene, GameScene
from bot.drawing.wording import clock, downwind, manner, metres
from engine.response import HALF_WIDTH_90
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import listed, offset_in, plural, speed

CALM_MPS = 0.05  # shown as 0.0
LONGEST = 1000  # Discord takes 1024


def shot_alt(scene: ShotScene) -> str:
    """A shot picture in words."""
    units = scene.units
    aim = _yards(scene.aim.right_m, scene.aim.long_m, units)
    exact = "" if aim == "none" else f" ({aim})"
    sentences = [
        f"{scene.headline}{exact}.",
        f"{scene.shot}, {metres(scene.distance_m, units, 0)}{_height(scene)}; "
        f"plays {metres(scene.plays_m, units, 0)}.",
        wind_sentence(scene.wind_mps, scene.wind_from_deg, units),
        _from_above(scene),
        _from_the_side(scene),
        _room(scene),
        _spread(scene),
        _margin(scene),
    ]
    return _joined(sentences)


def wind_sentence(wind_mps: float, from_deg: float, units: UnitSystem) -> str:
    """'Wind 8.4 mph from 2 o'clock, into and off the right; its arrow points to 8 o'clock.'"""
    if wind_mps < CALM_MPS:
        return "No wind."
    return (
        f"Wind {speed(wind_mps, units)} from {clock(from_deg)}, {manner(from_deg)}; "
        f"its arrow points to {clock(downwind(from_deg))}."
    )


def bars_alt(scene: BarsScene) -> str:
    """A bars picture in words."""
    rows = [
        f"{bar.label}: {percent(bar)}" + (f", {bar.note}" if bar.note else "") for bar in scene.bars
    ]
    if not rows:
        return _joined([_ended(scene.title), "Nothing counted yet."])
    return _joined(
        [f"{_ended(scene.title)} {scene.subtitle}.", f"Bars with their {scene.interval}."]
        + [f"{row}." for row in rows]
    )


def game_alt(scene: GameScene) -> str:
    """What the game does with a club, in words."""
    sentences = [f"{scene.title}. {scene.subtitle}."]
    sentences += [f"{row.label}: {row.words} ({scene.interval})." for row in scene.rows]
    if scene.residuals:
        count = len(scene.residuals)
        right = sum(abs(each.right_m) for each in scene.residuals) / count
        long = sum(abs(each.long_m) for each in scene.residuals) / count
        sentences.append(
            f"Left over per shot, on average: {metres(right, scene.units)} across, "
            f"{metres(long, scene.units)} along."
        )
    return _joined(sentences)


def chances_alt(scene: ChancesScene) -> str:
    """A reliability diagram in words."""
    rows = [
        f"Given {each.given:.1%}: {each.holed:.1%} of {plural(each.tries, 'shot')} went in "
        f"({each.low:.1%} to {each.high:.1%})."
        for each in scene.bins
    ]
    return _joined([f"{scene.title}. {scene.subtitle}; {scene.interval}.", *rows])


def sheet_alt(scene: SheetScene) -> str:
    """A wind sheet in words: what it holds, and one cell of it read out."""
    speeds = listed([speed(each, scene.units) for each in scene.speeds_mps], "and")
    names = listed([f"{b.club} {metres(b.carry_m, scene.units, 0)}" for b in scene.blocks], "and")
    return _joined(
        [
            f"{scene.title}. {scene.subtitle}.",
            f"For winds of {speeds} from every hour of the clock, {scene.mark}s to aim off across "
            f"and along.",
            scene.read_out(),
            f"Set-ups: {names}.",
        ]
    )


def _yards(right_m: float, long_m: float, units: UnitSystem) -> str:
    return offset_in(units, right_yd=right_m / METRES_PER_YARD, long_yd=long_m / METRES_PER_YARD)


def _height(scene: ShotScene) -> str:
    if not scene.height_m:
        return ""
    way = "up" if scene.height_m > 0 else "down"
    return f" to a target {metres(abs(scene.height_m), scene.units)} {way}"


def _from_above(scene: ShotScene) -> str:
    if scene.flight is None:
        return "The flight is not drawn: the chart answers beyond what can be flown."
    if scene.run is not None:
        return _run(scene, scene.run)
    drift = _yards(-scene.aim.right_m, -scene.aim.long_m, scene.units)
    if drift == "none":
        return "Seen from behind the ball: it comes down on the target with no drift."
    chart = " by the coach's chart" if scene.law == "chart" else ""
    return (
        "Seen from behind the ball: without wind it would land at the aim point; the wind moves "
        f"it {drift}{chart}, onto the target."
    )


def _run(scene: ShotScene, run: Run) -> str:
    down = _yards(run.down.right_m, run.down.long_m, scene.units)
    where = "on the target" if down == "none" else f"{down} of the target"
    drift = _yards(
        run.down.right_m - scene.aim.right_m, run.down.long_m - scene.aim.long_m, scene.units
    )
    moved = "" if drift == "none" else f" The wind moves it {drift} from the aim point."
    return (
        f"Seen from behind the ball: it comes down {where}, bounces and rolls to the target.{moved}"
    )


def _from_the_side(scene: ShotScene) -> str:
    facts = scene.facts
    if facts is None:
        return ""
    apex = metres(facts.apex_m, scene.units, 0)
    return (
        f"From the side: apex {apex}, lands at {facts.landing_deg:.0f}° "
        f"after {facts.time_s:.1f} s in the air."
    )


def _room(scene: ShotScene) -> str:
    room = scene.room
    if room is None:
        return ""
    edges = (
        (room.short_yd, "short"),
        (room.long_yd, "long"),
        (room.left_yd, "left"),
        (room.right_yd, "right"),
    )
    words = [
        f"{metres(edge * METRES_PER_YARD, scene.units, 0)} {way}"
        for edge, way in edges
        if edge is not None
    ]
    return f"Room: {listed(words, 'and')}." if words else ""


def _spread(scene: ShotScene) -> str:
    spread = scene.spread
    if spread is None:
        return ""
    across, along = (
        metres(HALF_WIDTH_90 * sd, scene.units) for sd in (spread.right_sd_m, spread.long_sd_m)
    )
    return (
        f"The spread of {plural(spread.shots, 'shot')} with this club and grade: nine in ten "
        f"within {across} across and within {along} along; if misses are normal, about half land "
        "in the ellipse."
    )


def _margin(scene: ShotScene) -> str:
    across, along = (metres(v, scene.units) for v in (scene.margin.right_m, scene.margin.long_m))
    if scene.margin.right_m == scene.margin.long_m == 0:
        return ""
    return f"Margin: ± {across} across, ± {along} along (90%)."


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith(("?", "!", ".", "…")) else f"{sentence}."


def _joined(sentences: list[str]) -> str:
    text = " ".join(sentence for sentence in sentences if sentence)
    return text if len(text) <= LONGEST else text[: LONGEST - 1].rstrip() + "…"
