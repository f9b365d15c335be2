"""The whole cook's screen as values: what each widget shows, before anything is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from scaled.core.events import Attribution
from scaled.core.live import Ask, Live, Rung
from scaled.core.profile import Step
from scaled.core.wording import spell_number
from scaled.screens.band import Band
from scaled.screens.fitness import check_fact
from scaled.screens.marks import Mark, RungMark, rung_mark
from scaled.screens.portioning import short_name, tool_line
from scaled.screens.scene import Recipe, Scene
from scaled.screens.weight import Writing
from scaled.screens.words import Advice, advice, asked, name_of
from scaled.station.day_check import Fitness
from scaled.station.link import LinkState
from scaled.station.state import StationState


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


def view(scene: Scene) -> View:
    """What to show of a scene."""
    said = advice(scene)
    return View(
        title=_title(scene.recipe),
        facts=_facts(scene),
        card=_card(scene),
        number=_number(scene),
        gauge=_gauge(scene, said),
        advice=said,
        ladder=_ladder(scene),
        checks=_checks(scene),
    )


def _title(recipe: Recipe | None) -> str:
    return f"{recipe.profile.title}, revision {recipe.profile.revision}" if recipe else ""


_LINK_WORDS: Final = MappingProxyType(
    {
        LinkState.OPENING: f"{Mark.WAIT} scale opening",
        LinkState.OVERLOAD: f"{Mark.GONE} scale overloaded",
        LinkState.UNDERLOAD: f"{Mark.GONE} scale below zero",
        LinkState.UNSUCCESSFUL: f"{Mark.GONE} scale could not weigh",
        LinkState.LIVE: f"{Mark.GOOD} scale live",
        LinkState.WRONG_UNIT: f"{Mark.GONE} wrong unit",
        LinkState.STALE: f"{Mark.GONE} scale silent",
        LinkState.ASLEEP: f"{Mark.GONE} scale asleep",
        LinkState.LOST: f"{Mark.GONE} scale lost",
        LinkState.FLAPPING: f"{Mark.GONE} scale comes and goes",
        LinkState.BUSY: f"{Mark.GONE} scale in use",
    }
)


def _facts(scene: Scene) -> tuple[str, ...]:
    """Build number, badge and link."""
    facts = []
    if scene.live and scene.live.build:
        facts.append(f"build {scene.live.build}")
    if scene.state and scene.state.session:
        facts.append(f"badge {scene.state.session.badge or 'none'}")
    if scene.away is not None:
        return (*facts, f"{Mark.GONE} no station")
    return (*facts, _scale_word(scene.state) if scene.state else f"{Mark.WAIT} station")


def _scale_word(state: StationState) -> str:
    """How its link is or, while that is well, what its check of the day says."""
    word, check = _LINK_WORDS[state.link.state], state.check
    if state.link.state is not LinkState.LIVE or check is None:
        return word
    if wanting := check_fact(check):
        return f"{Mark.DOUBT} {wanting}"
    return f"{word}, checked" if check.fitness is Fitness.FIT else word


def _card(scene: Scene) -> Card:
    if scene.recipe is None:
        return Card()
    step, profile = scene.step, scene.recipe.profile
    if step is None:
        return Card(name=profile.title, short=profile.title, tool=f"in: {profile.container.name}")
    parts = [f"{profile.steps.index(step) + 1} of {len(profile.steps)}"]
    if step.position:
        parts.append(step.position)
    if step.allergens:
        parts.append(f"contains {', '.join(step.allergens)}")
    return Card(
        kicker=" · ".join(parts),
        name=step.ingredient,
        short=short_name(step),
        tool=tool_line(step),
        say=step.say or "",
        never=step.never or "",
    )


def _number(scene: Scene) -> Number:
    live = scene.live
    if live is None:
        return Number()
    weight_g, caption = _weight(live, scene.step, scene.recipe)
    written = scene.writing
    return Number(
        digits=written.digits(weight_g),
        widest=written.digits(scene.recipe.largest_g) if scene.recipe else "",
        unit=written.unit,
        caption=caption if scene.fresh else "old weight",
        alive=scene.fresh,
    )


def _weight(live: Live, step: Step | None, recipe: Recipe | None) -> tuple[float, str]:
    """The weight to show, g, and what it is."""
    if step and recipe:
        together = "for both, " if live.joint_with else ""
        return live.net_g, f"{together}of {spell_number(live.target_g, recipe.unit)}"
    if live.ask is Ask.LIFT:
        return live.total_net_g, "in all"
    return live.pan_g, "on the scale"


_GAUGE_WORDS: Final = MappingProxyType(
    {
        Mark.ADD: "not yet",
        Mark.GOOD: "in the band",
        Mark.DONE: "in the band",
        Mark.AMISS: "in the band",
        Mark.TAKE_BACK: "too much",
        Mark.WAIT: "moving",
        Mark.DOUBT: "not sure",
    }
)


def _gauge(scene: Scene, said: Advice) -> Gauge | None:
    step, live, recipe = scene.step, scene.live, scene.recipe
    if step is None or live is None or recipe is None:
        return None
    band = Band(live.low_g, live.target_g, live.high_g)
    lower, target, upper = (
        spell_number(limit_g, recipe.unit)
        for limit_g in (band.lower_g, band.target_g, band.upper_g)
    )
    return Gauge(
        needle=band.share(live.net_g) if scene.fresh else None,
        target=band.share(live.target_g),
        limits=(lower, target, upper),
        word=_gauge_word(live, said.mark, scene.writing),
        role=said.mark.role,
    )


def _gauge_word(live: Live, mark: Mark, writing: Writing) -> str:
    if mark is Mark.WAIT and live.provisional is not None:
        return f"about {writing.text(live.provisional.net_g)}"
    return _GAUGE_WORDS.get(mark, "")


def _ladder(scene: Scene) -> tuple[RungLine, ...]:
    live, recipe = scene.live, scene.recipe
    if recipe is None:
        return ()
    rungs = live.ladder if live else tuple(Rung(step.id) for step in recipe.profile.steps)
    current = scene.step.id if scene.step else None
    return tuple(
        RungLine(mark, name_of(recipe.profile, rung.step), _result(rung, mark, scene.writing))
        for rung, mark in ((rung, rung_mark(rung, current)) for rung in rungs)
    )


def _result(rung: Rung, mark: RungMark, writing: Writing) -> str:
    """What a step weighs; "sum" where only that of several steps is known."""
    if mark in {RungMark.TODO, RungMark.NOW, RungMark.SKIPPED} or rung.net_g is None:
        return ""
    joint = "sum " if rung.attribution is Attribution.JOINT else ""
    return joint + writing.text(rung.net_g)


def _checks(scene: Scene) -> tuple[str, ...]:
    if scene.live is None or scene.recipe is None or not scene.live.build:
        return ()
    asks = {confirm.id: asked(confirm) for confirm in scene.recipe.profile.confirms}
    return tuple(asks.get(confirm, confirm) for confirm in scene.live.confirms)
