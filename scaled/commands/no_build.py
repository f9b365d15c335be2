"""Why a recording has no portion to tell of: the likely reason, for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.events import BuildStarted, Settled
from scaled.core.intake import Intake
from scaled.core.reading import GRAMS, Unit
from scaled.core.wording import spell, spell_both

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from scaled.core.events import Event
    from scaled.core.profile import BuildProfile
    from scaled.core.reading import Reading

TOO_HEAVY: Final = 10.0
"""So many times the whole dish is no cook's mistake; the least mix-up of units is lb for kg."""
HEAVY_SHARE: Final = 0.1
"""Share of readings that heavy which no garbled line explains."""
FEW: Final = 3
"""Fewer readings are no rest."""


def likely_reason(
    profile: BuildProfile, readings: Sequence[Reading], unit: Unit, first: Mapping[str, Event]
) -> str:
    """Why no portion was found, as one line without a full stop.

    Args:
        profile: What was looked for.
        readings: What it was looked for in, at least one.
        unit: What those that carry no unit, before any does, were taken to be in.
        first: The first event of each kind that was told all the same, by its name.
    """
    begun = first.get(BuildStarted.event)
    if isinstance(begun, BuildStarted):
        tare = "" if begun.tare_g is None else f" of {spell(begun.tare_g, Unit.G)}"
        return f"a container{tare} was set down at {begun.t:g} s, but nothing was added to it"
    whole_g = profile.container.tare_g + profile.finished_net_g
    shown_g = [reading.weight * GRAMS[reading.unit or unit] for reading in readings]
    if _mostly_above(TOO_HEAVY * whole_g, shown_g):
        most, whole = spell(max(shown_g), Unit.KG), spell(whole_g, Unit.G)
        return f"the weight goes up to {most}, the whole dish is {whole}; {_ask(readings, unit)}"
    intake = Intake()
    intake.unit = unit
    weights_g = [grams for grams in map(intake.read, readings) if grams is not None]
    if len(weights_g) < FEW:
        own = f"{len(weights_g)} of {len(readings)}"
        return f"too few readings have a t of their own, later than the one before: {own}"
    if Settled.event not in first:
        span_s = readings[-1].t - readings[0].t
        return (
            f"the weight is never at rest in {len(readings)} readings over {round(span_s, 1):g} s;"
            " a rest takes three of them within a second; is t in seconds?"
        )
    return _never_set_down(profile, weights_g, _ask(readings, unit))


def _mostly_above(limit_g: float, shown_g: Sequence[float]) -> bool:
    return sum(grams > limit_g for grams in shown_g) > HEAVY_SHARE * len(shown_g)


def _ask(readings: Iterable[Reading], unit: Unit) -> str:
    if any(reading.unit for reading in readings):
        return "is the unit right?"
    return f"no reading has a unit, so all count as {unit}: is that right?"


def _never_set_down(profile: BuildProfile, weights_g: Sequence[float], question: str) -> str:
    tare_g = profile.container.tare_g
    container = f"{profile.container.name}, {spell_both(tare_g, tare_g.unit)}"
    rise_g = max(weights_g) - weights_g[0]
    if rise_g >= tare_g:
        return f"no weight at rest is like the container ({container}); {question}"
    if weights_g[0] >= tare_g / 2:
        stood = spell(weights_g[0], Unit.G)
        return f"{stood} stood on the pan from the start; let the recording begin before that"
    rise = spell(rise_g, Unit.G)
    return f"the weight rises by {rise}, less than the container ({container}); {question}"
