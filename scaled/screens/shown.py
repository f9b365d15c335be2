"""What each part of the cook's screen shows, as values."""

from __future__ import annotations

from dataclasses import dataclass

from scaled.screens.advice import Advice
from scaled.screens.marks import RungMark


@dataclass(frozen=True, slots=True)
class Card:
    """The current ingredient and how to portion it; "" for lines it has not."""

    kicker: str = ""
    name: str = ""
    short: str = ""
    tool: str = ""
    say: str = ""
    never: str = ""


@dataclass(frozen=True, slots=True)
class Number:
    """The live weight.

    Attributes:
        digits: The number; "" when there is none.
        widest: A number as wide as there must be room for, so that the digits do not jump about.
        unit: Its unit.
        caption: What the weight is.
        alive: False when it is an old one.
    """

    digits: str = ""
    widest: str = ""
    unit: str = ""
    caption: str = ""
    alive: bool = True


@dataclass(frozen=True, slots=True)
class Gauge:
    """The rail: places are shares of its length; ``needle`` is None when the weight is old."""

    needle: float | None
    target: float
    limits: tuple[str, str, str]
    word: str
    role: str


@dataclass(frozen=True, slots=True)
class RungLine:
    """One line of the ladder."""

    mark: RungMark
    name: str
    weight: str


@dataclass(frozen=True, slots=True)
class View:
    """Everything on the screen."""

    title: str
    facts: tuple[str, ...]
    card: Card
    number: Number
    gauge: Gauge | None
    advice: Advice
    ladder: tuple[RungLine, ...]
    checks: tuple[str, ...]
