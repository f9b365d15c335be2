from __future__ import annotations

from scaled.core.events import Verdict
from scaled.core.live import Rung, StepState
from scaled.screens.blocks import draw
from scaled.screens.marks import Mark, RungMark, rung_mark, verdict_mark
from scaled.screens.palette import ROLES


def test_every_mark_has_a_large_shape_of_its_own_and_a_colour() -> None:
    assert len({tuple(draw(mark, 0)) for mark in Mark}) == len(Mark)
    assert {mark.role for mark in Mark} <= set(ROLES)


def test_every_verdict_has_a_shape_a_word_and_a_colour_of_its_own() -> None:
    marks = [verdict_mark(verdict) for verdict in Verdict]
    assert [mark.word for mark in marks] == ["pass", "over", "under", "unsure"]
    assert len({mark.role for mark in marks}) == len(marks)
    assert {mark.role for mark in RungMark} <= set(ROLES)


def test_a_step_that_is_not_done_is_never_called_under() -> None:
    for state in (StepState.TODO, StepState.OPEN):
        for current in ("peas", "rice", None):
            mark = rung_mark(Rung("peas", state, 3.0), current)
            assert mark in {RungMark.TODO, RungMark.NOW, RungMark.OPEN}


def test_a_filled_step_without_its_final_word_is_open() -> None:
    assert rung_mark(Rung("peas", StepState.OPEN, 120.0), "rice") is RungMark.OPEN
    assert rung_mark(Rung("peas", StepState.OPEN, 60.0), "peas") is RungMark.NOW


def test_a_skipped_step_is_called_so() -> None:
    rung = Rung("peas", StepState.DONE, None, Verdict.UNDER, None, skipped=True)
    assert rung_mark(rung, None) is RungMark.SKIPPED
