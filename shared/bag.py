"""The bag: the grades, the ball and the units one member uses in one community."""

from pydantic import Field, field_validator

from shared.model import Model
from shared.units import UnitSystem


class Bag(Model):
    """Grades by club name, a ball and the units; what is not set is the kit's default.

    ``private``: the member wants answers shown to them alone.
    """

    grades: dict[str, str] = Field(default_factory=dict)
    ball: str | None = None
    units: UnitSystem = "yards"
    private: bool = False

    @field_validator("grades")
    @classmethod
    def _sane(cls, grades: dict[str, str]) -> dict[str, str]:
        if len(grades) > 100:
            raise ValueError("a bag holds at most 100 clubs")
        return dict(sorted(grades.items()))
