"""The shape of a saved mapping, as a strict pydantic model; imported only when one is read."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Role = Literal["time", "date", "kind", "name", "state"]
Meaning = Literal[
    "block", "turnout", "feedback", "power", "train",
    "occupied", "clear", "thrown", "closed", "commanded", "confirmed", "trip", "restore",
]  # fmt: skip
Column = Annotated[int, Field(ge=0, le=999)] | Annotated[str, Field(min_length=1, max_length=100)]


class MappingShape(BaseModel):
    """How a log is to be read."""

    model_config = ConfigDict(extra="forbid", strict=True)

    log_columns: Literal[1] = Field(alias="log-columns")
    columns: dict[Role, Column] = {}
    delimiter: (
        Annotated[str, Field(min_length=1, max_length=9, pattern=r"^(tab|semicolon|pipe|comma|[^\s\"])$")] | None
    ) = None
    encoding: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{1,30}$")] | None = None
    header: Literal["yes", "no"] | None = None
    times: Annotated[str, Field(min_length=1, max_length=60)] | None = None
    zone: Annotated[str, Field(min_length=1, max_length=60)] | None = None
    kind: Literal["block", "turnout", "feedback", "power", "train"] | None = None
    words: dict[str, Meaning] = {}
    names: dict[str, str] = {}
