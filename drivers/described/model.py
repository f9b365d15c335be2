r"""The description of a text format: how frames are told apart and what stands in them.

::

    schema = 1
    summary = "continuous lines: status, mode, signed number, unit"

    [serial]                    # optional: what such scales are usually set to
    baud = 9600
    framing = "8N1"

    [poll]                      # optional: a scale that speaks only when asked
    request = "R\r\n"
    interval_s = 0.1

    [frame]                     # optional: lines that end with CR, LF or both
    start = "\u0002"            # the one byte that begins a frame
    end = "\u0003"              # what ends it
    length = 18                 # instead of an end: bytes, start and checksum among them
    longest = 64                # bytes between start and end after which there is no sense in it
    spaces = "free"             # or "fixed": none but those described

    [frame.checksum]            # optional
    kind = "xor"                # or "sum", "negated-sum" (all bytes with it add up to zero)
    modulo = 256                # of a sum
    written = "hex"             # or "decimal", "byte"
    digits = 2
    over = ["fields"]           # and "start", "end"
    after_end = false

    [[field]]                   # in the order in which they are sent
    kind = "status"
    words = { ST = "stable", US = "unstable" }
"""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from drivers.described.field import KINDS, BitsField, GapField, Part, Sent, SkipField, TextField
from scaled.core.profile_fields import Line, Table, broken_rule
from scaled.protocol import Framing

LONGEST_FRAME: Final = 256
"""Bytes in the longest frame that can be described."""

_LINE_ENDS: Final = frozenset("\r\n")


class Serial(Table):
    """How such scales are usually set; the user's own settings come first."""

    baud: int = Field(default=9600, gt=0, le=4_000_000, examples=[9600])
    framing: Framing = "8N1"


class Poll(Table):
    """What to send for a frame, and how often."""

    request: Sent = Field(examples=["R\r\n"])
    interval_s: float = Field(default=0.1, gt=0, le=10, examples=[0.1])


class Checksum(Table):
    """How a frame is checked; the bytes summed are those of the parts in ``over``."""

    kind: Literal["xor", "sum", "negated-sum"] = Field(examples=["xor"])
    modulo: int = Field(default=256, gt=1, le=65536, examples=[256])
    written: Literal["hex", "decimal", "byte"] = "hex"
    digits: int = Field(default=2, gt=0, le=5, examples=[2])
    over: tuple[Literal["start", "fields", "end"], ...] = Field(
        default=("fields",), min_length=1, strict=False, examples=[["fields"]]
    )
    after_end: bool = Field(default=False, examples=[True])

    @property
    def size(self) -> int:
        """Bytes it takes."""
        return 1 if self.written == "byte" else self.digits


class Frame(Table):
    """How one frame is told from the next; see the module for its keys."""

    start: Sent | None = Field(default=None, max_length=1, examples=["\x02"])
    end: Sent | None = Field(default=None, max_length=2, examples=["\r\n"])
    length: int | None = Field(default=None, gt=1, le=LONGEST_FRAME, examples=[18])
    longest: int = Field(default=64, gt=0, le=LONGEST_FRAME, examples=[64])
    spaces: Literal["free", "fixed"] = "free"
    checksum: Checksum | None = None

    @property
    def by_line(self) -> bool:
        """Whether any CR or LF ends it."""
        plain = self.length is None and not (self.checksum and self.checksum.after_end)
        return plain and (self.end is None or _LINE_ENDS.issuperset(self.end))

    @model_validator(mode="after")
    def _can_be_cut(self) -> Self:
        check = self.checksum
        if self.length is not None and (self.start is None or self.end is not None):
            raise broken_rule("length", "needs a start, and stands instead of an end")
        if check and check.after_end and (self.start is None or self.end is None):
            raise broken_rule("checksum", "after_end needs a start and an end")
        if check and check.written == "byte" and not (check.after_end or self.length):
            raise broken_rule("checksum", 'a "byte" needs after_end = true, or a length')
        if self.end and len(self.end) > 1 and self.start is None and not self.by_line:
            raise broken_rule("end", "without a start it is one byte, or CR and LF")
        return self


class ScaleFormat(Table):
    """A text format of one kind of scale."""

    schema_: Literal[1] = Field(alias="schema", examples=[1])
    summary: Line = Field(examples=["lines of status, signed number and unit"])
    serial: Serial = Serial()
    poll: Poll | None = None
    frame: Frame = Frame()
    fields: Annotated[tuple[Part, ...], Field(max_length=32, strict=False)] = Field(
        alias="field", default=()
    )

    @model_validator(mode="after")
    def _can_be_read(self) -> Self:
        kinds = [field.kind for field in self.fields]
        if kinds.count("weight") != 1:
            raise broken_rule("field", 'exactly one has kind = "weight"')
        for kind in ("unit", "places"):
            if kinds.count(kind) > 1:
                raise broken_rule("field", f'at most one has kind = "{kind}"')
        weight = next(field for field in self.fields if field.kind == "weight")
        if "unit" in kinds and weight.unit is not None:
            raise broken_rule("field", "a unit is given twice: in the weight and as a field")
        if "places" in kinds and weight.decimal != "none":
            raise broken_rule("field", 'places need decimal = "none" in the weight')
        return self

    @model_validator(mode="after")
    def _parts_are_apart(self) -> Self:
        free = self.frame.spaces == "free"
        for at, (field, after) in enumerate(
            zip(self.fields, [*self.fields[1:], None], strict=True)
        ):
            reason = _clash(field, after, free=free)
            if reason:
                raise broken_rule(f"field {at + 1}", reason)
        return self


def _clash(field: Part, after: Part | None, *, free: bool) -> str:
    """Why one could not tell where a field ends; "" when one can."""
    match field, after:
        case SkipField(width=None), _ if not isinstance(after, TextField):
            return "a skip without a width is followed by a text; give a width"
        case GapField(width=None), SkipField() | BitsField() | GapField() if free:
            return f"a gap without a width does not stand before a {after.kind}; give a width"
        case TextField(), _ if free and field.text != field.text.strip(" "):
            return 'a text with a space at its end needs spaces = "fixed", or is a gap'
        case _:
            return ""


TABLES: Final[dict[tuple[str, ...], type[Table]]] = {
    (): ScaleFormat,
    ("serial",): Serial,
    ("poll",): Poll,
    ("frame",): Frame,
    ("frame", "checksum"): Checksum,
    **{("field", kind): model for kind, model in KINDS.items()},
}
"""The model of each table, by the keys that lead to it."""
