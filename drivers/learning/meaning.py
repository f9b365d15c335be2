"""What the words, letters and bits beside a number mean, by when they were sent."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from drivers.described.field import WIDEST
from scaled.core.reading import Unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drivers.learning.context import Context

_UNSTABLE: Final = 0.15
"""A word that means motion may stay for seconds after it, so that most of its frames are at rest:
20 of them against 6 in motion. One that means rest is hardly ever sent in motion:"""
_STABLE: Final = 0.04

_MOST_WORDS: Final = 8
"""More different words than that are no status but a number or a name of no interest."""

_SPELLED: Final = {"kg": Unit.KG, "g": Unit.G, "oz": Unit.OZ, "lb": Unit.LB}


def unit_field(words: Sequence[str], context: Context) -> dict[str, Any] | None:
    """The unit field that these words, one a frame, are; None when they are something else."""
    spelled: dict[str, set[Unit]] = {}
    for word, unit in zip(words, context.units, strict=True):
        if unit is not None:
            spelled.setdefault(word, set()).add(unit)
    names = [next(iter(units)) for units in spelled.values() if len(units) == 1]
    if len(spelled) < 2 or len(names) != len(spelled) or len(set(names)) != len(names):
        return None
    if any(not word.strip() for word in spelled) or set(words) - set(spelled):
        return None
    table = {word.strip(): unit.value for word, unit in zip(spelled, names, strict=True)}
    field: dict[str, Any] = {"kind": "unit"}
    if any(_SPELLED.get(word.lower()) != unit for word, unit in table.items()):
        field["words"] = table
    widths = {len(word) for word in spelled}
    if len(widths) == 1 and any(word != word.strip() for word in spelled):
        right = all(word == word.strip().rjust(len(word)) for word in spelled)
        field |= {"width": widths.pop(), "align": "right" if right else "left"}
    elif "words" not in field and len(widths) == 1 and len(set(map(len, table))) > 1:
        return None
    return field


def status_field(words: Sequence[str], context: Context) -> dict[str, Any] | None:
    """A status with what each of its words means; None when no word's meaning was shown."""
    distinct = sorted(set(words))
    if len(distinct) > _MOST_WORDS or any(len(word) > 16 for word in distinct):
        return None
    meanings = dict.fromkeys(distinct, "ignored")
    meanings |= _two_sided(words, context, context.tared, ("net", "gross"))
    if context.has_below:
        meanings |= _exclusive(words, context)
    if _comes_back(words):
        meanings |= _motion(words, context)
    if set(meanings.values()) == {"ignored"}:
        return None
    return {"kind": "status", "words": meanings}


def bits_field(words: Sequence[str], context: Context) -> dict[str, Any] | None:
    """A byte of flags; None when the column is more likely a letter."""
    if any(len(word) != 1 for word in words) or len(set(words)) > _MOST_WORDS:
        return None
    values = [ord(word) for word in words]
    meanings: dict[str, str] = {}
    for bit in range(8):
        flags = [str(value >> bit & 1) for value in values]
        if len(set(flags)) == 2 and (meaning := _meaning_of_bit(flags, context)):
            meanings[str(bit)] = meaning
    plain = all(32 <= value < 127 for value in values)
    few = len(set(meanings.values())) < 2 or len(set(values)) < 3
    letters = all(chr(value).isalpha() for value in values)
    if not meanings or (plain and (few or (letters and min(values) >= 32 and _alike(values)))):
        return None
    return {"kind": "bits", "bits": meanings}


def skip_field(words: Sequence[str]) -> dict[str, Any] | None:
    """Bytes of no interest; None when they are not always as many."""
    widths = set(map(len, words))
    if len(widths) != 1 or not 0 < max(widths) <= WIDEST:
        return None
    return {"kind": "skip", "width": widths.pop()}


def _comes_back(words: Sequence[str]) -> bool:
    """Whether a word is sent again after another, as a mark is; a running number's are not."""
    runs = sum(a != b for a, b in pairwise(words)) + 1
    return runs > len(set(words))


def _alike(values: Sequence[int]) -> bool:
    """Whether the letters differ in bits that go together, as letters chosen for words do."""
    varying = [bit for bit in range(8) if len({value >> bit & 1 for value in values}) == 2]
    columns = [tuple(value >> bit & 1 for value in sorted(set(values))) for bit in varying]
    mirrored = [tuple(1 - flag for flag in column) for column in columns]
    return len({*columns, *mirrored}) < 2 * len(columns)


def _meaning_of_bit(flags: Sequence[str], context: Context) -> str | None:
    motion = _motion(flags, context)
    if motion.get("1") in ("stable", "unstable"):
        return motion["1"]
    if context.has_below and _exclusive(flags, context).get("1"):
        return "negative"
    tared = _two_sided(flags, context, context.tared, ("net", "gross"))
    return tared.get("1")


def _motion(words: Sequence[str], context: Context) -> dict[str, str]:
    """Which words mean stable and unstable, when there are such of both kinds."""
    shares = {
        word: share
        for word, share in context.shares(words, context.moves).items()
        if share is not None
    }
    unstable = [word for word, share in shares.items() if share >= _UNSTABLE]
    stable = [word for word, share in shares.items() if share <= _STABLE]
    if not unstable or not stable:
        return {}
    return dict.fromkeys(unstable, "unstable") | dict.fromkeys(stable, "stable")


def _exclusive(words: Sequence[str], context: Context) -> dict[str, str]:
    """Words sent below zero and never elsewhere, when all that is below zero has one."""
    shares = context.shares(words, context.below)
    below = {word for word, share in shares.items() if share == 1}
    missed = any(
        is_below and word not in below for word, is_below in zip(words, context.below, strict=True)
    )
    return {} if missed else dict.fromkeys(below, "negative")


def _two_sided(
    words: Sequence[str],
    context: Context,
    told: Sequence[bool | None],
    names: tuple[str, str],
) -> dict[str, str]:
    """Words that go with ``told`` and those that never do, when every word is of either kind."""
    shares = context.shares(words, told)
    if set(shares.values()) != {0.0, 1.0}:
        return {}
    return {word: names[0] if share == 1 else names[1] for word, share in shares.items()}
