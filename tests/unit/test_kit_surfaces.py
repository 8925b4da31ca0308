"""The kit's grounds: defaults of every kind, and what a file may say of them."""

import pytest

from shared.kit import Kit, Surface
from shared.kit_file import FileProblemsError, read_kit
from tests.kits import DEMO_KIT, demo_kit


def with_surfaces(text: str) -> Kit:
    """The demo's kit with tables of surfaces at its end."""
    return read_kit(DEMO_KIT.read_text(encoding="utf-8") + text, file="kit.toml")


def test_a_kit_that_says_nothing_has_every_kind() -> None:
    kit = demo_kit()
    assert kit.surfaces == ()
    green, fairway, rough, sand = (
        kit.surface(kind) for kind in ("green", "fairway", "rough", "sand")
    )
    assert green.stimp_ft == 10.0 and green.spread == 1.0
    assert green.stimp_ft > fairway.stimp_ft > rough.stimp_ft > sand.stimp_ft
    assert rough.spread > fairway.spread and rough.spin_share < 1
    assert green.rises_percent == 0.0


def test_what_a_file_says_of_a_ground_is_kept_beside_the_kinds_defaults() -> None:
    kit = with_surfaces(
        '\n[[surfaces]]\nkind = "rough"\ncarry_share = 0.85\n'
        '\n[[surfaces]]\nkind = "green"\nstimp_ft = 11.5\nrises_right_percent = -2\n'
    )
    rough, green = kit.surface("rough"), kit.surface("green")
    assert (rough.carry_share, rough.firmness, rough.stimp_ft) == (0.85, 0.6, 1.6)
    assert (green.stimp_ft, green.rises_right_percent, green.firmness) == (11.5, -2.0, 1.0)
    assert kit.surface("sand") == Surface(kind="sand")
    assert Kit.model_validate(kit.model_dump()) == kit
    assert Kit.model_validate_json(kit.model_dump_json()) == kit


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('kind = "water"\n', "kind"),
        ('kind = "green"\nstimp_ft = 0\n', "stimp_ft"),
        ('kind = "green"\nspeed = 11\n', "speed"),
        ("firmness = 0.8\n", "kind"),
    ],
)
def test_what_is_wrong_is_named(table: str, words: str) -> None:
    with pytest.raises(FileProblemsError) as raised:
        with_surfaces(f"\n[[surfaces]]\n{table}")
    assert words in str(list(raised.value.problems))


def test_a_kind_described_twice_is_refused() -> None:
    with pytest.raises(FileProblemsError) as raised:
        with_surfaces('\n[[surfaces]]\nkind = "green"\n\n[[surfaces]]\nkind = "green"\n')
    assert "twice" in str(list(raised.value.problems))
