"""How a simulated cook works: how exactly, how fast, and with which bad habits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """One cook's ways; shares are of the step's target, chances lie from 0 to 1.

    Attributes:
        bias: Standard deviation, between ingredients, of how far off this cook's eye is; each
            ingredient's own bias is drawn once a cook.
        spread: Standard deviation of a portion around what the cook's eye calls right.
        scoop_spread: Standard deviation of one scoop around its share of the portion.

        scoop_pause_s: Median pause between two gestures of one ingredient.
        step_pause_s: Median pause before the next ingredient.
        build_pause_s: Median pause before the next empty bowl.
        pause_spread: Standard deviation of the logarithm of any pause.

        extra_scoop: Chance, a step, of one gesture more or fewer than written.
        sprinkles: Chance that a portion made by fingers is sprinkled for seconds, not dropped.
        tops_up: Chance, a step, that the last gesture is only a small correction.
        overshoots: Chance, a step, of adding far too much.
        takes_back: Chance that too much is noticed and taken back.
        undershoots: Chance, a step, of moving on far too early.

        presses: Chance, a pause, that a tool or a hand leans on the bowl.
        hands_over: Chance that the bowl is lifted and set down where the position changes.
        lifts: Chance, a step, that it is lifted and set back anywhere else.

        reorders: Chance, a step, of doing the next one first.
        skips: Chance, a step, of leaving it out.
        merges: Chance, a step, of adding it right after the one before, without a pause.
        tares: Chance, a step, of pressing the tare key first.
        switches_unit: Chance, a step, of pressing the unit key first.
        swaps: Chance, a step, of starting again with a new bowl.

        dropped: Chance, a reading, that the line loses it.
        duplicated: Chance, a reading, that the line says it twice.
        garbled: Chance, a reading, that the line changes a digit.
    """

    bias: float = 0.02
    spread: float = 0.05
    scoop_spread: float = 0.12

    scoop_pause_s: float = 1.5
    step_pause_s: float = 3.0
    build_pause_s: float = 5.0
    pause_spread: float = 0.4

    extra_scoop: float = 0.1
    sprinkles: float = 0.5
    tops_up: float = 0.1
    overshoots: float = 0.03
    takes_back: float = 1.0
    undershoots: float = 0.0

    presses: float = 0.05
    hands_over: float = 0.8
    lifts: float = 0.02

    reorders: float = 0.0
    skips: float = 0.0
    merges: float = 0.0
    tares: float = 0.0
    switches_unit: float = 0.0
    swaps: float = 0.0

    dropped: float = 0.0
    duplicated: float = 0.0
    garbled: float = 0.0


CLEAN: Final = Habits(bias=0.015, spread=0.03)
"""A trained cook: exact, in order; leans on the bowl now and then, corrects what is too much."""

MESSY: Final = replace(
    CLEAN,
    bias=0.03,
    spread=0.05,
    scoop_spread=0.2,
    scoop_pause_s=1.2,
    step_pause_s=2.5,
    extra_scoop=0.2,
    overshoots=0.06,
    takes_back=0.7,
    undershoots=0.03,
    presses=0.12,
    lifts=0.04,
    reorders=0.02,
    skips=0.02,
    merges=0.02,
    tares=0.015,
    switches_unit=0.004,
    swaps=0.004,
    dropped=0.005,
    duplicated=0.005,
    garbled=0.002,
)
"""A hurried cook on a poor line: every habit there is, about one real mistake a build."""

FRANTIC: Final = replace(
    MESSY,
    bias=0.04,
    spread=0.06,
    overshoots=0.08,
    undershoots=0.06,
    presses=0.15,
    lifts=0.06,
    reorders=0.06,
    skips=0.04,
    merges=0.06,
    tares=0.03,
    switches_unit=0.01,
    swaps=0.01,
)
"""A cook in trouble: two or three real mistakes in every build."""

UNTRAINED: Final = replace(
    CLEAN, bias=0.15, spread=0.10, scoop_spread=0.2, presses=0.15, lifts=0.06, tares=0.02
)
"""A new cook without an eye for portions yet, who leans on bowl and keys: has to be led."""

PRESETS: Final = {"clean": CLEAN, "messy": MESSY, "frantic": FRANTIC}
