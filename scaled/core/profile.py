"""The build profile: how one dish is built to standard (file contract, schema 1).

A profile is written in TOML with units people use; here every weight is grams, every volume
millilitres, every density grams per millilitre. Reading the file itself is
:mod:`scaled.catalogue`'s job: this module only sees its text.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Final, Literal, Self

from pydantic import BaseModel, Field, ValidationError, model_validator

from scaled.core.errors import ProfileError
from scaled.core.profile_error import explain
from scaled.core.profile_fields import Line, Slug, Table, Weight, broken_rule
from scaled.core.profile_parts import Confirm, Container, Finished, OtherContainer, Step
from scaled.core.tool import TOOL_KINDS

__all__ = [
    "BuildProfile",
    "Confirm",
    "Container",
    "Finished",
    "Line",
    "OtherContainer",
    "Step",
    "Weight",
    "parse_profile",
]


class BuildProfile(Table):
    """One dish, container to finish."""

    schema_: Literal[1] = Field(
        alias="schema", description="Version of this contract.", examples=[1]
    )
    id: Slug = Field(
        description="Name of the dish for programs; also the file's name.",
        examples=["winter-barley-bowl"],
    )
    title: Line = Field(description="Name for people.", examples=["Winter barley bowl"])
    revision: Line = Field(description="Edition of the written standard.", examples=["3"])
    acceptance: Literal["simple", "guarded"] = Field(
        default="simple",
        description="How a weight passes: simple, inside the limits; guarded, inside them by"
        " twice its standard uncertainty.",
        examples=["guarded"],
    )
    container: Container
    other_containers: tuple[OtherContainer, ...] = Field(
        default=(),
        alias="other_container",
        max_length=20,
        strict=False,
        description="Other containers the station is to know by their weight.",
    )
    steps: tuple[Step, ...] = Field(
        alias="step",
        min_length=1,
        max_length=60,
        strict=False,
        description="The ingredients in the order they are added.",
    )
    finished: Finished | None = None
    confirms: tuple[Confirm, ...] = Field(
        default=(), alias="confirm", strict=False, description="Checks answered by a person."
    )

    @model_validator(mode="after")
    def _ids_differ(self) -> Self:
        for table, parts in (("step", self.steps), ("confirm", self.confirms)):
            _refuse_twins(table, [part.id for part in parts])
        return self

    @model_validator(mode="after")
    def _containers_differ(self) -> Self:
        names = [self.container.name, *(other.name for other in self.other_containers)]
        for place, name in enumerate(names[1:], 1):
            if name in names[:place]:
                key = f"other_container {place} ({name}), name"
                raise broken_rule(key, "another container has this name too; give each its own")
        return self

    @model_validator(mode="after")
    def _finished_fits(self) -> Self:
        if self.finished_net_g <= 0:
            raise broken_rule("finished, weight", "the container alone is heavier; correct one")
        written = self.finished.written_under_g if self.finished else None
        if written is not None and written > self.finished_net_g:
            raise broken_rule("finished, under", "larger than the weight; make it smaller")
        return self

    @property
    def portions_g(self) -> float:
        """Sum of the steps' targets, g."""
        return math.fsum(step.target_g for step in self.steps)

    @property
    def finished_net_g(self) -> float:
        """Finished weight without the container, g."""
        if self.finished is None:
            return self.portions_g
        counted_in = self.container.tare_g if self.finished.includes_container else 0.0
        return self.finished.weight_g - counted_in

    @property
    def finished_under_g(self) -> float:
        """How far below the finished weight still passes, g; default in quadrature."""
        written = self.finished.written_under_g if self.finished else None
        return math.hypot(*(s.under_g for s in self.steps)) if written is None else written

    @property
    def finished_over_g(self) -> float:
        """How far above the finished weight still passes, g; default in quadrature."""
        written = self.finished.written_over_g if self.finished else None
        return math.hypot(*(s.over_g for s in self.steps)) if written is None else written


_TABLES: Final[Mapping[tuple[str, ...], type[BaseModel]]] = {
    (): BuildProfile,
    ("container",): Container,
    ("other_container",): OtherContainer,
    ("step",): Step,
    **{("step", "tool", kind): model for kind, model in TOOL_KINDS.items()},
    ("finished",): Finished,
    ("confirm",): Confirm,
}
_TOML_PLACE: Final = re.compile(r" \(at (.+)\)$")


def parse_profile(text: str, where: str) -> BuildProfile:
    """Read a profile from its TOML text.

    Args:
        text: The whole file.
        where: Its name, for the error line.

    Raises:
        ProfileError: Not TOML, or it breaks the contract; names the key and the reason.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        said, place, *_ = [*_TOML_PLACE.split(str(err)), ""]
        raise ProfileError(where, place, f"not TOML: {said[:1].lower()}{said[1:]}") from err
    except (RecursionError, ValueError) as err:
        raise ProfileError(
            where, "", "not readable: nested too deep, or a number too long"
        ) from err
    try:
        return BuildProfile.model_validate(data)
    except ValidationError as err:
        raise ProfileError(where, *explain(err, data, _TABLES)) from err


def _refuse_twins(table: str, ids: Sequence[str]) -> None:
    for place, name in enumerate(ids):
        first = ids.index(name)
        if first < place:
            key = f"{table} {place + 1} ({name}), id"
            raise broken_rule(key, f"{table} {first + 1} has this id too; give each its own")
