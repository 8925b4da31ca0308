"""The law's fingerprint, the features of kept results, and reference shots."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from bot.services.caddie.rack import build_rack
from engine.aerodynamics import SMITS_SMITH
from engine.law import Shots, allow
from engine.motion import STANDARD_AIR
from engine.response import posterior_from_sums, predict
from engine.response_features import ALONG, features
from engine.response_refer import (
    Reference,
    joined_stamp,
    kept_features,
    reference_effects,
    row_stamps,
)
from engine.response_sums import Sums
from shared.kit import Club, Kit
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.kits import demo_caddie, kit_with
from tests.unit.response_shots import plain_tree

RACK = demo_caddie().kit_rack.rack


def test_a_stamp_changes_with_the_law_of_its_row_alone() -> None:
    before = row_stamps(RACK)
    assert before == row_stamps(replace(RACK)) and len(set(before)) > len(RACK) / 2
    full_m = RACK.full_m.copy()
    full_m[7] *= 1.001
    after = row_stamps(replace(RACK, full_m=full_m))
    assert [i for i, pair in enumerate(zip(before, after, strict=True)) if pair[0] != pair[1]] == [
        7
    ]
    air = replace(STANDARD_AIR, law=SMITS_SMITH)
    assert not set(before) & set(row_stamps(RACK, air=air))
    denser = replace(STANDARD_AIR, density_kgpm3=1.1)
    assert not set(before) & set(row_stamps(RACK, air=denser))
    # What only differs in the last place is the same law; marks are the law's on a chart alone.
    assert row_stamps(replace(RACK, full_m=RACK.full_m * (1 + 1e-12))) == before
    assert row_stamps(replace(RACK, mark_full_m=RACK.mark_full_m * 2)) == before
    near = row_stamps(replace(RACK, full_m=RACK.full_m * (1 + 5e-7)))
    rounded_apart = sum(a != b for a, b in zip(near, before, strict=True))
    assert rounded_apart < len(RACK) / 3


def test_a_chart_is_another_law_and_so_are_its_marks() -> None:
    charted = kit_with(club="6-iron", chart=((0.5, 0.8), (1.0, 1.1)))
    kit_rack = build_rack(charted)
    found, plain = row_stamps(kit_rack.rack), row_stamps(RACK)
    changed = {kit_rack.keys[i][0] for i in range(len(found)) if found[i] != plain[i]}
    assert changed == {"6-iron"}
    more = replace(kit_rack.rack, chart_marks_per_mph=kit_rack.rack.chart_marks_per_mph * 1.1)
    wider = replace(kit_rack.rack, mark_full_m=kit_rack.rack.mark_full_m * 1.1)
    for other in (more, wider):
        again = row_stamps(other)
        assert {kit_rack.keys[i][0] for i in range(len(found)) if found[i] != again[i]} == {
            "6-iron"
        }


def test_another_clubs_longer_chart_is_no_other_law() -> None:
    """Charts are padded to the longest; a row's own last point counts, the padding does not."""
    short = {"club": "6-iron", "chart": ((0.5, 0.8), (1.0, 1.1))}
    kit = kit_with(**short)
    long = ((0.5, 0.6), (0.6, 0.7), (0.8, 0.8), (1.0, 1.2))
    clubs = [
        each.model_copy(update={"chart": long}) if each.name == "8-iron" else each
        for each in kit.clubs
    ]
    beside = build_rack(Kit.model_validate(kit.model_dump() | {"clubs": clubs_of(clubs)}))
    alone = build_rack(kit)
    before, after = row_stamps(alone.rack), row_stamps(beside.rack)
    assert beside.rack.chart_share.shape[1] == 4 > alone.rack.chart_share.shape[1] == 2
    changed = {alone.keys[i][0] for i in range(len(before)) if before[i] != after[i]}
    assert changed == {"8-iron"}
    last = build_rack(kit_with(club="8-iron", chart=(*long[:-1], (1.0, 1.3))))
    ends = row_stamps(last.rack)
    eights = [i for i, key in enumerate(beside.keys) if key[0] == "8-iron"]
    assert len(eights) > 1 and all(after[i] != ends[i] for i in eights)


def clubs_of(clubs: list[Club]) -> list[dict[str, Any]]:
    return [club.model_dump() for club in clubs]


