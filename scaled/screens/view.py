"""The whole cook's screen as values: what each widget shows, before anything is drawn."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Final

from scaled.core.events import Attribution
from scaled.core.live import Ask, Live, Rung
from scaled.core.profile import Step
from scaled.core.wording import spell_number
from scaled.screens.advice import Advice
from scaled.screens.band import Band
from scaled.screens.check_view import (
    check_card,
    check_ladder,
    check_number,
    of_check,
    result_card,
    result_ladder,
)
from scaled.screens.fitness import check_fact
from scaled.screens.marks import Mark, RungMark, rung_mark
from scaled.screens.portioning import short_name, tool_line
from scaled.screens.scene import Recipe, Scene
from scaled.screens.shown import Card, Gauge, Number, RungLine, View
from scaled.screens.weight import Writing
from scaled.screens.words import advice, asked, name_of
from scaled.station.day_check import Fitness
from scaled.station.link import LinkState
from scaled.station.state import StationState


def view(scene: Scene) -> View:
    """What to show of a scene."""
    said = advice(scene)
    of_build = View(
        title=_title(scene.recipe),
        facts=_facts(scene),
        card=_card(scene),
        number=_number(scene),
        gauge=_gauge(scene, said),
        advice=said,
        ladder=_ladder(scene),
        checks=_checks(scene),
    )
    checking = scene.state.checking if scene.state else None
    if checking is not None:
        number = check_number(checking, alive=scene.in_touch)
        of_scale = of_check(of_build, check_card(checking), check_ladder(checking))
        return replace(of_scale, number=number)
    if scene.checked is not None:
        return of_check(of_build, result_card(scene.checked), result_ladder(scene.checked))
    return of_build


def _title(recipe: Recipe | None) -> str:
    return f"{recipe.profile.title}, revision {recipe.profile.revision}" if recipe else ""


_LINK_WORDS: Final = MappingProxyType(
    {
        LinkState.OPENING: f"{Mark.WAIT} scale opening",
        LinkState.OVERLOAD: f"{Mark.GONE} scale overloaded",
        LinkState.UNDERLOAD: f"{Mark.GONE} scale below zero",
        LinkState.UNSUCCESSFUL: f"{Mark.GONE} scale could not weigh",
        LinkState.FAULT: f"{Mark.GONE} scale faulty",
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
    checking = scene.state.checking if scene.state else None
    facts = []
    if scene.live and scene.live.build and not checking:
        facts.append(f"build {scene.live.build}")
    if scene.state and (checking or scene.state.session or scene.state.badge):
        badge = checking.badge if checking else scene.state.badge
        facts.append(f"badge {badge or 'none'}")
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
