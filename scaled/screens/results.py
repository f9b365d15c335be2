"""What a screen or a log says of the station's events: final words and an odd container."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final

from scaled.core.events import Doubt, Verdict
from scaled.screens.marks import RungMark, verdict_mark
from scaled.screens.scene import Recipe
from scaled.screens.weight import Writing
from scaled.screens.words import name_of, odd_line


def result_line(event: Mapping[str, Any], recipe: Recipe | None) -> str | None:
    """What a finished step or build weighs and how it is judged: ``● pearl barley 121 g, pass``.

    Args:
        event: An event as the wire carries it.
        recipe: The profile it belongs to.

    Returns:
        None for events that need no line.
    """
    line = _LINES.get(event["event"])
    return line(event, recipe) if line else None


def _finished(event: Mapping[str, Any], recipe: Recipe | None) -> str:
    return _judged("the whole build", event, recipe)


def _reopened(event: Mapping[str, Any], recipe: Recipe | None) -> str:
    return f"{RungMark.NOW} {_name(event['step'], recipe)} is open again"


def _handed_over(event: Mapping[str, Any], recipe: Recipe | None) -> str:
    written = recipe.writing if recipe else Writing()
    weight = written.for_uncertainty(event["u_g"]).text(event["net_g"])
    return f"{RungMark.NOW} passed on with {weight} in it"


def _taken_over(event: Mapping[str, Any], _: Recipe | None) -> str | None:
    known = event["became"] is not None
    return f"{RungMark.NOW} goes on where the other scale left off" if known else None


def _odd_container(event: Mapping[str, Any], recipe: Recipe | None) -> str:
    written = recipe.writing if recipe else Writing()
    weights = written.text(event["tare_g"]), written.text(event["expected_g"])
    said = odd_line(event["container"], event["expected"], weights)
    return f"{verdict_mark(Verdict.UNSURE)} {said}"


def _portion(event: Mapping[str, Any], recipe: Recipe | None) -> str:
    names = [_name(step, recipe) for step in (event["step"], *event["joint_with"])]
    if event["skipped"]:
        return f"{RungMark.SKIPPED} {names[0]}, skipped"
    return _judged(" with ".join(names), event, recipe)


def _judged(name: str, event: Mapping[str, Any], recipe: Recipe | None) -> str:
    mark = verdict_mark(Verdict(event["verdict"]))
    weight = ""
    if event["net_g"] is not None:
        written = recipe.writing if recipe else Writing()
        weight = f" {written.for_uncertainty(event['u_g'] or 0.0).text(event['net_g'])}"
    why = _WHY.get(event.get("doubt"), "")
    return f"{mark} {name}{weight}, {mark.word}{why}"


_WHY: Final[Mapping[object, str]] = MappingProxyType(
    {
        Doubt.NEAR_LIMIT: ": too near a limit",
        Doubt.TOO_COARSE: ": too coarse a scale for it",
    }
)


def _name(step_id: str, recipe: Recipe | None) -> str:
    return name_of(recipe.profile, step_id) if recipe else step_id


_LINES: Final[Mapping[str, Callable[[Mapping[str, Any], Recipe | None], str | None]]] = (
    MappingProxyType(
        {
            "portion": _portion,
            "finished": _finished,
            "odd_container": _odd_container,
            "reopened": _reopened,
            "handed_over": _handed_over,
            "taken_over": _taken_over,
        }
    )
)
