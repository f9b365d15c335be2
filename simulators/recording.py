"""Writes a simulated run as a recording (CSV; file contract)."""

from __future__ import annotations

from collections.abc import Iterator

from simulators.display import Shown, Span
from simulators.recipe import read_recipe
from simulators.scene import Run

_MARKS = {True: "1", False: "0", None: ""}


def recording_text(run: Run) -> str:
    """The run's readings as recording, ready to be written to a file.

    Moments without a number on the display (out of range) leave no line.
    """
    return "".join(f"{line}\n" for line in _lines(run))


def _lines(run: Run) -> Iterator[str]:
    recipe = read_recipe(run.plan.recipe_text)
    yield f"# source: simulated, seed {run.plan.seed}, profile {recipe.id}"
    yield f"# division: {run.make.division}"
    yield "t,weight,unit,stable"
    for shown in run.readings:
        if shown.span is Span.WITHIN:
            yield _row(shown)


def _row(shown: Shown) -> str:
    return f"{shown.t:.3f},{shown.weight},{shown.unit},{_MARKS[shown.stable]}"
