"""A check of the scale on the cook's screen: what each widget shows of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from scaled.core.checkup import Spot
from scaled.core.verification import Finding
from scaled.screens.marks import RungMark
from scaled.screens.shown import Card, Number, RungLine, View
from scaled.screens.weight import Writing
from scaled.station.check_run import CheckingState
from scaled.station.day_check import CheckState, Fitness

TITLE: Final = "Check of the scale"


def of_check(of_build: View, card: Card, ladder: tuple[RungLine, ...]) -> View:
    """The screen with a check in the build's place."""
    return replace(of_build, title=TITLE, card=card, gauge=None, ladder=ladder, checks=())


def check_card(checking: CheckingState) -> Card:
    """The load it is about."""
    load = checking.load
    kicker = f"load {checking.number} of {len(checking.loads)} · {load.trial}"
    judged = f"judged by {checking.table}"
    if checking.abandoned:
        return Card(name="the check is abandoned", say="nothing of it is kept")
    if checking.empty:
        follows = f"then {load}" if checking.to_go else "then it is judged"
        return Card(kicker=kicker, name=follows, say=judged)
    return Card(kicker=kicker, name=str(load), short=load.spot.upper(), say=judged)


def check_number(checking: CheckingState, *, alive: bool) -> Number:
    """What the scale shows now."""
    if checking.shown_g is None:
        return Number()
    written = Writing(step=min(1.0, checking.division_g))
    wanted_g = 0.0 if checking.empty else checking.load.load_g
    return Number(
        digits=written.digits(checking.shown_g),
        widest=written.digits(max(load.load_g for load in checking.loads)),
        unit=written.unit,
        caption=f"of {written.text(wanted_g)}" if alive else "old weight",
        alive=alive,
    )


def check_ladder(checking: CheckingState) -> tuple[RungLine, ...]:
    """All loads, and how far off the scale was at those weighed."""
    finer = Writing(step=min(1.0, checking.division_g) / 10)
    weighed = len(checking.errors_g)
    lines = []
    for place, load in enumerate(checking.loads):
        mark = RungMark.NOW if place == checking.number - 1 else RungMark.TODO
        error = ""
        if place < weighed:
            mark, text = RungMark.DONE, finer.text(checking.errors_g[place])
            error = text if text.startswith("-") else f"+{text}"
        spot = "" if load.spot is Spot.MIDDLE else f" {load.spot}"
        lines.append(RungLine(mark, f"{load.weights}{spot}", error))
    return tuple(lines)


def result_card(check: CheckState) -> Card:
    """What came of it, when it was made and by whom."""
    at = f"{check.checked_at.astimezone():%H:%M}" if check.checked_at else ""
    kicker = " · ".join(part for part in ("checked", at, check.badge) if part)
    failed = next((finding for finding in check.findings if not finding.holds), None)
    say = f"judged by {check.table}" if failed is None else _failure(failed)
    fit = check.fitness is Fitness.FIT
    name = "this scale is fit" if fit else "this scale is not fit"
    return Card(kicker=kicker, name=name, short="FIT" if fit else "NOT FIT", say=say)


def result_ladder(check: CheckState) -> tuple[RungLine, ...]:
    """Each trial, its worst and what is allowed."""
    return tuple(
        RungLine(
            RungMark.PASS if finding.holds else RungMark.FAILS,
            finding.trial,
            f"{abs(finding.worst_g):.1f}/{finding.limit_g:g} g",
        )
        for finding in check.findings
    )


def today(check: CheckState | None) -> str:
    """What is known of the scale today, in one line."""
    if check is None or check.checked_at is None:
        return "not checked today"
    word = "fit" if check.fitness is Fitness.FIT else "not fit"
    return f"checked today at {check.checked_at.astimezone():%H:%M}: {word}, by {check.table}"


def _failure(finding: Finding) -> str:
    if not finding.steady:
        return f"{finding.trial}: the weight did not come to rest at {finding.where}"
    off = f"{abs(finding.worst_g):.1f} g off at {finding.where}"
    return f"{finding.trial}: {off}; {finding.limit_g:g} g is allowed"
