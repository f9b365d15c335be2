"""What a screen may ask of a station, as it comes over the wire."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Final, Literal, TypeAlias

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, WithJsonSchema

from scaled.core.command import Collect, Confirm, Expect, Forget, Next, Note, Undo
from scaled.core.profile_fields import Line, Slug
from scaled.core.transit import Transit
from scaled.core.wording import quoted
from scaled.station.check_plan import CheckWanted

if TYPE_CHECKING:
    from scaled.core.command import Command

_BADGE: Final = "^[A-Z]{1,2}-[0-9]{1,5}$"


def _badge(text: str) -> str:
    if re.fullmatch(_BADGE, text, re.ASCII) is None:
        raise ValueError(f"{quoted(text)} is no badge code; write one such as C-014")
    return text


Badge = Annotated[
    str, AfterValidator(_badge), WithJsonSchema({"type": "string", "pattern": _BADGE})
]


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class NextAsked(_Asked):
    """The open step is done."""

    command: Literal["next"]


class UndoAsked(_Asked):
    """The last finished step is not done after all."""

    command: Literal["undo"]


class ConfirmAsked(_Asked):
    """A check is answered."""

    command: Literal["confirm"]
    confirm: Slug
    held: bool


class NoteAsked(_Asked):
    """A remark."""

    command: Literal["note"]
    text: Line


class BadgeAsked(_Asked):
    """Another cook."""

    command: Literal["badge"]
    badge: Badge


class ProfileAsked(_Asked):
    """Another dish; an id, never a path."""

    command: Literal["profile"]
    profile: Slug


class CheckAsked(_Asked):
    """The scale is to be checked; what is left out is as its configuration has it."""

    command: Literal["check"]
    weights: tuple[Line, ...] = Field(  # JSON has no tuples
        default=(), max_length=10, strict=False, examples=[["500 g", "2 kg"]]
    )
    weight_error: Line | None = Field(default=None, examples=["0.1 g"])
    standard: Line | None = Field(default=None, examples=["oiml-r76"])
    new: bool = False
    badge: Badge | None = None


class AbandonAsked(_Asked):
    """The check of the scale under way is not to be finished, and nothing of it kept."""

    command: Literal["abandon"]


class ExpectAsked(_Asked):
    """A build that left another scale may be set down here."""

    model_config = ConfigDict(strict=False)  # JSON has no tuples

    command: Literal["expect"]
    transit: Transit


class ForgetAsked(_Asked):
    """A build that was expected is on another scale."""

    command: Literal["forget"]
    origin: Line


class CollectAsked(_Asked):
    """A build that left this scale is on another one."""

    command: Literal["collect"]
    build: int


HandoffAsked: TypeAlias = ExpectAsked | ForgetAsked | CollectAsked
CommandAsked: TypeAlias = NextAsked | UndoAsked | ConfirmAsked | NoteAsked | HandoffAsked
Asked: TypeAlias = Annotated[
    CommandAsked | BadgeAsked | ProfileAsked | CheckAsked | AbandonAsked,
    Field(discriminator="command"),
]


def check_wanted(asked: CheckAsked) -> CheckWanted:
    """The station's word for it."""
    return CheckWanted(**asked.model_dump(exclude={"command"}))


def core_command(asked: CommandAsked) -> Command:
    """The core's word for it."""
    match asked:
        case NextAsked():
            return Next()
        case UndoAsked():
            return Undo()
        case ConfirmAsked(confirm=confirm, held=held):
            return Confirm(confirm, held)
        case NoteAsked(text=text):
            return Note(text)
        case _:
            return _errand(asked)


def _errand(asked: HandoffAsked) -> Command:
    match asked:
        case ExpectAsked(transit=transit):
            return Expect(transit)
        case ForgetAsked(origin=origin):
            return Forget(origin)
        case CollectAsked(build=build):
            return Collect(build)
