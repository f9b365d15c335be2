"""What a portion is measured with."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from scaled.core.profile_fields import Table, Volume
from scaled.core.units import QUART_ML

STANDARD_DISHERS: Final = (6, 8, 10, 12, 16, 20, 24, 30, 40, 50, 60, 70, 100)
"""Numbers sold (USDA / Institute of Child Nutrition, Basics at a Glance)."""

Fill = Literal["level", "rounded"]


def disher_ml(number: int) -> float:
    """Level volume of a disher in mL: its number is how many fill one US quart."""
    return QUART_ML / number


class Disher(Table):
    """A numbered scoop: the number is how many level scoopfuls fill one US quart."""

    kind: Literal["disher"]
    number: int = Field(gt=0, le=200, description="Scoopfuls in one US quart.", examples=[20])
    fill: Fill = Field(default="level", description="Levelled off, or heaped.")

    @property
    def volume_ml(self) -> float:
        """Level volume in mL."""
        return disher_ml(self.number)


class Measure(Table):
    """A portioning spoon, ladle or cup of known level volume."""

    kind: Literal["spoodle", "ladle", "cup"]
    volume_ml: Volume = Field(
        alias="volume", description="Level volume; a ladle's oz are fl oz.", examples=["2 fl oz"]
    )
    fill: Fill = Field(default="level", description="Levelled off, or heaped.")


class Fingers(Table):
    """Portioned by hand."""

    kind: Literal["fingers"]


class Packet(Table):
    """Factory-filled packets."""

    kind: Literal["packet"]
    count: int = Field(default=1, gt=0, le=100, description="Packets a portion.", examples=[1])


Tool = Annotated[Disher | Measure | Fingers | Packet, Field(discriminator="kind")]

TOOL_KINDS: Final[dict[str, type[Table]]] = {
    "disher": Disher,
    "spoodle": Measure,
    "ladle": Measure,
    "cup": Measure,
    "fingers": Fingers,
    "packet": Packet,
}
"""The table that each kind of tool is written as."""
