"""Whole checks at simulated scales: a good one, and each kind of bad one."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.checkup import Trial
from scaled.core.load_asked import Hitch
from scaled.core.permissible import Standard
from scaled.core.reading import Reading, Unit
from scaled.core.units import Grams
from scaled.core.verification import Verification
from scaled.core.verifying import Verifying
from simulators.pan_make import PanMake
from tests.core.checked import KITCHEN, Checked, checkup, scale

TABLES = {
    Standard.OIML_R76: "OIML R 76-1:2006, Table 6, class III, in service (3.5.2)",
    Standard.NIST_HB44: "NIST Handbook 44, 2.20, Table 6, class III, maintenance",
}
SEEDS = (1, 2, 3)


def failed(verification: Verification) -> set[Trial]:
    return {finding.trial for finding in verification.findings if not finding.holds}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("standard", Standard)
class TestScales:
    def test_a_good_one_is_fit(self, standard: Standard, seed: int) -> None:
        verification = Checked(scale(), checkup(standard), seed).obey()
        assert verification.holds
        assert verification.table == TABLES[standard]
        assert [finding.trial for finding in verification.findings] == list(Trial)
        assert abs(verification.accuracy.error_g) < 1.0

    def test_one_worn_in_its_span_is_not(self, standard: Standard, seed: int) -> None:
        verification = Checked(scale(span=1.003), checkup(standard), seed).obey()
        assert not verification.holds
        assert Trial.LINEARITY in failed(verification)
        assert verification.table == TABLES[standard]
        assert verification.accuracy.error_g == pytest.approx(7.5, abs=1.0)
        assert verification.accuracy.load_g == 2500.0

    def test_one_worn_in_its_bearings_is_not(self, standard: Standard, seed: int) -> None:
        verification = Checked(scale(friction_g=10.0), checkup(standard), seed).obey()
        assert Trial.REPEATABILITY in failed(verification)
        assert verification.table == TABLES[standard]

    def test_one_off_centre_is_not(self, standard: Standard, seed: int) -> None:
        verification = Checked(scale(tilt=0.003), checkup(standard), seed).obey()
        assert failed(verification) == {Trial.ECCENTRICITY}
        assert verification.table == TABLES[standard]
        # 6 g at 2 kg on either side: anywhere in between.
        assert verification.accuracy.spot_share == pytest.approx(0.003 / math.sqrt(3), rel=0.1)

    def test_one_that_drifts_is_not(self, standard: Standard, seed: int) -> None:
        verification = Checked(scale(drift_g=8.0), checkup(standard), seed).obey()
        assert Trial.ZERO_RETURN in failed(verification)
        assert verification.table == TABLES[standard]


def test_a_repaired_one_is_held_to_half_as_much() -> None:
    in_use = Checked(scale(span=1.0008), checkup()).obey()
    new = Checked(scale(span=1.0008), checkup(new=True)).obey()
    assert in_use.holds
    assert failed(new) >= {Trial.LINEARITY}


def hitch(checked: Checked) -> Hitch | None:
    asked = checked.verifying.asked
    assert asked is not None
    return asked.hitch


def at_first_load() -> Checked:
    checked = Checked(scale(), checkup())
    checked.play(6.0)
    asked = checked.verifying.asked
    assert asked is not None
    assert str(asked.lay) == "500 g, middle"
    return checked


def test_an_empty_pan_that_is_not_at_zero_is_told_of() -> None:
    checked = Checked(scale(), checkup())
    checked.hands.place(20.0)
    checked.play(6.0)
    assert hitch(checked) is Hitch.NOT_ZERO
    checked.hands.place(0.0)
    checked.play(5.0)
    assert str(checked.verifying.asked and checked.verifying.asked.lay) == "500 g, middle"


def test_another_weight_is_told_of_and_never_taken() -> None:
    checked = at_first_load()
    checked.hands.place(1000.0)
    checked.play(60.0)
    assert hitch(checked) is Hitch.OTHER_WEIGHT
    checked.hands.place(500.0)
    checked.play(5.0)
    asked = checked.verifying.asked
    assert asked is not None
    assert (asked.number, asked.lay, asked.hitch) == (2, None, None)


def test_a_scale_that_is_badly_off_is_told_of_then_taken_at_its_word() -> None:
    checked = at_first_load()
    checked.hands.place(450.0)
    checked.play(6.0)
    assert hitch(checked) is Hitch.OTHER_WEIGHT
    checked.play(8.0)
    asked = checked.verifying.asked
    assert asked is not None
    assert asked.lay is None


def test_something_left_on_the_pan_is_told_of() -> None:
    checked = at_first_load()
    checked.hands.place(500.0)
    checked.play(6.0)
    checked.hands.place(60.0)
    checked.play(6.0)
    assert hitch(checked) is Hitch.NOT_EMPTY


def test_a_weight_that_stays_on_the_pan_is_simply_waited_for() -> None:
    checked = at_first_load()
    checked.hands.place(500.0)
    checked.play(60.0)
    assert hitch(checked) is None


def test_one_that_never_rests_is_told_of_and_is_not_fit() -> None:
    checked = at_first_load()
    checked.hands.place(500.0)
    for _ in range(10):
        checked.hands.add(9.0)
        checked.play(0.4)
        checked.hands.add(-9.0)
        checked.play(0.4)
    assert hitch(checked) is Hitch.MOVING
    for _ in range(40):
        checked.hands.add(9.0)
        checked.play(0.4)
        checked.hands.add(-9.0)
        checked.play(0.4)
    verification = checked.obey()
    assert Trial.LINEARITY in failed(verification)
    assert not verification.weighings[0].steady


def test_the_same_readings_give_the_same_findings() -> None:
    assert Checked(scale(), checkup(), 5).obey() == Checked(scale(), checkup(), 5).obey()


@pytest.mark.parametrize("make", [scale(), scale(drift_g=8.0, friction_g=5.0)])
def test_the_readings_kept_of_it_give_the_same_findings(make: PanMake) -> None:
    checked = Checked(make, checkup(), 7)
    verification = checked.obey()
    again = Verifying(checkup())
    for reading in checked.verifying.taken:
        again.read(reading)
    assert again.verification == verification


def test_a_rest_is_not_counted_across_a_gap() -> None:
    checked = at_first_load()
    checked.hands.place(500.0)
    checked.play(2.5)
    checked.verifying.read(Reading(checked.t + 60.0, 500.0))
    asked = checked.verifying.asked
    assert asked is not None
    assert str(asked.lay) == "500 g, middle"
    for tenth in range(1, 45):
        checked.verifying.read(Reading(checked.t + 60.0 + tenth / 10, 500.0))
    asked = checked.verifying.asked
    assert asked is not None
    assert asked.lay is None


def test_what_was_seen_of_each_load_is_told_as_it_is_weighed() -> None:
    checked = at_first_load()
    assert not checked.verifying.errors_g
    checked.hands.place(503.0)
    checked.play(6.0)
    (error_g,) = checked.verifying.errors_g
    assert error_g == pytest.approx(3.0, abs=0.6)


def test_what_lies_there_as_asked_has_only_to_lie_still() -> None:
    checked = Checked(scale(), checkup())
    seen = [checked.verifying.lies]
    checked.play(6.0)
    for load_g in (0.0, 500.0):
        checked.hands.place(load_g)
        checked.play(0.6)
        seen.append(checked.verifying.lies)
    assert seen == [False, False, True]


def test_the_pan_is_known_to_be_empty_again() -> None:
    checked = Checked(scale(), checkup())
    seen = [checked.verifying.emptied]
    for seconds, load_g in ((6.0, 500.0), (1.0, 0.0), (0.2, 0.0), (2.0, 0.0)):
        checked.play(seconds)
        seen.append(checked.verifying.emptied)
        checked.hands.place(load_g)
    assert seen == [True, True, False, False, True]


def test_a_long_wait_fills_no_memory() -> None:
    checked = at_first_load()
    checked.play(300.0)
    checked.hands.place(500.0)
    checked.play(5.0)
    assert len(checked.verifying.taken) <= 1100


READING = st.builds(
    Reading,
    st.floats(-10, 1000),
    st.one_of(st.floats(), st.sampled_from([0.0, 500.0, 2000.0])),
    st.sampled_from([None, *Unit]),
    st.sampled_from([None, True, False]),
)


@given(st.lists(READING, max_size=200))
def test_no_stream_breaks_it(readings: list[Reading]) -> None:
    verifying = Verifying(checkup())
    for reading in readings:
        verifying.read(reading)
    asked = verifying.asked
    assert asked is not None
    assert 1 <= asked.number <= asked.of


def test_what_makes_no_sense_changes_nothing() -> None:
    checked = at_first_load()
    before = checked.verifying.asked
    for weight in (math.nan, math.inf, 1e9):
        checked.verifying.read(Reading(checked.t + 1, weight))
    assert checked.verifying.asked == before
    assert checked.verifying.verification is None


def test_what_comes_after_the_end_changes_nothing() -> None:
    checked = Checked(scale(), checkup())
    verification = checked.obey()
    checked.hands.place(500.0)
    checked.play(10.0)
    assert checked.verifying.verification == verification


def test_the_corrected_error() -> None:
    # OIML R 76-1:2006, A.4.4.3, built: E0 = 0.5 g, P = 1 001.0 g at 1 000 g: Ec = 0.5 g.
    from scaled.core.checkup import Spot  # noqa: PLC0415
    from scaled.core.verification import Weighing  # noqa: PLC0415

    weighing = Weighing(Trial.LINEARITY, 1000.0, Spot.MIDDLE, 0.5, 1001.0, 0.0, 0.1)
    assert weighing.error_g == 0.5


def test_a_budget_of_one_weighing() -> None:
    """A third of 2 g as rectangular, two readings of 1 g (JCGM 100:2008, 4.3.7, F.2.2.1)."""
    weighing = Checked(scale(), checkup()).obey().weighings[1]
    assert weighing.load_g == 2000.0
    expected = math.sqrt((2 / 3) ** 2 / 3 + 2 / 12)
    assert weighing.u_g == pytest.approx(expected, rel=0.02)
    assert isinstance(KITCHEN.division_g, Grams)
