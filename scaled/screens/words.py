"""What a cook is told, in plain words: pure functions of what the station says."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from scaled.core.live import Ask, Live
from scaled.core.profile import BuildProfile, Confirm
from scaled.screens.advice import Advice
from scaled.screens.check_words import check_advice, result_advice
from scaled.screens.fitness import check_line, refusal
from scaled.screens.marks import Mark, RungMark, rung_mark
from scaled.screens.portioning import count_of, short_name, to_go, tool_line
from scaled.screens.scene import Recipe, Scene
from scaled.screens.weight import Writing
from scaled.screens.wire import Away
from scaled.station.link import LinkState
from scaled.station.state import StationState

_NO_FOOD_G: Final = 2.0
"""Less than this in the container is a flicker of the display, not food."""
_LADEN_G: Final = 5.0
"""Less than this on the pan is crumbs; more is in the container's place."""


def advice(scene: Scene) -> Advice:
    """What to do next, or what is in the way of knowing it."""
    if scene.away is not None:
        return _away(scene.away, scene.state)
    if scene.state is None:
        return Advice(Mark.WAIT, ("ONE MOMENT",), "looking for the station")
    first = _trouble(scene.state) or _of_scale(scene) or _without_session(scene.state)
    if first is not None:
        return first
    if scene.recipe is None or scene.live is None:
        return Advice(Mark.WAIT, ("ONE MOMENT",), "waiting for the first weight")
    said = _ASKED[scene.live.ask](scene.live, scene.recipe, scene.writing)
    if scene.live.ask is Ask.PLACE:
        parts = (scene.finished, said.line, _unfit(scene.state), check_line(scene.state.check))
        return replace(said, line="; ".join(part for part in parts if part))
    return said


def _unfit(state: StationState) -> str:
    """What a cook should know before the first bowl: not everything can be judged here."""
    if state.session is None or not state.session.unfit:
        return ""
    weights = count_of(len(state.session.unfit), "weight")
    return f"this scale is too coarse for {weights} of this dish: tell the trainer"


def _away(away: Away, last: StationState | None) -> Advice:
    if last is not None:
        kept = "the build is kept" if last.checking is None else "a check may begin anew"
        goes_on = f"{kept}, this screen goes on when the station is back"
        return Advice(Mark.GONE, ("STATION AWAY",), f"{away.reason}; {goes_on}")
    remedy = "; start one with: scaled serve" if away.absent else ""
    return Advice(Mark.GONE, ("NO STATION",), f"{away.reason}{remedy}")


def _trouble(state: StationState) -> Advice | None:
    """What keeps the station from weighing, None when nothing does."""
    if state.fault is not None:
        return Advice(Mark.GONE, ("STATION STOPS",), state.fault)
    link = state.link
    if link.state is LinkState.LIVE:
        return None
    headline, what = _LINK[link.state]
    return Advice(Mark.GONE, (headline,), f"{link.detail or what}{_kept(state)}")


def _of_scale(scene: Scene) -> Advice | None:
    """What a check of the scale asks for or came to, None when it is about builds."""
    if scene.state is not None and scene.state.checking is not None:
        return check_advice(scene.state.checking)
    return None if scene.checked is None else result_advice(scene.checked)


def _without_session(state: StationState) -> Advice | None:
    """What must be done before anything is built, None when something is."""
    if state.session is not None:
        return None
    choose = Advice(Mark.SET_DOWN, ("CHOOSE A DISH",), "press P and choose what is built")
    return refusal(state.check) or choose


def _kept(state: StationState) -> str:
    """What is not lost while the scale is."""
    if state.checking is not None:
        return "; the check goes on when it is back, S abandons it"
    return "; the build is kept" if state.live and state.live.build else ""


_LINK: Final = MappingProxyType(
    {
        LinkState.OPENING: ("SCALE NOT ON YET", "waiting for the scale's first weight"),
        LinkState.OVERLOAD: ("TOO HEAVY", "more than the scale can weigh: take some off"),
        LinkState.UNDERLOAD: ("BELOW ZERO", "empty the scale and press its zero key"),
        LinkState.UNSUCCESSFUL: ("NO WEIGHT", "the scale could not weigh: let it come to rest"),
        LinkState.FAULT: ("SCALE FAULT", "the scale says that it is faulty: tell the trainer"),
        LinkState.WRONG_UNIT: ("WRONG UNIT", "press the scale's unit key"),
        LinkState.STALE: ("SCALE SILENT", "no weight comes from the scale"),
        LinkState.ASLEEP: ("SCALE ASLEEP", "switch the scale on again"),
        LinkState.LOST: ("SCALE LOST", "the scale is unplugged or switched off"),
        LinkState.FLAPPING: ("SCALE LOST AGAIN", "the scale comes and goes: tell the trainer"),
        LinkState.BUSY: ("SCALE IN USE", "another program has the scale: tell the trainer"),
    }
)


def _place(live: Live, recipe: Recipe, _writing: Writing) -> Advice:
    container = recipe.profile.container.name
    if live.settled and live.pan_g > _LADEN_G:
        line = f"take off what is on the scale, then set an empty {container} on it"
        return Advice(Mark.SET_DOWN, ("CLEAR THE SCALE", "CLEAR IT"), line)
    name = container.split(",")[0]
    return Advice(
        Mark.SET_DOWN,
        (f"SET DOWN {name.upper()}", "SET DOWN"),
        f"set an empty {container} on the scale",
    )


