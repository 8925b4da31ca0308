"""A club's gain as a picture: gain with interval over the shots, and what is left over."""

from bot.drawing.trust_scene import GainScene, GainTrack, Residual
from bot.services.learning.report import ClubReport, Step
from shared.units import UnitSystem


def gain_scene(report: ClubReport, units: UnitSystem) -> GainScene | None:
    """The scene of a club's report, None with fewer than two shots or with all set aside."""
    if not report.track or not any(shot.weight > 0 for shot in report.shots):
        return None
    first = report.track[-1].shots - len(report.shots)
    return GainScene(
        title=f"{report.club}: what the wind does to it here",
        subtitle=f"{report.track[-1].shots} shots of the group",
        across=_track(report.track, [step.across for step in report.track]),
        along=_track(report.track, [step.along for step in report.track]),
        residuals=tuple(
            Residual(max(first, 0) + n, shot.residual_right_m, shot.residual_long_m)
            for n, shot in enumerate(report.shots, start=1)
            if shot.weight > 0
        ),
        interval="90% interval",
        units=units,
    )


def _track(steps: tuple[Step, ...], gains: list[tuple[float, float, float]]) -> GainTrack:
    return GainTrack(
        shots=tuple(step.shots for step in steps),
        gain=tuple(gain for gain, _, _ in gains),
        low=tuple(low for _, low, _ in gains),
        high=tuple(high for _, _, high in gains),
    )
