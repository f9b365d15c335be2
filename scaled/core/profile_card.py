"""Writes a profile as a card to read and print: plain text, 80 columns."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate, zip_longest
from textwrap import wrap
from typing import Final, NamedTuple

from scaled.core.profile import BuildProfile, Confirm, Container, OtherContainer, Step
from scaled.core.reading import Unit
from scaled.core.tool import Disher, Fingers, Measure, Packet
from scaled.core.units import QUART_ML
from scaled.core.wording import spell, spell_both, spell_number

WIDTH: Final = 80
_INDENT: Final = " " * 5
_LEFT: Final = 32

_GUARDED: Final = (
    "Guarded: a weight passes when it is inside its band by twice its standard uncertainty; nearer"
    " to a limit it is unsure."
)
_DEFERENCE: Final = (
    "Allergens, holding times, temperatures and knife work: your local food code and your trainer"
    " decide. A scale sees none of them."
)


class _Columns(NamedTuple):
    target: str
    band: str
    total: str


def profile_card(profile: BuildProfile) -> list[str]:
    """The card's lines, none longer than 80 columns unless a single word is.

    Weights stand in the unit each was written in and, when that is another, in g below it. The
    last column is what a scale shows that was empty before the container came.
    """
    return [
        *_heading(profile),
        "",
        *_steps(profile),
        "",
        *_finished(profile),
        *_allergens(profile),
        *_confirms(profile.confirms),
        "",
        *wrap(_DEFERENCE, WIDTH),
    ]


def _heading(profile: BuildProfile) -> Iterator[str]:
    yield from _spread(profile.title, f"{profile.id}, revision {profile.revision}")
    container = profile.container
    brimful = "" if container.brimful_ml is None else f", brimful {container.brimful_ml:.0f} mL"
    yield from wrap(f"{_vessel(container)}{brimful}", WIDTH)
    for other in profile.other_containers:
        lead = "or " if other.accepted else "not "
        yield from wrap(lead + _vessel(other), WIDTH)
    if profile.acceptance == "guarded":
        yield from wrap(_GUARDED, WIDTH)


def _vessel(container: Container | OtherContainer) -> str:
    tare = spell_both(container.tare_g, container.tare_g.unit)
    if container.tare_tolerance_g is not None:
        tare += f" +/- {spell(container.tare_tolerance_g, container.tare_g.unit)}"
    return f"{container.name}: tare {tare}"


def _spread(left: str, right: str) -> list[str]:
    gap = WIDTH - len(left) - len(right)
    return [left + " " * gap + right] if gap > 0 else [*wrap(left, WIDTH), *wrap(right, WIDTH)]


def _steps(profile: BuildProfile) -> Iterator[str]:
    tare_g = profile.container.tare_g
    totals_g = list(accumulate((step.target_g for step in profile.steps), initial=float(tare_g)))
    yield _row("", "", _Columns("target", "passes", "on the pan"))
    yield from _rows("", ["container"], _columns(tare_g.unit, None, tare_g))
    position = None
    for number, (step, total_g) in enumerate(zip(profile.steps, totals_g[1:], strict=True), 1):
        yield ""
        if step.position != position:
            position = step.position
            yield f"{position or 'anywhere'}:"
        yield from _step(number, step, total_g)


def _columns(unit: Unit, step: Step | None, total_g: float) -> list[_Columns]:
    """A row of weights in the author's unit and, when that is another, one in g."""
    units = [unit] if unit is Unit.G else [unit, Unit.G]
    if step is None:
        return [_Columns("", "", spell(total_g, unit)) for unit in units]
    low_g, high_g = step.target_g - step.under_g, step.target_g + step.over_g
    return [
        _Columns(
            spell(step.target_g, unit),
            f"{spell_number(low_g, unit)} to {spell(high_g, unit)}",
            spell(total_g, unit),
        )
        for unit in units
    ]


def _step(number: int, step: Step, total_g: float) -> Iterator[str]:
    left = wrap(step.ingredient, _LEFT) + wrap(_tool(step), _LEFT)
    yield from _rows(str(number), left, _columns(step.target_g.unit, step, total_g))
    for lead, line in (("", step.say), ("Caution: ", step.never)):
        if line:
            yield from wrap(lead + line, WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT)


def _rows(mark: str, left: list[str], right: list[_Columns]) -> Iterator[str]:
    for text, columns in zip_longest(left, right):
        yield _row(mark, text or "", columns or _Columns("", "", ""))
        mark = ""


def _row(mark: str, text: str, columns: _Columns) -> str:
    numbers = f"{columns.target:>10}  {columns.band:>18}  {columns.total:>11}"
    return f"{mark:>3}  {text:<{_LEFT}}{numbers}".rstrip()


def _tool(step: Step) -> str:
    match step.tool:
        case Disher(number=number, fill=fill):
            return f"{_count(step.scoops, f'{fill} scoop')}, disher {number}"
        case Measure(kind=kind, volume_ml=volume_ml, fill=fill):
            return f"{_count(step.scoops, f'{fill} {kind}')}, {_volume(volume_ml)}"
        case Packet(count=count):
            return _count(count, "packet")
        case Fingers():
            return "by hand" if step.scoops == 1 else f"by hand, {step.scoops} times"
        case _:
            return _count(step.scoops, "scoop")


def _count(number: int, one: str) -> str:
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def _volume(volume_ml: float) -> str:
    """A tool's size as its handle may show it."""
    return f"{volume_ml:.0f} mL ({volume_ml * 32 / QUART_ML:.3g} fl oz)"


def _finished(profile: BuildProfile) -> Iterator[str]:
    unit = profile.finished.weight_g.unit if profile.finished else profile.steps[0].target_g.unit
    net_g, tare_g = profile.finished_net_g, profile.container.tare_g
    low_g, high_g = net_g - profile.finished_under_g, net_g + profile.finished_over_g
    written = "" if profile.finished else " (not written: the portions' sum)"
    passes = f"passes {spell_number(low_g, unit)} to {spell(high_g, unit)}"
    with_container = f"with the container {spell_both(net_g + tare_g, unit)}"
    text = f"Finished: {spell_both(net_g, unit)} of food{written}, {passes}; {with_container}"
    yield from wrap(text, WIDTH)


def _allergens(profile: BuildProfile) -> Iterator[str]:
    carriers: dict[str, list[str]] = {}
    for step in profile.steps:
        for allergen in step.allergens:
            carriers.setdefault(allergen, []).append(step.id)
    named = [f"{name} ({', '.join(steps)})" for name, steps in carriers.items()]
    yield from wrap(f"Allergens: {', '.join(named) or 'none written'}", WIDTH)


def _confirms(confirms: tuple[Confirm, ...]) -> Iterator[str]:
    if confirms:
        yield from ("", "Confirm, as a scale cannot see it:")
    for confirm in confirms:
        when = "" if confirm.when == "always" else f"{confirm.when}: "
        text = f"{when}{confirm.ask}"
        yield from wrap(text, WIDTH, initial_indent=" [ ] ", subsequent_indent=_INDENT)