def _add(live: Live, recipe: Recipe, writing: Writing) -> Advice:
    if live.odd is not None and may_be_swapped(live):
        own = recipe.profile.container
        weights = writing.text(live.odd.tare_g), writing.text(own.tare_g)
        line = odd_line(live.odd.name, own.name, weights)
        return Advice(Mark.DOUBT, ("WRONG CONTAINER?", "WRONG ONE?"), line)
    step = recipe.step(live.step)
    amount = writing.amount(live.amount_g)
    gestures = to_go(step, live.net_g, live.amount_g, live.scoops) if step else ""
    name = f" of {short_name(step)}" if step else ""
    return Advice(
        Mark.ADD, (f"ADD {amount}",), f"add {amount}{name}" + (f": {gestures}" if gestures else "")
    )


def _take_back(live: Live, recipe: Recipe, writing: Writing) -> Advice:
    amount = writing.amount(live.amount_g)
    step = recipe.step(live.step)
    name = f" of {short_name(step)}" if step else ""
    return Advice(Mark.TAKE_BACK, (f"TAKE BACK {amount}",), f"take back {amount}{name}")


def _next(live: Live, recipe: Recipe, _writing: Writing) -> Advice:
    step = recipe.step(live.next_step)
    if step is None:
        return Advice(Mark.GOOD, ("GOOD",), "good: that was the last ingredient")
    name = short_name(step)
    tool = tool_line(step)
    if live.doubt is not None:
        line = f"next is {name}; this scale is too coarse to judge the one before"
        return Advice(Mark.DOUBT, (f"> {name.upper()}", "NEXT"), line)
    headlines = (f"GOOD > {name.upper()}", f"> {name.upper()}", "GOOD")
    return Advice(Mark.GOOD, headlines, f"good: next is {name}" + (f" ({tool})" if tool else ""))


def _hand_over(live: Live, recipe: Recipe, _writing: Writing) -> Advice:
    step = recipe.step(live.next_step) or recipe.step(live.step)
    place = (step and step.position) or "next scale"
    headlines = (f"GOOD > {place.upper()}", "PASS IT ON")
    return Advice(Mark.DONE, headlines, f"good: pass it on to the {place}")


def _return(live: Live, recipe: Recipe, _writing: Writing) -> Advice:
    undone = sum(rung.verdict is None for rung in live.ladder)
    steps = count_of(undone, "ingredient")
    return Advice(Mark.SET_DOWN, ("PUT IT BACK",), f"set it back on the scale: {steps} to go")


def _lift(live: Live, recipe: Recipe, writing: Writing) -> Advice:
    marks = {rung.step: rung_mark(rung, live.step) for rung in live.ladder}
    amiss = _amiss(marks, recipe)
    words = f"lift it off: {writing.text(live.total_net_g)}"
    if amiss or set(marks.values()) <= {RungMark.PASS, RungMark.NOW}:
        words += f", {amiss or 'everything passed'}"
    if live.confirms:
        words += f"; {count_of(len(live.confirms), 'check')} to answer: press C"
    if amiss:
        return Advice(Mark.AMISS, ("DONE, NOT ALL GOOD", "NOT ALL GOOD"), words)
    return Advice(Mark.DONE, ("DONE: TAKE IT", "DONE"), words)


def _wait(_live: Live, _recipe: Recipe, _writing: Writing) -> Advice:
    return Advice(Mark.WAIT, ("WAIT",), "hands off for a moment: the weight is moving")


def _check(live: Live, recipe: Recipe, _writing: Writing) -> Advice:
    step = recipe.step(live.step)
    name = short_name(step) if step else "the last one"
    line = f"not clear: {name} in? press N for yes, U for no, or ask the trainer"
    return Advice(Mark.DOUBT, (f"{name.upper()} IN?", "WHICH ONE?"), line)


_ASKED: Final[MappingProxyType[Ask, Callable[[Live, Recipe, Writing], Advice]]] = MappingProxyType(
    {
        Ask.PLACE: _place,
        Ask.ADD: _add,
        Ask.TAKE_BACK: _take_back,
        Ask.NEXT: _next,
        Ask.HAND_OVER: _hand_over,
        Ask.RETURN: _return,
        Ask.LIFT: _lift,
        Ask.WAIT: _wait,
        Ask.CHECK: _check,
    }
)


def _amiss(marks: Mapping[str, RungMark], recipe: Recipe) -> str:
    """The steps that are done and did not pass, each with its word; "" when there are none."""
    return ", ".join(
        f"{name_of(recipe.profile, step)} {mark.word}"
        for step, mark in marks.items()
        if mark not in {RungMark.PASS, RungMark.NOW, RungMark.OPEN, RungMark.TODO}
    )


def may_be_swapped(live: Live) -> bool:
    """Whether the container holds no food yet, so that another can still take its place."""
    return live.total_net_g < _NO_FOOD_G


def odd_line(name: str | None, asked_for: str | None, weights: tuple[str, str]) -> str:
    """What stands on the scale, if that is known, instead of what the dish asks for."""
    if name is not None:
        return f"this is the {name}: the dish asks for the {asked_for}"
    return f"this container weighs {weights[0]}, the dish's {weights[1]}: swap it, or just begin"


def asked(check: Confirm) -> str:
    """What to look at and, unless it is always to be, at which orders."""
    return check.ask if check.when == "always" else f"{check.ask} ({check.when})"


def name_of(profile: BuildProfile, step_id: str) -> str:
    """The short name of a step's ingredient; the id when the profile has no such step."""
    return next((short_name(step) for step in profile.steps if step.id == step_id), step_id)
