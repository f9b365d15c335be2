"""How an ingredient is portioned, in a cook's words."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from scaled.core.profile import Step
from scaled.core.tool import Disher, Fingers, Measure, Packet
from scaled.core.units import QUART_ML

_FLUID_OUNCE_ML: Final = QUART_ML / 32
"""1/32 of a US liquid quart, and two tablespoons (NIST Handbook 44, Appendix C)."""
_COUNTS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_HANDFUL: Final = "handful"
_WHOLE: Final = 0.75
"""From this share of a gesture on, the amount is called a whole one."""
_GESTURES: Final = MappingProxyType(
    {
        "disher": "scoop",
        "spoodle": "spoonful",
        "ladle": "ladle",
        "cup": "cup",
        "fingers": _HANDFUL,
        "packet": "packet",
    }
)
_PINCH_G: Final = 15.0
"""Below this a portion taken by hand is called a pinch (common practice, no published source)."""
_SHORT: Final = 16
"""Longest ingredient called by its full name, characters."""


def short_name(step: Step) -> str:
    """What is called across a kitchen: the ingredient up to its first comma.

    Where that is long, the words of the step's id, if they are of the ingredient at all.
    """
    name = step.ingredient.split(",")[0]
    words = step.id.split("-")
    if len(name) <= _SHORT or not any(word in step.ingredient.lower() for word in words):
        return name
    return " ".join(words)


def tool_line(step: Step) -> str:
    """Tool, fill and number of gestures: ``disher no. 20, level: three scoops``."""
    gestures = count_of(step.scoops, _gesture(step))
    match step.tool:
        case Disher(number=number, fill=fill):
            return f"disher no. {number}, {fill}: {gestures}"
        case Measure(kind=kind, volume_ml=volume_ml, fill=fill):
            return f"{_volume(volume_ml)} {kind}, {fill}: {gestures}"
        case Packet(count=count):
            return count_of(count, "packet")
        case None:
            return "" if step.scoops == 1 else f"in {_count(step.scoops)} goes"
        case Fingers():
            single = step.scoops == 1 and _gesture(step) == _HANDFUL
            return "by hand" if single else f"by hand: {gestures}"


def to_go(step: Step, net_g: float, amount_g: float, scoops: int) -> str:
    """How many more gestures ``amount_g`` is: ``one more scoop``, ``half a scoop more``.

    Args:
        step: The step being filled.
        net_g: Weight in it so far.
        amount_g: Weight still to add.
        scoops: Gestures that make the amount, whole.

    Returns:
        "" when the step is not portioned in gestures that can be counted.
    """
    whole = step.scoops
    if isinstance(step.tool, Packet):
        whole = step.tool.count
        scoops = max(1, round(amount_g * whole / step.target_g))
    share = amount_g * whole / step.target_g
    if share < _WHOLE:
        return _part(step, share)
    if step.scoops == 1 and isinstance(step.tool, Fingers | None):
        return ""
    started = net_g * whole > 0.25 * step.target_g
    return count_of(scoops, _gesture(step), "more " if started else "")


def _part(step: Step, share: float) -> str:
    """A share of one gesture, less than nearly all of it."""
    if share < 0.17:
        return "just a little more"
    if isinstance(step.tool, Fingers | None):
        return "a little more"
    part = "a third of a" if share < 0.42 else "half a"
    return f"about {part} {_gesture(step)} more"


def count_of(number: int, noun: str, between: str = "") -> str:
    """A number and its noun: ``one scoop``, ``two more scoops``."""
    plural = "es" if noun.endswith("ch") else "s"
    return f"{_count(number)} {between}{noun}{'' if number == 1 else plural}"


def _gesture(step: Step) -> str:
    if step.tool is None:
        return "portion"
    if step.tool.kind == "fingers" and step.target_g / step.scoops < _PINCH_G:
        return "pinch"
    return _GESTURES[step.tool.kind]


def _count(number: int) -> str:
    return _COUNTS[number] if number < len(_COUNTS) else str(number)


def _volume(volume_ml: float) -> str:
    """The size as it is stamped on the tool: fluid ounces, tablespoons, or millilitres."""
    quarters = 4 * volume_ml / _FLUID_OUNCE_ML
    if abs(quarters - round(quarters)) > 0.01:
        return f"{volume_ml:.3g} mL"
    if quarters < 3.5:
        return f"{round(quarters) / 2:g} tbsp"
    return f"{round(quarters) / 4:g} fl oz"
