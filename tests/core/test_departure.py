"""A build that leaves with steps to go: what is said for good of those that are done."""

from __future__ import annotations

from scaled.core.belief import Belief, Mode
from scaled.core.departure import Sender, depart
from scaled.core.events import Verdict
from scaled.core.ledger import Ledger
from scaled.core.plan import Plan
from scaled.core.share import Share
from tests.core.scripted import dish

PLAN = Plan.of(dish())  # grain 120, beans 60, sauce 30, seeds 12 g


def left(*closed_g: float) -> Belief:
    """A build off the pan with so much of its first steps."""
    shares = tuple(Share((step,), net_g, 0.4, clear=True) for step, net_g in enumerate(closed_g))
    level_g, steps = 20.0 + sum(closed_g), tuple(range(len(closed_g), len(PLAN.steps)))
    return Belief(
        *(Mode.OFF, 0.0, level_g, 0.3, level_g, 0.3, steps[:1], steps[1:]),
        closed=shares,
        base_g=20.0,
        base_u_g=0.3,
    )


def words(*weighed: tuple[float, Belief]) -> list[Verdict]:
    departure = depart(Sender("line", "bowl", "1"), [*weighed], Ledger(PLAN, 1, 5.0), PLAN, 20.0)
    assert departure is not None
    return [word.verdict for word in departure.portions]


def test_a_step_passes_on_where_it_is_hardly_ever_no_good() -> None:
    good, short = left(120.0, 60.0), left(120.0, 30.0)
    assert words((0.98, good), (0.02, short)) == [Verdict.PASS, Verdict.PASS]
    assert words((0.95, good), (0.05, short)) == [Verdict.PASS, Verdict.UNSURE]


def test_what_may_be_elsewhere_may_be_no_good() -> None:
    assert words((0.98, left(120.0))) == [Verdict.PASS]
    assert words((0.95, left(120.0))) == [Verdict.UNSURE]


def test_more_is_asked_beside_a_fault_than_of_what_is_out_of_order() -> None:
    swapped, short = (
        build._replace(closed=build.closed[::-1])
        for build in (left(120.0, 60.0), left(80.0, 60.0))
    )
    assert words((0.95, swapped), (0.05, short)) == [Verdict.PASS, Verdict.PASS]
    faulty, worse = (
        build._replace(closed=build.closed[::-1])
        for build in (left(120.0, 100.0), left(80.0, 100.0))
    )
    assert words((0.95, faulty), (0.05, worse))[1] is Verdict.UNSURE
