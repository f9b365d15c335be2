"""The tables of a build profile: container, steps, finished weight and confirms."""

from __future__ import annotations

from typing import Final, Literal, Self

from pydantic import Field, model_validator

from scaled.core.profile_fields import (
    Density,
    Line,
    Slug,
    Table,
    Tolerance,
    Volume,
    Weight,
    broken_rule,
)
from scaled.core.tool import Tool

DEFAULT_TOLERANCE: Final = 0.10
"""Share of the target allowed either way when a step says nothing (our convention)."""


class Container(Table):
    """What the build stands in."""

    name: Line = Field(description="What it is.", examples=["paper bowl, 750 mL"])
    tare_g: Weight = Field(alias="tare", description="Its empty weight.", examples=["18 g"])
    tare_tolerance_g: Tolerance | None = Field(
        default=None,
        alias="tare_tolerance",
        description="How far an empty one may be off, either way.",
        examples=["2 g"],
    )
    brimful_ml: Volume | None = Field(
        default=None,
        alias="brimful",
        description="What it holds to the brim; checks the fill.",
        examples=["750 mL"],
    )


class OtherContainer(Table):
    """Another container that the kitchen owns and that may be set down in its place."""

    name: Line = Field(description="What it is.", examples=["dine-in bowl"])
    tare_g: Weight = Field(alias="tare", description="Its empty weight.", examples=["310 g"])
    tare_tolerance_g: Tolerance | None = Field(
        default=None,
        alias="tare_tolerance",
        description="How far an empty one may be off, either way.",
        examples=["8 g"],
    )
    accepted: bool = Field(
        default=False,
        description="True when this dish may be built in it too; otherwise it is a mistake.",
        examples=[True],
    )


class Step(Table):
    """One ingredient of the build, in its place in the order."""

    id: Slug = Field(description="Short name, unique in this file.", examples=["barley"])
    ingredient: Line = Field(
        description="What the cook reads.", examples=["pearl barley, steamed"]
    )
    target_g: Weight = Field(
        alias="target", description="The portion's weight.", examples=["128 g", "4.5 oz"]
    )
    written_under_g: Tolerance | None = Field(
        default=None,
        alias="under",
        description="How far below still passes, inclusive; default 10 % of the target.",
        examples=["9 g"],
    )
    written_over_g: Tolerance | None = Field(
        default=None,
        alias="over",
        description="How far above still passes, inclusive; default 10 % of the target.",
        examples=["9 g"],
    )
    scoops: int = Field(
        default=1, gt=0, le=50, description="Gestures that make the target.", examples=[3]
    )
    tool: Tool | None = Field(
        default=None, description="What portions it.", examples=[{"kind": "disher", "number": 20}]
    )
    density_g_per_ml: Density | None = Field(
        default=None,
        alias="density",
        description="As it lies in the tool; enables the checks of scoops and fill.",
        examples=["0.72 g/mL"],
    )
    position: Line | None = Field(
        default=None, description="Where in the hand-off it belongs.", examples=["hot line"]
    )
    batch: Slug | None = Field(
        default=None, description="Prep card it draws on.", examples=["steamed-barley"]
    )
    allergens: tuple[Line, ...] = Field(
        default=(), strict=False, description="Allergens it brings.", examples=[["gluten"]]
    )
    say: Line | None = Field(
        default=None,
        description="Coaching line: how to do it.",
        examples=["Stir, scoop, level on the pan edge."],
    )
    never: Line | None = Field(
        default=None, description="Caution: what not to do.", examples=["Do not press it down."]
    )

    @property
    def under_g(self) -> float:
        """How far below the target still passes, g; inclusive."""
        return _or_default(self.written_under_g, self.target_g)

    @property
    def over_g(self) -> float:
        """How far above the target still passes, g; inclusive."""
        return _or_default(self.written_over_g, self.target_g)

    @model_validator(mode="after")
    def _under_fits(self) -> Self:
        if self.under_g > self.target_g:
            raise broken_rule("under", "larger than the target; make it smaller")
        return self


class Finished(Table):
    """The finished weight as the written standard gives it."""

    weight_g: Weight = Field(
        alias="weight", description="Weight of the finished build.", examples=["405 g"]
    )
    written_under_g: Tolerance | None = Field(
        default=None,
        alias="under",
        description="How far below still passes; default: the steps' in quadrature.",
        examples=["14 g"],
    )
    written_over_g: Tolerance | None = Field(
        default=None,
        alias="over",
        description="How far above still passes; default: the steps' in quadrature.",
        examples=["14 g"],
    )
    includes_container: bool = Field(
        default=False,
        description="True when the written weight counts the container in.",
        examples=[False],
    )


class Confirm(Table):
    """A check no scale can see."""

    id: Slug = Field(description="Short name, unique among the confirms.", examples=["lid"])
    ask: Line = Field(description="What to look at.", examples=["Lid closed all round"])
    when: Literal["always", "takeaway", "dine-in"] = Field(
        default="always", description="Which orders it applies to.", examples=["takeaway"]
    )


def _or_default(written_g: float | None, target_g: float) -> float:
    return DEFAULT_TOLERANCE * target_g if written_g is None else written_g
