"""What goes from a cook's sessions into his next one: the same as if it had been one."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.event_line import event_line, rounded
from scaled.core.events import Attribution, Event, Portion, Verdict
from scaled.core.habit import CARRIED, Deviations
from scaled.core.past import PastSession, habit_from
from scaled.core.session import Session
from tests.core.scripted import CLEAN, STEPS, TRUTH, Cook, dish

DISH = dish()
WANTED = {"grain": "under", "beans": "under", "sauce": "under", "seeds": "pass"}
"""What a cook gets who always puts in a fifth too little."""

offs = st.floats(-0.02, 0.02).map(lambda off: round(off, 4))
builds = st.dictionaries(st.sampled_from(STEPS), offs)
"""Builds of a cook who is hardly off at all: nothing in one session is strange after another."""
shifts = st.lists(st.lists(builds, max_size=6), max_size=6)


def word(
    build: int, step: str, net_g: float | None, how: Attribution = Attribution.SURE
) -> Portion:
    return Portion(
        t=1.0, build=build, step=step, net_g=net_g, u_g=0.5, verdict=Verdict.UNSURE,
        confidence=0.9, attribution=how, skipped=net_g == 0.0,
    )  # fmt: skip


def past(*many: dict[str, float]) -> PastSession:
    """A session in which each build's portions were so far off."""
    said = [
        word(number, step, TRUTH[step] * (1 + off))
        for number, build in enumerate(many, 1)
        for step, off in build.items()
    ]
    return PastSession(DISH, tuple(said))


def flat(habit: Deviations) -> list[tuple[str, int, float]]:
    return sorted((s, place, off) for s, seen in habit.items() for place, off in enumerate(seen))


def about(habit: Deviations) -> list[tuple[str, int, object]]:
    """The same, give or take the rounding of one that was carried."""
    return [(s, place, pytest.approx(off, abs=1e-4)) for s, place, off in flat(habit)]


@given(shifts)
def test_it_does_not_matter_into_how_many_sessions_work_was_cut(
    worked: list[list[dict[str, float]]],
) -> None:
    whole = habit_from(DISH, [past(*(build for shift in worked for build in shift))])
    assert flat(habit_from(DISH, [past(*shift) for shift in worked])) == about(whole)
    handed_on: Deviations = {}
    for shift in worked:
        handed_on = habit_from(DISH, [past(*shift)], handed_on)
    assert flat(handed_on) == about(whole)


@given(shifts)
def test_the_newest_of_each_step_count_and_a_step_never_seen_is_left_out(
    worked: list[list[dict[str, float]]],
) -> None:
    found = habit_from(DISH, [past(*shift) for shift in worked])
    for step in STEPS:
        seen = [build[step] for shift in worked for build in shift if step in build]
        assert found.get(step, ()) == pytest.approx(tuple(seen[-CARRIED:]), abs=1e-4)
        assert (step in found) is bool(seen)


def test_only_sure_portions_tell_anything() -> None:
    said = (
        word(1, "grain", None, Attribution.UNSURE),
        word(1, "beans", 100.0, Attribution.JOINT),
        word(1, "sauce", 0.0),
        word(1, "seeds", 15.0),
    )
    assert habit_from(DISH, [PastSession(DISH, said)]) == {"seeds": (0.25,)}


def test_an_accident_is_not_carried() -> None:
    assert habit_from(DISH, [past({"grain": 4.0, "beans": 0.1})]) == {"beans": (0.1,)}


def test_of_another_revision_the_share_of_the_target_that_stood_then_counts() -> None:
    light = dish(('target = "60 g"', 'target = "50 g"'))
    assert habit_from(light, [past({"beans": 0.1})]) == {"beans": (0.1,)}
    assert habit_from(DISH, [PastSession(light, (word(1, "beans", 55.0),))]) == {"beans": (0.1,)}


def test_under_another_ingredient_an_id_means_nothing() -> None:
    other = dish(('ingredient = "beans"', 'ingredient = "lentils"'))
    assert habit_from(other, [past({"beans": 0.1, "sauce": 0.2})]) == {"sauce": (0.2,)}


def test_a_step_that_is_no_more_is_passed_over() -> None:
    other = dish(('id = "beans"', 'id = "pulses"'))
    assert habit_from(other, [past({"beans": 0.1, "sauce": 0.2})]) == {"sauce": (0.2,)}
    assert habit_from(other, [past()], {"beans": (0.1,), "sauce": (0.2,)}) == {"sauce": (0.2,)}


