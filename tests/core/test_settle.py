"""When the pan is at rest, at what level, and how well that level is known."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable
from random import Random

import pytest

from scaled.core.rest import GAP_S, Phase, Rest
from scaled.core.settle import Settler

Told = tuple[Phase, Rest]
Sample = tuple[float, float]
ROUNDED = 1 / math.sqrt(12)
"""Standard uncertainty of one rounded reading, in divisions (JCGM 100:2008, F.2.2.1)."""


def shown(weight_g: float, division_g: float = 1.0) -> float:
    return math.floor(weight_g / division_g + 0.5) * division_g


def at(rate_hz: float, weights: Iterable[float], since_s: float = 0.0) -> list[Sample]:
    return [(since_s + i / rate_hz, weight) for i, weight in enumerate(weights)]


def told(samples: Iterable[Sample], settler: Settler) -> list[Told]:
    return [said for t, weight in samples if (said := settler.read(t, weight))]


def follow(load_g: float, n: int, rate_hz: float = 10, lag_s: float = 0.1) -> list[float]:
    """A display that follows a load set down at once, with one lag."""
    return [shown(load_g * (1 - math.exp(-i / rate_hz / lag_s))) for i in range(n)]


def of(phase: Phase, said: list[Told]) -> list[Rest]:
    return [rest for its, rest in said if its is phase]


# A rest.


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("division_g", [0.1, 0.5, 1.0, 2.0, 5.0])
def test_a_quiet_pan_is_at_rest_where_it_shows(rate_hz: float, division_g: float) -> None:
    settler = Settler(division_g)
    level_g = 100 * division_g
    said = told(at(rate_hz, [level_g] * 60), settler)
    assert [phase for phase, _ in said] == [Phase.BEGAN, Phase.REFINED]
    (began,), (refined,) = of(Phase.BEGAN, said), of(Phase.REFINED, said)
    assert began.begin_s == 0.0
    assert began.at_s < 1.0
    assert began.level_g == refined.level_g == pytest.approx(level_g)
    assert ROUNDED * division_g * 0.999 <= refined.u_g <= began.u_g <= max(division_g, 0.2)
    assert settler.resting


def test_time_runs_from_anywhere() -> None:
    weights = [0.0] * 16 + [40.0 * i for i in range(8)] + [300.0] * 24
    early, late = Settler(1.0), Settler(1.0)
    first = told(at(8, weights), early)  # steps of 1/8 s and this shift are exact floats
    then = told(at(8, weights, since_s=4096.0), late)
    assert len(first) > 2
    assert [
        (phase, rest._replace(begin_s=rest.begin_s - 4096.0, at_s=rest.at_s - 4096.0))
        for phase, rest in then
    ] == first


def test_a_rest_ends_when_the_weight_leaves_and_the_next_begins() -> None:
    settler = Settler(1.0)
    said = told(at(10, [20.0] * 30 + [20 + w for w in follow(40.0, 30)]), settler)
    phases = [phase for phase, _ in said]
    assert phases == [Phase.BEGAN, Phase.REFINED, Phase.ENDED, Phase.BEGAN, Phase.REFINED]
    first, second = of(Phase.ENDED, said)[0], of(Phase.BEGAN, said)[1]
    assert first.level_g == pytest.approx(20.0, abs=0.01)
    assert second.level_g == pytest.approx(60.0, abs=2 * second.u_g)
    assert second.begin_s == pytest.approx(3.3, abs=0.3)
    assert second.pause_s == pytest.approx(2.9, abs=0.2)


def test_the_heaviest_weight_on_the_way_is_kept() -> None:
    way = [30.0, 90.0, 180.0, 95.0, 66.0, 61.0]
    said = told(at(10, [20.0] * 30 + way + [60.0] * 20), Settler(1.0))
    assert of(Phase.BEGAN, said)[1].peak_g == 180.0


def test_a_jump_without_a_reading_between_is_abrupt_and_a_load_is_not() -> None:
    jump = told(at(10, [200.0] * 30 + [0.0] * 20), Settler(1.0))
    assert of(Phase.BEGAN, jump)[1].abrupt
    load = told(at(10, [200.0] * 30 + [200 - w for w in follow(200.0, 20)]), Settler(1.0))
    assert not of(Phase.BEGAN, load)[1].abrupt


@pytest.mark.parametrize(("was_g", "abrupt"), [(20.0, None), (25.0, True)])
def test_a_way_of_a_few_divisions_hides_how_it_was_gone(was_g: float, abrupt: bool | None) -> None:
    jump = told(at(10, [was_g] * 30 + [0.0] * 20), Settler(5.0))
    assert of(Phase.BEGAN, jump)[1].abrupt is abrupt


def test_a_flicker_before_a_jump_is_no_movement() -> None:
    stood = [264.0, 266.0] * 30 + [268.0, 266.0, 268.0, 268.0]
    jump = told(at(20, stood + [0.0] * 20), Settler(2.0))
    assert [rest.abrupt for rest in of(Phase.BEGAN, jump)] == [False, True]
    left = told(at(20, [*stood, 180.0, *([0.0] * 20)]), Settler(2.0))
    assert not of(Phase.BEGAN, left)[1].abrupt


def test_what_falls_from_a_shoulder_is_a_load_that_leaves() -> None:
    """A hand leans on a light bowl as it takes it off."""
    way = [16, 22, 22, 22, 22, 20, 20, 18, 18, 18, 16, 16, 16, 14, 14, 14, 12, 12, 8]
    said = told(at(20, [12.0] * 60 + [float(g) for g in way] + [0.0] * 30), Settler(2.0))
    assert len(of(Phase.PASSED, said)) == 1
    assert of(Phase.BEGAN, said)[1].abrupt is False


@pytest.mark.parametrize("division_g", [0.1, 1.0, 2.0])
@pytest.mark.parametrize(
    ("lag_s", "rate_hz"), [(0.5, 10), (0.5, 20), (0.6, 5), (0.6, 10), (0.6, 20)]
)
def test_a_filter_known_to_be_slow_is_not_taken_for_rest_too_soon(
    lag_s: float, rate_hz: float, division_g: float
) -> None:
    """Half a decaying movement to come, as of a filter that nobody knows, is too little."""
    weights, load_g = [0.0] * int(3 * rate_hz), 0.0
    for _ in range(4):
        coming = (80 * math.exp(-i / rate_hz / lag_s) for i in range(int(6 * rate_hz)))
        load_g += 80.0
        weights += [shown(load_g - left_g, division_g) for left_g in coming]
    rests = of(Phase.BEGAN, told(at(rate_hz, weights), Settler(division_g)))
    fourth = next(rest for rest in rests if rest.at_s > 21.0)
    assert fourth.level_g == pytest.approx(320.0, abs=2 * fourth.u_g)
    assert fourth.u_g <= max(division_g, 0.2)


# What is no rest.


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("slope", [-40.0, -8.0, 8.0, 20.0, 50.0, 200.0])
def test_it_does_not_settle_on_a_ramp(rate_hz: float, slope: float) -> None:
    """Slopes in divisions a second."""
    settler = Settler(1.0)
    for t, weight in at(rate_hz, [shown(slope * i / rate_hz) for i in range(100)]):
        settler.read(t, weight)
        assert not settler.resting


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("slope", [0.2, 0.5, 1.0, 2.0, 4.0])
def test_slow_pouring_is_not_one_rest_for_ever(rate_hz: int, slope: float) -> None:
    """Too slow to be told from rest at once, it is never far from the level last told."""
    settler, level_g = Settler(1.0), 0.0
    for t, weight in at(rate_hz, [shown(slope * i / rate_hz) for i in range(30 * rate_hz)]):
        said = settler.read(t, weight)
        level_g = said[1].level_g if said else level_g
        assert not settler.resting or abs(weight - level_g) <= 2.0


@pytest.mark.parametrize("garbled", [0.0, 950.0, -100.0, 106.0])
@pytest.mark.parametrize("place", [7, 15, 40])
def test_one_garbled_reading_neither_ends_a_rest_nor_moves_it(garbled: float, place: int) -> None:
    weights = [100.0] * 60
    weights[place] = garbled
    settler = Settler(1.0)
    said, resting = [], []
    for t, weight in at(10, weights):
        said += told([(t, weight)], settler)
        resting.append(settler.resting)
    assert not resting[place]  # it may be the first of a movement
    assert resting[place + 1]
    assert [phase for phase, _ in said] == [Phase.BEGAN, Phase.REFINED]
    assert {rest.level_g for _, rest in said} == {100.0}
    ended = told(at(10, follow(300.0, 5), since_s=6.0), settler)
    assert of(Phase.ENDED, ended)[0].level_g == pytest.approx(100.0)


# Readings that are missing.


def test_a_level_is_firm_once_it_gets_no_sharper() -> None:
    settler = Settler(1.0)
    firm = []
    for t, weight_g in at(10, [20.0] * 20):
        said = settler.read(t, weight_g)
        firm.append((settler.firm, said and said[0]))
    began = firm.index((False, Phase.BEGAN))
    refined = firm.index((True, Phase.REFINED))
    assert [one for one, _ in firm] == [n < began or n >= refined for n in range(20)]


@pytest.mark.parametrize(("off_g", "left"), [(1.0, False), (3.0, True)])
def test_the_weight_has_left_its_rest_once_it_was_seen_elsewhere(off_g: float, left: bool) -> None:
    settler = Settler(1.0)
    told(at(10, [20.0] * 20), settler)
    assert not settler.left
    said = told(at(10, [20.0 + off_g] * 2 + [20.0] * 2, since_s=2.0), settler)
    assert bool(of(Phase.ENDED, said)) == left
    assert settler.left == left
    told(at(10, [20.0] * 10, since_s=2.4), settler)
    assert not settler.left


@pytest.mark.parametrize("level_g", [100.0, 140.0])
def test_after_a_silence_the_pan_comes_to_rest_anew(level_g: float) -> None:
    """At the same level, too: nobody saw what was done meanwhile."""
    settler = Settler(1.0)
    told(at(10, [100.0] * 30), settler)
    (ended, before), (began, rest) = told(at(10, [level_g] * 5, since_s=9.0), settler)
    assert (ended, began) == (Phase.ENDED, Phase.BEGAN)
    assert before.level_g == 100.0
    assert rest.begin_s == 9.0
    assert rest.level_g == pytest.approx(level_g)
    assert rest.unseen_s == pytest.approx(6.1)
    assert rest.again_s == 0.0
    assert not rest.abrupt


def test_a_silence_shorter_than_a_deed_changes_nothing() -> None:
    settler = Settler(1.0)
    told(at(10, [100.0] * 30), settler)
    assert told(at(10, [100.0] * 20, since_s=2.9 + GAP_S), settler) == []
    assert settler.resting


@pytest.mark.parametrize("pause_s", [1.1, 1.3, 20.0])
def test_readings_from_before_a_silence_are_no_part_of_the_rest_after_it(pause_s: float) -> None:
    """They passed the level by chance, on their way elsewhere."""
    settler = Settler(1.0)
    told(at(10, [0.0] * 20), settler)
    told(at(10, [20.0, 60.0, 101.0], since_s=2.0), settler)
    (rest,) = of(Phase.BEGAN, told(at(10, [100.0] * 6, since_s=2.2 + pause_s), settler))
    assert rest.begin_s >= 2.2 + pause_s
    assert rest.level_g == pytest.approx(100.0)
    assert rest.peak_g == 101.0
    assert rest.unseen_s == pytest.approx(pause_s)


def test_what_moves_on_after_a_silence_is_told_from_what_rests() -> None:
    settler = Settler(1.0)
    told(at(10, [0.0] * 20), settler)
    told(at(10, [20.0, 60.0], since_s=2.0), settler)
    (rest,) = of(Phase.BEGAN, told(at(10, [200 + w for w in follow(60, 30)], since_s=5), settler))
    assert rest.unseen_s == pytest.approx(2.9)
    assert rest.again_s == pytest.approx(rest.begin_s - 5.0)
    assert rest.again_s > 0.2


@pytest.mark.parametrize("again_g", [150.0, 30.0, 151.0])
def test_a_silence_within_a_movement_is_no_place_where_it_stood_still(again_g: float) -> None:
    settler = Settler(1.0)
    told(at(10, [0.0] * 20), settler)
    told(at(10, [30.0, 60.0, 90.0, 120.0, 150.0], since_s=2.0), settler)
    onward = [again_g + 30 * i for i in range(8)]
    said = told(at(10, [*onward, *[onward[-1]] * 8], since_s=8.0), settler)
    assert [phase for phase, _ in said] == [Phase.BEGAN]


def test_what_went_on_in_a_silence_is_told_as_a_whole() -> None:
    """Two gestures after it leave a shoulder, which a movement seen from its start would tell."""
    scoops = [*follow(60.0, 5), *[60 + w for w in follow(60.0, 20)]]
    seen, cut = Settler(1.0), Settler(1.0)
    whole = told(at(10, [0.0] * 20 + scoops), seen)
    assert Phase.PASSED in [phase for phase, _ in whole]
    told(at(10, [0.0] * 20), cut)
    after = told(at(10, scoops, since_s=5.0), cut)
    assert [phase for phase, _ in after] == [Phase.ENDED, Phase.BEGAN, Phase.REFINED]


def test_the_rest_before_a_silence_keeps_its_level_without_the_hand_at_its_end() -> None:
    """A hand is felt before it is seen, and nobody saw it."""
    settler = Settler(1.0)
    ((_, before), _) = told(at(10, [100.0] * 40 + [101.0] * 5), settler)[-2:]
    assert before.level_g == 100.0
    (ended, *_) = told(at(10, [160.0] * 5, since_s=9.0), settler)
    assert ended[0] is Phase.ENDED
    assert ended[1].level_g == pytest.approx(100.0)


# How well the level is known.


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("division_g", [0.1, 0.2, 0.5, 1.0, 2.0, 5.0])
def test_the_true_weight_lies_within_two_uncertainties(rate_hz: float, division_g: float) -> None:
    """About 5 % may lie outside (JCGM 100:2008, G.1.3: k = 2 for about 95 %)."""
    # 500 rests: if 5 % lie outside, more than 8 % do so in 1 run of 500 at most.
    random = Random(int(rate_hz * 1000 + division_g * 10))  # noqa: S311 -- noise
    outside, known = 0, []
    for _ in range(500):
        level_g = random.uniform(5, 500)
        noise_g = random.uniform(0, 0.6) * division_g
        weights = [
            shown(level_g + random.gauss(0, noise_g), division_g) for _ in range(3 * int(rate_hz))
        ]
        rest = of(Phase.BEGAN, told(at(rate_hz, weights), Settler(division_g)))[0]
        outside += abs(rest.level_g - level_g) > 2 * rest.u_g
        known.append(rest.u_g)
    assert outside <= 0.08 * 500
    # Nor is it bought by knowing nothing.
    assert statistics.median(known) <= max(0.6 * division_g, 0.2)


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
def test_the_wait_for_the_display_is_in_the_uncertainty(rate_hz: float) -> None:
    random = Random(int(rate_hz))  # noqa: S311 -- noise
    outside = 0
    for _ in range(300):
        load_g = random.uniform(5, 500)
        rest = of(Phase.BEGAN, told(at(rate_hz, follow(load_g, 40, rate_hz)), Settler(1.0)))[0]
        outside += abs(rest.level_g - load_g) > 2 * rest.u_g
    assert outside <= 0.08 * 300


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
def test_noise_of_two_divisions_still_settles(rate_hz: int) -> None:
    random = Random(rate_hz)  # noqa: S311 -- noise
    for _ in range(20):
        weights = [shown(120.0 + random.gauss(0, 2.0)) for _ in range(8 * rate_hz)]
        rest = of(Phase.BEGAN, told(at(rate_hz, weights), Settler(1.0)))[0]
        assert abs(rest.level_g - 120.0) < 5 * rest.u_g
        assert rest.u_g > ROUNDED


# The scale's own mark.


def marked(samples: list[Sample], since_s: float) -> list[tuple[float, float, bool]]:
    """The scale calls itself stable from a time on."""
    return [(t, weight, t >= since_s) for t, weight in samples]


def heard(samples: list[tuple[float, float, bool]], settler: Settler) -> list[Told]:
    return [said for sample in samples if (said := settler.read(*sample))]


RESTLESS = [120.0, 118.0, 121.0, 119.0, 122.0, 120.0, 121.0, 118.0, 120.0, 122.0, 119.0, 121.0]
"""A pan that shakes by some divisions: too much to be told from movement within a second."""


def test_a_rest_that_only_the_scale_is_sure_of_is_one() -> None:
    samples = at(10, [0.0] * 20 + RESTLESS)
    without = told(samples, Settler(1.0))
    assert len(of(Phase.BEGAN, without)) == 1
    with_mark = heard(marked(samples[:20], 0.5) + marked(samples[20:], 3.0), Settler(1.0))
    _, rest = of(Phase.BEGAN, with_mark)
    assert rest.at_s == 3.0
    assert abs(rest.level_g - 120.0) < 2 * rest.u_g
    assert rest.u_g > 0.3  # and it is known no better for that


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("stable", [True, False])
def test_a_mark_that_never_changes_says_nothing(rate_hz: float, stable: bool) -> None:
    random = Random(int(rate_hz))  # noqa: S311 -- noise
    samples, load_g = at(rate_hz, [0.0] * 20), 0.0
    for _ in range(20):
        step_g = random.uniform(-50, 80)
        weights = [shown(load_g + w + random.gauss(0, 0.3)) for w in follow(step_g, 20, rate_hz)]
        samples += at(rate_hz, weights, since_s=len(samples) / rate_hz)
        load_g += step_g
    plain = told(samples, Settler(1.0))
    assert len(plain) > 40
    assert heard([(t, w, stable) for t, w in samples], Settler(1.0)) == plain


def test_a_mark_on_a_pressing_hand_ends_with_the_press() -> None:
    pressed = [100.0] * 20 + [180.0] * 12 + [100.0] * 20
    samples = marked(at(10, pressed)[:20], 0.5) + marked(at(10, pressed)[20:], 2.4)
    levels = [round(rest.level_g) for rest in of(Phase.BEGAN, heard(samples, Settler(1.0)))]
    assert levels == [100, 180, 100]


def test_a_mark_in_the_midst_of_a_movement_makes_no_rest() -> None:
    samples = at(10, [0.0] * 20 + [12.0 * i for i in range(30)])
    said = heard(marked(samples[:20], 0.5) + marked(samples[20:], 2.4), Settler(1.0))
    assert len(of(Phase.BEGAN, said)) == 1


# Before a rest is sure.


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
def test_a_moving_weight_is_told_roughly_before_it_rests(rate_hz: float) -> None:
    random = Random(int(rate_hz))  # noqa: S311 -- noise
    outside, ahead_s = 0, []
    for _ in range(200):
        load_g, settler = random.uniform(5, 500), Settler(1.0)
        told([(-2 + t, w) for t, w in at(rate_hz, [0.0] * int(2 * rate_hz))], settler)
        first: float | None = None
        for t, weight in at(rate_hz, follow(load_g, 40, rate_hz)):
            said, provisional = settler.read(t, weight), settler.provisional
            if said and said[0] is Phase.BEGAN:
                assert provisional is None  # it is settled
                assert first is not None
                ahead_s.append(t - first)
                break
            if provisional is not None:
                assert provisional.u_g <= 1.0
                outside += (
                    first is None and abs(provisional.level_g - load_g) > 2 * provisional.u_g
                )
                first = t if first is None else first
    assert statistics.median(ahead_s) >= 0.19
    assert outside <= 0.08 * 200


def test_nothing_is_told_of_a_weight_that_has_just_begun_to_move() -> None:
    settler = Settler(1.0)
    assert settler.provisional is None
    told(at(10, [0.0] * 20), settler)
    assert settler.provisional is None  # at rest
    for t, weight in at(10, [40.0 * i for i in range(1, 20)], since_s=2.0):
        settler.read(t, weight)
        assert settler.provisional is None


@pytest.mark.parametrize(
    ("blank_s", "between", "abrupt"),
    [
        (0.4, [], None),
        (0.1, [], True),
        (0.4, [70.0], False),  # something was shown on the way
        (1.5, [], False),  # so long that anything can have been done
    ],
)
def test_a_scale_that_shows_nothing_while_it_sets_to_zero_hides_the_way(
    blank_s: float, between: list[float], abrupt: bool | None
) -> None:
    settler = Settler(1.0)
    told(at(10, [100.0] * 20), settler)
    told(at(10, between, since_s=2.0), settler)
    after = at(10, [0.0] * 10, since_s=1.9 + 0.1 * len(between) + blank_s)
    (rest,) = of(Phase.BEGAN, told(after, settler))
    assert rest.abrupt is abrupt
