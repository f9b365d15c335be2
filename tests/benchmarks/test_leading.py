"""The figures of builds led by a screen are what happened."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from statistics import median

import pytest

from simulators.habits import CLEAN, UNTRAINED
from tests.benchmarks.corpus import BUILDS_A_RUN, Case
from tests.benchmarks.leading import ALL, NARROW, Seen, report, tally
from tests.benchmarks.obedience import failures, watch


@pytest.fixture(scope="module")
def seen() -> Seen:
    """One run of a cook who has to be led."""
    return watch(Case("millstone-flatbread", "1 g", 10, 7700, UNTRAINED))


def test_steps_are_counted_where_the_scale_can_judge_them(seen: Seen) -> None:
    cells = tally([seen]).cells
    # Limits 3.4 g apart for herbs and 3.97 g for onion are too narrow for divisions of 1 g.
    assert {name: cell.steps.total() / BUILDS_A_RUN for name, cell in cells.items()} == {
        ALL: 4, "d = 1 g": 4, "10 readings/s": 4, "millstone-flatbread": 4, NARROW: 2,
    }  # fmt: skip
    assert cells[ALL].alone[True] < cells[ALL].steps[True]


def test_time_lost_is_against_a_trained_cook_without_a_screen(seen: Seen) -> None:
    case, guided, reference = seen
    assert reference == watch(replace(case, habits=CLEAN))[1].alone
    usual_s = median(truth.lifted_s - truth.placed_s for truth in reference)
    cell = tally([seen]).cells[ALL]
    took_s = [build.truth.lifted_s - build.truth.placed_s for build in guided.builds]
    assert cell.lost_s == pytest.approx([one_s - usual_s for one_s in took_s])
    assert cell.lost == pytest.approx([one_s / usual_s - 1 for one_s in took_s])


def test_a_build_given_up_is_a_dead_end_and_has_no_good_step(seen: Seen) -> None:
    case, guided, reference = seen
    first, *others = guided.builds
    stuck = replace(guided, builds=(replace(first, gave_up="stands before: wait"), *others))
    cell = tally([(case, stuck, reference)]).cells[ALL]
    assert cell.dead_ends == Counter({"stands before: wait": 1})
    assert cell.steps[False] >= 4
    assert len(cell.took_s) == BUILDS_A_RUN - 1
    assert "build 1: dead end, stands before: wait" in next(failures(case, stuck))


def test_the_table_has_a_row_for_each_cell_under_its_heads(seen: Seen) -> None:
    head, *rows = report(tally([seen]))
    cells = [name for name in tally([seen]).cells if name != NARROW]
    table = {row[:25].strip(): row[25:].split() for row in rows[: len(cells)]}
    assert table.keys() == set(cells)
    assert {len(row) for row in table.values()} == {10}
    assert {len(row.rstrip()) for row in rows[: len(cells)]} == {len(head)}
    assert rows[len(cells)].startswith(NARROW)