def test_stamps_join_in_any_order() -> None:
    assert joined_stamp(["ab", "c"]) == joined_stamp(["c", "ab"]) != joined_stamp(["a", "bc"])
    assert len(joined_stamp(["ab"])) == 12


def asked(count: int) -> Shots:
    return Shots(
        row=np.arange(count) % len(RACK),
        distance_m=0.9 * RACK.full_m[np.arange(count) % len(RACK)],
        height_m=np.linspace(-6.0, 5.0, count),
        wind_mps=np.linspace(0.0, 6.0, count),
        wind_from_deg=np.linspace(0.0, 300.0, count),
        spin_factor=np.ones(count),
        tilt_rad=np.zeros(count),
    )


def test_kept_results_get_the_features_of_the_law_of_today() -> None:
    shots = asked(9)
    phi, known = kept_features(rack=RACK, shots=shots)
    found = allow(rack=RACK, shots=shots, over_full=0.1)
    np.testing.assert_allclose(phi.along[:, 0], -found.law_long_m, atol=1e-12)
    np.testing.assert_allclose(phi.across[:, 0], -found.law_right_m, atol=1e-12)
    np.testing.assert_allclose(phi.along[:, ALONG.index("height")], shots.height_m)
    np.testing.assert_allclose(phi.along[:, ALONG.index("share")], 0.05, atol=1e-12)
    assert known.all()
    storm = shots.with_wind(wind_mps=np.full(9, 70.0), wind_from_deg=np.full(9, 95.0))
    assert not kept_features(rack=RACK, shots=storm)[1].all()


def test_reference_shots_say_what_an_answer_says() -> None:
    posterior = posterior_from_sums(Sums.zero(grades=5), plain_tree())
    posterior.along.mean[2, ALONG.index("law")] = 1.2
    posterior.along.mean[2, ALONG.index("height")] = 0.3
    posterior.along.mean[2, ALONG.index("offset")] = -0.5
    posterior.along.mean[4, ALONG.index("height")] = -0.1
    rows = [3, 8]
    found = reference_effects(rack=RACK, rows=rows, posterior=posterior, grade=[2, 4])
    for i, (row, grade) in enumerate(zip(rows, (2, 4), strict=True)):
        for kind, from_deg, axis in (
            (Reference.INTO, 0.0, 0),
            (Reference.HELPING, 180.0, 0),
            (Reference.ACROSS, 90.0, 1),
        ):
            shot = Shots(
                row=np.array([row]),
                distance_m=RACK.full_m[[row]],
                height_m=np.zeros(1),
                wind_mps=np.array([10 * MPS_PER_MPH]),
                wind_from_deg=np.array([from_deg]),
                spin_factor=np.ones(1),
                tilt_rad=np.zeros(1),
            )
            answer = allow(rack=RACK, shots=shot, over_full=0.3)
            law = (answer.law_long_m, answer.law_right_m)[axis][0]
            said = predict(posterior.response([grade]), features(answer.situations))
            assert found.computed_m[i, kind] == pytest.approx(law, abs=1e-6)
            assert found.learned_m[i, kind] == pytest.approx(-said.effect_m[0, axis], abs=1e-6)
            assert found.half_m[i, kind] == pytest.approx(said.half_m[0, axis], rel=1e-6)
    calm = Shots(
        row=np.array(rows),
        distance_m=RACK.full_m[rows],
        height_m=np.full(2, 10.0 * METRES_PER_YARD),
        wind_mps=np.zeros(2),
        wind_from_deg=np.zeros(2),
        spin_factor=np.ones(2),
        tilt_rad=np.zeros(2),
    )
    up_m = allow(rack=RACK, shots=calm, over_full=0.3).plays_m - RACK.full_m[rows]
    assert (up_m > 4.0).all() and (up_m < 20.0).all()
    np.testing.assert_allclose(found.computed_m[:, Reference.UP], up_m, atol=0.02)
    step = found.learned_m[:, Reference.UP] - found.computed_m[:, Reference.UP]
    np.testing.assert_allclose(step, np.array([-0.3, 0.1]) * 10 * METRES_PER_YARD, atol=1e-9)
    sd = np.sqrt(posterior.along.cov[2, ALONG.index("height"), ALONG.index("height")])
    half = 1.6448536 * sd * 10 * METRES_PER_YARD
    assert found.half_m[0, Reference.UP] == pytest.approx(half, rel=1e-6)
    assert found.shots.tolist() == [[0, 0, 0, 0]] * 2
