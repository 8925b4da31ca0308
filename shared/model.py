"""The base of every model: frozen, strict about unknown fields, no NaN and no infinity."""

from pydantic import BaseModel, ConfigDict


class Model(BaseModel):
    """An immutable value; an unknown field or a number that is not finite is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
