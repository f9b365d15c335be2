"""The one door to chance: seeded streams."""

from __future__ import annotations

from random import Random


def stream(seed: int, part: str = "") -> Random:
    """A stream of chance; each part of a scene has its own, so that none disturbs another."""
    return Random(f"{seed}/{part}")  # noqa: S311 -- physics, not secrets
