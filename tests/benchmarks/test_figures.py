"""What is counted, and how the table shows it."""

from __future__ import annotations

import math
import re
from collections import Counter

import pytest

from scaled.catalogue import load_profile
from scaled.core.events import Attribution, Portion, Verdict
from scaled.core.live import Ask, Live
from scaled.core.verdict import Band
from simulators.habits import CLEAN
from tests.benchmarks.corpus import cases, listen, play
from tests.benchmarks.engine import settled_rests, shown_since
from tests.benchmarks.happenings import Fate, Happening
from tests.benchmarks.measure import Figures, Method, count
from tests.benchmarks.rests import RestFigures, TrueRest, true_rests
from tests.benchmarks.rows import ROWS, middle_and_tail, pair_text, rms
from tests.benchmarks.score import StepScore, misjudged
from tests.benchmarks.table import ALL, NAME_WIDTH, cells_of, coarse, table, tally

BAND = Band.around(100.0, 10.0, 10.0)


def judged(true_g: float, net_g: float | None, u_g: float = 1.0) -> str | None:
    verdict = Verdict.UNSURE if net_g is None else BAND.judge(net_g)
    said = Portion(
        t=1.0, build=1, step="grain", net_g=net_g, u_g=None if net_g is None else u_g,
        verdict=verdict, confidence=1.0, attribution=Attribution.SURE,
    )  # fmt: skip
    return misjudged(StepScore("", 1, "grain", true_g, said), BAND)


def test_a_verdict_is_false_only_beyond_its_uncertainty() -> None:
    assert judged(100.0, 100.0) is None
    assert judged(88.1, 90.0) is None
    assert judged(87.9, 90.0) == "false pass"
    assert judged(92.1, 89.0) == "false fail"
    assert judged(0.0, 100.0) == "false pass"
    assert judged(100.0, 0.0, 0.0) == "false fail"
    assert judged(100.0, None) is None


def look(t: float, step: str | None, net_g: float) -> Live:
    return Live(
        t=t, build=1, ask=Ask.ADD, step=step, net_g=net_g, u_g=0.3, settled=True, amount_g=0.0,
        scoops=0, next_step=None, confidence=1.0, pan_g=net_g, total_net_g=net_g, ladder=(),
    )  # fmt: skip


def test_a_weight_is_shown_from_when_step_and_weight_stay() -> None:
    rest = TrueRest(3.0, 3.4, 6.0, 100.0, 100.0, 1.0, plain=True)
    looks = [look(2.9, "a", 80), look(3.1, "a", 80), look(3.3, "b", 80), look(3.6, "a", 78.6)]
    looks += [look(3.8, "a", 79.5), look(5.9, "a", 80), look(6.1, "a", 90)]
    assert list(shown_since(looks, [rest])) == [pytest.approx(0.4)]
    assert list(shown_since([look(5.0, None, 0.0)], [rest])) == []


def test_numbers_in_a_row() -> None:
    assert middle_and_tail([float(n) for n in range(1, 20)]) == (10.0, 19.0)
    assert all(map(math.isnan, middle_and_tail([1.0])))
    assert rms([3.0, -4.0]) == pytest.approx(math.sqrt(12.5))
    assert pair_text((0.404, math.nan), 2) == "0.40 / -"


def test_a_run_as_the_engine_tells_it_is_counted() -> None:
    (case,) = cases(4, ("1 g",), CLEAN, 61)
    run, readings = play(case)
    profile, rests = load_profile(case.profile), true_rests(run, readings)
    figures = count(run, profile, rests, settled_rests(readings, 1.0), listen(case, run, readings))
    assert figures.builds == 4
    assert figures.outcomes.total() == 4 * len(profile.steps)
    assert figures.outcomes["right"] > 0.8 * figures.outcomes.total()
    assert figures.fates[Happening.NEW_BOWL, Fate.RECOGNISED] == 4
    assert len(figures.rests.delays_s) > 0.9 * figures.rests.asked > 20


def made(delay_s: float, **outcomes: int) -> Figures:
    rests = RestFigures(
        asked=4, delays_s=[delay_s] * 3, errors_d=[0.5] * 3, booked_d=[0.25] * 3, told=5, false=1
    )
    return Figures(builds=2, wrong_builds=1, outcomes=Counter(outcomes), rests=rests)


def test_the_table_adds_up_and_divides_by_the_rule() -> None:
    (case,), (fine,) = (cases(4, (division,), CLEAN, 62) for division in ("1 g", "0.1 g"))
    figures = dict.fromkeys(Method, made(0.8, right=5, missed=5))
    figures[Method.ENGINE] = made(0.4, right=9, joint=1)
    cells = tally([(case, figures), (fine, figures)])
    assert set(cells) == {*cells_of(case), *cells_of(fine)}
    assert cells[ALL][Method.RULE].rests.asked == 8
    assert cells[coarse(ALL)][Method.RULE].rests.asked == 4
    printed = list(table(cells, dict.fromkeys(Method, 20.0)))
    shown = {
        line[:NAME_WIDTH].strip(): re.split(r" {2,}", line[NAME_WIDTH:].strip())
        for line in printed
    }
    assert len(shown) == len(ROWS) + 2
    assert shown["rest told after display still, s"] == [
        "0.40 / 0.40", "0.80 / 0.80", "-", "0.80 / 0.80", "0.50 / 0.50",
    ]  # fmt: skip
    assert shown["builds with a wrong step, %"] == ["50.0"] * 4 + ["1.00"]
    assert shown["rests missed, %"] == ["25.0"] * 4 + ["1.00"]
    assert shown["steps right, %"] == ["90.0", "50.0", "50.0", "50.0", "1.80"]
    assert shown["steps without a word, %"] == ["0.0", "50.0", "50.0", "50.0", "0.00"]
    assert shown["level off, told / booked, rms d"][0] == "0.50 / 0.25"
    assert shown["cost, us a reading"] == ["20.0", "20.0", "20.0", "20.0", "1.0"]
