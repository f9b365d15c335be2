"""The build profile: how one dish is built to standard (file contract, schema 1).

A profile is written in TOML with units people use; here every weight is grams, every volume
millilitres, every density grams per millilitre. Reading the file itself is
:mod:`scaled.catalogue`'s job: this module only sees its text.
"""

from __future__ import annotations

import math
import tomllib
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    WithJsonSchema,
    model_validator,
)

from scaled.core.errors import ProfileError
from scaled.core.units import QUART_ML, parse_density, parse_volume, parse_weight

SCHEMA = 1
DEFAULT_TOLERANCE = 0.10
"""Share of the target allowed either way when a step says nothing (our convention)."""


def _quantity(parse: Any, example: str) -> tuple[BeforeValidator, WithJsonSchema]:  # noqa: ANN401
    def read(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f'write it in quotes with its unit, such as "{example}"')  # noqa: TRY004
        return float(parse(value))

    schema = {"type": "string", "examples": [example], "pattern": r"^\s*[+-]?\d+(\.\d+)?\s*\S+"}
    return BeforeValidator(read), WithJsonSchema(schema)


_WEIGHT = _quantity(parse_weight, "128 g")
_VOLUME = _quantity(parse_volume, "60 mL")
_DENSITY = _quantity(parse_density, "0.72 g/mL")

Weight = Annotated[float, *_WEIGHT, Field(gt=0)]
Tolerance = Annotated[float, *_WEIGHT, Field(ge=0)]
Volume = Annotated[float, *_VOLUME, Field(gt=0)]
Density = Annotated[float, *_DENSITY, Field(gt=0)]
Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Disher(_Part):
    """A numbered scoop: the number is how many level scoopfuls fill one US quart."""

    kind: Literal["disher"]
    number: int = Field(gt=0, le=200)
    fill: Literal["level", "rounded"] = "level"

    @property
    def volume_ml(self) -> float:
        """Level volume in mL."""
        return QUART_ML / self.number


class Measure(_Part):
    """A portioning spoon, ladle or cup of known level volume."""

    kind: Literal["spoodle", "ladle", "cup"]
    volume_ml: Volume = Field(alias="volume")
    fill: Literal["level", "rounded"] = "level"


class Fingers(_Part):
    """Portioned by hand."""

    kind: Literal["fingers"]


class Packet(_Part):
    """Factory-filled packets."""

    kind: Literal["packet"]
    count: int = Field(default=1, gt=0, le=100)


Tool = Annotated[Disher | Measure | Fingers | Packet, Field(discriminator="kind")]


class Container(_Part):
    """What the build stands in."""

    name: Line
    tare_g: Weight = Field(alias="tare")
    tare_tolerance_g: Tolerance | None = Field(default=None, alias="tare_tolerance")
    brimful_ml: Volume | None = Field(default=None, alias="brimful")


class Step(_Part):
    """One ingredient of the build, in its place in the order."""

    id: Slug
    ingredient: Line
    target_g: Weight = Field(alias="target")
    written_under_g: Tolerance | None = Field(default=None, alias="under")
    written_over_g: Tolerance | None = Field(default=None, alias="over")
    scoops: int = Field(default=1, gt=0, le=50)
    tool: Tool | None = None
    density_g_per_ml: Density | None = Field(default=None, alias="density")
    position: Line | None = None
    batch: Slug | None = None
    allergens: tuple[Line, ...] = Field(default=(), strict=False)
    say: Line | None = None
    never: Line | None = None

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
            raise ValueError("under: the tolerance is larger than the target; make it smaller")
        return self


class Finished(_Part):
    """The finished weight as the written standard gives it."""

    weight_g: Weight = Field(alias="weight")
    written_under_g: Tolerance | None = Field(default=None, alias="under")
    written_over_g: Tolerance | None = Field(default=None, alias="over")
    includes_container: bool = False


class Confirm(_Part):
    """A check no scale can see."""

    id: Slug
    ask: Line
    when: Literal["always", "takeaway", "dine-in"] = "always"


class BuildProfile(_Part):
    """One dish, container to finish."""

    schema_: Literal[1] = Field(alias="schema")
    id: Slug
    title: Line
    revision: Line
    container: Container
    steps: tuple[Step, ...] = Field(alias="step", min_length=1, max_length=60, strict=False)
    finished: Finished | None = None
    confirms: tuple[Confirm, ...] = Field(default=(), alias="confirm", strict=False)

    @model_validator(mode="after")
    def _ids_differ(self) -> Self:
        for kind, ids in (
            ("step", [step.id for step in self.steps]),
            ("confirm", [confirm.id for confirm in self.confirms]),
        ):
            twice = next((name for name in ids if ids.count(name) > 1), None)
            if twice:
                raise ValueError(f'{kind}: the id "{twice}" is used twice; give each its own')
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


def parse_profile(text: str, where: str) -> BuildProfile:
    """Read a profile from its TOML text.

    Args:
        text: The whole file.
        where: Its name, for the error line.

    Raises:
        ProfileError: Not TOML, or it breaks the contract; names the key and the reason.
    """
    try:
        return BuildProfile.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as err:
        raise ProfileError(where, "", f"not readable as TOML: {err}") from err
    except ValidationError as err:
        first = err.errors(include_url=False)[0]
        raise ProfileError(where, _spell(first["loc"]), _reason(dict(first))) from err


def _or_default(written_g: float | None, target_g: float) -> float:
    return DEFAULT_TOLERANCE * target_g if written_g is None else written_g


def _spell(loc: tuple[int | str, ...]) -> str:
    """Spell a place as the author sees it: ``step 2, tool, number``."""
    words: list[str] = []
    for part in loc:
        if isinstance(part, int):
            words[-1] += f" {part + 1}"
        elif part not in {"disher", "spoodle", "ladle", "cup", "fingers", "packet"}:
            words.append(part)
    return ", ".join(words)


_REASONS = {
    "extra_forbidden": "unknown key; remove it or correct its spelling",
    "missing": "missing; add it",
    "too_short": "there is none; a profile needs at least one",
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must not be negative",
    "string_pattern_mismatch": "use lower-case letters, digits and single hyphens",
}


def _reason(error: dict[str, Any]) -> str:
    template = _REASONS.get(error["type"])
    if template is not None:
        return template.format(**error.get("ctx", {}))
    message = str(error["msg"]).removeprefix("Value error, ")
    return message[:1].lower() + message[1:]