def test_who_has_learnt_since_is_believed_and_what_was_before_forgotten() -> None:
    known = dict.fromkeys(STEPS, (0.15,) * CARRIED)
    found = habit_from(DISH, [past(dict.fromkeys(STEPS, 0.0))], known)
    assert found == dict.fromkeys(STEPS, (0.0,))


def test_what_chance_explains_is_no_other_cook() -> None:
    known = {"grain": (0.05, -0.06, 0.08), "beans": (-0.1, -0.02, -0.12)}
    found = habit_from(DISH, [past({"grain": -0.08, "beans": 0.02})], known)
    assert found == {"grain": (*known["grain"], -0.08), "beans": (*known["beans"], 0.02)}


# The session.


@cache
def worked(share: float = -0.2, builds: int = 3) -> Cook:
    """A cook whose every portion was so far off its target."""
    cook = Cook()
    for _ in range(builds):
        cook.build(*(tuple(round(g * (1 + share)) for g in gestures) for gestures in CLEAN))
    return cook


def began(habit: Deviations | None) -> Cook:
    """A cook of whom something is known from earlier."""
    cook = Cook()
    cook.session = Session(DISH, 1.0, habit=habit)
    return cook


def sure(cook: Cook) -> dict[str, str]:
    """Verdicts of the first build's steps that are attributed for sure."""
    return {
        said.step: said.verdict.value
        for said in cook.told(Portion)
        if said.build == 1 and said.attribution is Attribution.SURE
    }


def lines(events: list[Event]) -> list[str]:
    return [event_line(event) for event in events]


def light(cook: Cook) -> Cook:
    return cook.build(*(tuple(round(0.8 * g) for g in gestures) for gestures in CLEAN))


def test_what_was_logged_of_a_session_says_what_it_hands_on() -> None:
    cook = worked()
    said = tuple(rounded(portion) for portion in cook.told(Portion))
    assert set(cook.session.habit) == set(STEPS)
    logged = habit_from(DISH, [PastSession(DISH, said)])
    assert flat(logged) == about(cook.session.habit)


def test_a_cook_who_is_known_is_understood_from_the_first_bowl_on() -> None:
    known = worked().session.habit
    assert sure(light(began(None))).items() < WANTED.items()
    assert sure(light(began(known))) == WANTED


def test_the_same_habit_gives_the_same_bytes() -> None:
    known = worked().session.habit
    one, other = light(began(known)), light(began(dict(known)))
    assert lines(one.events) == lines(other.events)
    assert lines(one.events) != lines(light(began(None)).events)


def test_nothing_known_is_nobody_known() -> None:
    assert began(None).session.habit == began({}).session.habit == {}
    assert lines(light(began({})).events) == lines(light(began(None)).events)


@given(st.dictionaries(st.sampled_from((*STEPS, "parsley")), st.lists(offs, min_size=1)))
def test_what_a_session_was_told_it_hands_on(told: dict[str, list[float]]) -> None:
    habit = {step: tuple(seen) for step, seen in told.items()}
    handed_on = Session(DISH, 1.0, habit=habit).habit
    assert handed_on == {s: seen[-CARRIED:] for s, seen in habit.items() if s in STEPS}


def test_however_odd_it_is_what_a_session_was_told_it_stays_within_bounds() -> None:
    odd = {"grain": (1.0, -1.0) * 50, "beans": (), "sauce": (0.2, -0.2) * 50}
    assert Session(DISH, 1.0, habit=odd).habit == {"sauce": (0.2, -0.2) * (CARRIED // 2)}


def test_what_passes_stays_the_profiles() -> None:
    known = dict.fromkeys(STEPS, (0.15,) * CARRIED)
    heavy = began(known).build(*(tuple(round(1.15 * g) for g in gestures) for gestures in CLEAN))
    assert sure(heavy) == {"grain": "over", "beans": "over", "sauce": "pass", "seeds": "pass"}
    exact = began(known).build(*CLEAN)
    assert sure(exact).items() <= dict.fromkeys(STEPS, "pass").items()
    assert {(live.low_g, live.high_g) for live in exact.lives if live.step == "beans"} == {
        (54, 66)
    }
