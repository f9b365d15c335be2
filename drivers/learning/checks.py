"""Finds a frame's checksum by trying every kind that can be described."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final

from drivers.described.checksum import checksum_of
from drivers.described.model import Checksum

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drivers.learning.cutting import Cut, Framing

_HOLDS: Final = 0.95
"""Share of the frames in which it must be right; a few may have been damaged on their way."""

_DISTINCT: Final = 4
"""Different frames in which it must be right, lest it be by chance: of one hex digit, one time
in sixteen."""

_WRITTEN: Final = (
    ("byte", 1, (256,)),
    ("hex", 4, (65536,)),
    ("decimal", 5, (65536,)),
    ("decimal", 3, (256, 1000)),
    ("hex", 2, (256,)),
    ("decimal", 2, (100,)),
    ("hex", 1, (16,)),
)
_OVER: Final = (("fields",), ("start", "fields"), ("fields", "end"), ("start", "fields", "end"))


@dataclass(frozen=True, slots=True)
class Checked:
    """A frame without its checksum, and where it ended in the stream."""

    text: str
    ends_at: int


def find_checksum(framing: Framing) -> Checksum | None:
    """The checksum of these frames, None when none of the known kinds holds."""
    distinct = list({(cut.body, cut.after): cut for cut in framing.cuts}.values())
    for checksum in _kinds(framing):
        first = [_holds(cut, framing, checksum) for cut in distinct[:12]]
        if sum(first) < len(first) - 2:
            continue
        right = [cut for cut in distinct if _holds(cut, framing, checksum)]
        written = {_split(cut, checksum)[1] for cut in right}
        if len(right) >= _HOLDS * len(distinct) and len(written) >= _DISTINCT:
            return checksum
    return None


def checked(framing: Framing, checksum: Checksum | None) -> list[Checked]:
    """The frames whose checksum is right, without it."""
    return [
        Checked(_split(cut, checksum)[0].decode("latin-1"), cut.ends_at)
        for cut in framing.cuts
        if checksum is None or _holds(cut, framing, checksum)
    ]


def _kinds(framing: Framing) -> Iterator[Checksum]:
    after = len(framing.cuts[0].after)
    kinds = ("xor", "sum", "negated-sum")
    for (written, digits, modulos), kind, over in product(_WRITTEN, kinds, _OVER):
        lacks_start = "start" in over and not framing.start
        lacks_end = "end" in over and not after
        wrong_size = after and after != digits
        loose = written == "byte" and not (after or framing.length)
        if lacks_start or lacks_end or wrong_size or loose:
            continue
        for modulo in modulos:
            yield Checksum.model_validate(
                {
                    "kind": kind,
                    "modulo": modulo,
                    "written": written,
                    "digits": digits,
                    "over": over,
                    "after_end": bool(after),
                }
            )


def _split(cut: Cut, checksum: Checksum | None) -> tuple[bytes, bytes]:
    if checksum is None or checksum.after_end:
        return cut.body, cut.after
    return cut.body[: -checksum.size], cut.body[-checksum.size :]


def _holds(cut: Cut, framing: Framing, checksum: Checksum) -> bool:
    body, check = _split(cut, checksum)
    parts = {"start": framing.start, "fields": body, "end": framing.end}
    covered = b"".join(parts[part] for part in parts if part in checksum.over)
    return check.upper() == checksum_of(covered, checksum).upper()
