"""What a check finds in a profile, and that it finds nothing in a sound one."""

from __future__ import annotations

import pytest

from scaled.core.check_order import check_post
from scaled.core.profile import parse_profile
from scaled.core.profile_check import Severity, check_profile
from tests.core.sound_bowl import SOUND, at, sound


def found(*changes: tuple[str, str], division_g: float | None = 1.0) -> list[str]:
    return [str(finding) for finding in check_profile(sound(*changes), division_g)]


def test_a_sound_profile_has_no_findings() -> None:
    assert found() == []


def test_an_unknown_scale_is_said_so() -> None:
    assert found(division_g=None) == [
        "note: under and over: not checked against a scale; give its division"
    ]


# the sum against the finished weight

TRADE_OZ = (3, 4.5, 2.5, 0.5, 1.5, 0.25, 1.5)
"""Portions of one build, oz (common practice, no published source): they sum to 13.75 oz, the
finished weight is written as 14.3 oz, and the 0.55 oz between is the container."""


def trade(weight: str, *, tare: str, includes: bool = False) -> list[str]:
    steps = "".join(
        f'[[step]]\nid = "part-{n}"\ningredient = "part {n}"\ntarget = "{oz} oz"\n'
        for n, oz in enumerate(TRADE_OZ, 1)
    )
    head = 'schema = 1\nid = "trade"\ntitle = "Trade"\nrevision = "1"\n'
    container = f'[container]\nname = "bowl"\ntare = "{tare}"\n'
    flag = f"includes_container = {str(includes).lower()}\n"
    text = f'{head}{container}{steps}[finished]\nweight = "{weight}"\n{flag}'
    return at(check_profile(parse_profile(text, "trade.toml"), None), "finished, weight")


@pytest.mark.parametrize("tare", ["0.55 oz", "15.6 g"])
def test_a_container_counted_in_unsaid_is_named(tare: str) -> None:
    assert trade("14.3 oz", tare=tare) == [
        "error: finished, weight: 14.3 oz is 0.55 oz (15.6 g) more than the portions' sum of"
        " 13.75 oz: that is the container, tare 0.55 oz (15.6 g); set includes_container = true"
    ]


@pytest.mark.parametrize("tare", ["0.55 oz", "15.6 g"])
def test_a_container_counted_in_and_said_is_right(tare: str) -> None:
    assert trade("14.3 oz", tare=tare, includes=True) == []


def test_a_container_said_but_not_counted_in_is_named() -> None:
    assert trade("13.75 oz", tare="0.55 oz", includes=True) == [
        "error: finished, weight: 13.75 oz is the portions' sum alone, the container of"
        " 0.55 oz (15.6 g) is not counted in; set includes_container = false"
    ]


def test_rounding_to_the_written_digits_is_no_difference() -> None:
    # 13.8 oz may stand for anything from 13.75 to 13.85 oz; 13.80 oz may not.
    assert trade("13.8 oz", tare="0.55 oz") == []
    assert len(trade("13.80 oz", tare="0.55 oz")) == 1


def test_a_difference_nobody_explains_is_said_with_its_amount() -> None:
    assert trade("13.9 oz", tare="0.55 oz") == [
        "warning: finished, weight: 13.9 oz is 0.15 oz (4.3 g) more than the portions' sum of"
        " 13.75 oz; neither rounding nor the container explains it: correct a target or this"
        " weight"
    ]


def test_a_difference_beyond_the_finished_tolerance_is_an_error() -> None:
    # Tolerances of a tenth in quadrature: 0.635 oz.
    assert trade("13.2 oz", tare="0.55 oz")[0].startswith("warning: ")
    assert trade("13.1 oz", tare="0.55 oz")[0].startswith("error: ")


def test_a_difference_that_is_a_steps_weight_points_at_the_step() -> None:
    left_out, twice = trade("11.25 oz", tare="0.55 oz"), trade("16.25 oz", tare="0.55 oz")
    assert left_out[0].endswith("is step 3 (part-3), which weighs that, left out of this weight?")
    assert twice[0].endswith(
        "is step 3 (part-3), which weighs that, counted twice in this weight?"
    )


def test_the_containers_tolerance_is_allowed_for() -> None:
    tolerant = 'tare = "18 g"\ntare_tolerance = "2 g"'
    assert found(('tare = "18 g"', tolerant), ('"156 g"', '"175 g"')) == [
        "error: finished, weight: 175 g is 19 g more than the portions' sum of 156 g:"
        " that is the container, tare 18 g; set includes_container = true"
    ]
    assert "neither rounding nor the container" in found(('"156 g"', '"176 g"'))[0]


def test_an_unwritten_finished_weight_is_a_note() -> None:
    finished = SOUND[SOUND.index("[finished]") : SOUND.index("[[confirm]]")]
    assert found((finished, "")) == [
        "note: finished: not written; the portions' sum of 156 g stands in for it"
    ]


# the finished tolerance against the steps'


def test_a_finished_tolerance_below_quadrature_is_a_warning() -> None:
    # sqrt(8^2 + 4^2 + 3^2) = 9.434 g; 9 g may be rounded from it, 8 g may not.
    assert found(('under = "10 g"', 'under = "9 g"')) == []
    assert found(('under = "10 g"', 'under = "8 g"')) == [
        "warning: finished, under: 8 g is less than the portions' tolerances in quadrature"
        " (9.4 g): builds of good portions will fail; widen it to that or tighten the portions"
    ]


def test_a_finished_tolerance_above_the_worst_case_is_a_note() -> None:
    assert found(('over = "11 g"', 'over = "15 g"')) == []  # 8 + 4 + 3 = 15 g
    assert found(('over = "11 g"', 'over = "16 g"')) == [
        "note: finished, over: 16 g is more than all portions' tolerances together (15 g):"
        " it can only fail when a portion has failed already; narrow it or leave it out"
    ]


# scoops


def test_level_scoops_that_miss_the_target_are_told_a_count_and_a_size() -> None:
    # 2 level scoops of number 16: 2 x 946.352946/16 mL x 0.66 g/mL = 78.1 g
    assert found(("scoops = 3", "scoops = 2"))[0] == (
        "warning: step 1 (barley), scoops: 2 level scoops of disher 16 (59.1 mL) make 78.1 g,"
        " below what passes for 118 g; write scoops = 3 (117.1 g), use disher 10 (124.9 g) or"
        " check the density and the target"
    )


def test_a_measure_that_misses_the_target_is_told_a_volume() -> None:
    assert found(('volume = "1 fl oz"', 'volume = "2 fl oz"')) == [
        "warning: step 2 (sauce), scoops: 1 level scoop of ladle (59.1 mL) makes 60.9 g, above"
        " what passes for 30 g; use a ladle of 29 mL (30 g) or check the density and the target"
    ]


def test_three_level_scoops_of_one_disher_make_four_and_a_half_ounces() -> None:
    # Common practice, no published source; needs a food of 0.9 g/mL with number 20.
    change = (
        'target = "118 g"\nunder = "8 g"\nover = "8 g"\nscoops = 3\n'
        'tool = { kind = "disher", number = 16, fill = "level" }\ndensity = "0.66 g/mL"'
    )
    three = (
        'target = "4.5 oz"\nunder = "8 g"\nscoops = 3\n'
        'tool = { kind = "disher", number = 20 }\ndensity = "0.9 g/mL"'
    )
    assert at(check_profile(sound((change, three)), 1.0), "step 1 (barley), scoops") == []
    two = three.replace("scoops = 3", "scoops = 2")
    (line,) = at(check_profile(sound((change, two)), 1.0), "step 1 (barley), scoops")
    assert "write scoops = 3 (4.51 oz (127.8 g))" in line


def test_rounded_scoops_are_only_held_against_level_ones() -> None:
    rounded = 'volume = "1 fl oz", fill = "rounded"'
    assert found(('volume = "1 fl oz"', rounded), ('"1.03 g/mL"', '"0.8 g/mL"')) == [
        "note: step 2 (sauce), scoops: 1 level scoop of ladle (29.6 mL) makes 23.7 g of 30 g, so"
        " the heaps must hold 27% more; no published figure for that: weigh ten and see"
    ]
    assert found(('volume = "1 fl oz"', rounded))[0].startswith(
        "warning: step 2 (sauce), scoops: 1 level scoop of ladle (29.6 mL) makes 30.5 g of 30 g,"
        ' and rounded ones hold more; write fill = "level" or '
    )


def test_scoops_without_a_density_cannot_be_checked() -> None:
    assert found(('density = "1.03 g/mL"', "")) == [
        "note: step 2 (sauce), density: not given, so the scoops are not checked; weigh one level"
        " scoop",
        "note: container, brimful: the food fills 193 mL of 300 mL (64%) without sauce; give"
        " their density to check the rest",
    ]


# fill


def test_food_that_fills_the_container_is_a_warning() -> None:
    # 118/0.66 + 30/1.03 + 8/0.55 = 222.5 mL
    assert found(('"300 mL"', '"235 mL"')) == []
    assert found(('"300 mL"', '"230 mL"')) == [
        "warning: container, brimful: the food fills 222 mL of 230 mL (97%); take a larger"
        " container or smaller portions; never pack it down"
    ]


def test_a_container_of_unknown_volume_is_not_checked() -> None:
    assert found(('brimful = "300 mL"', "")) == []


# containers


def other(tare: str, *, accepted: bool = False, name: str = "tray") -> tuple[str, str]:
    """One more container before the first step."""
    written = str(accepted).lower()
    table = f'name = "{name}"\ntare = "{tare}"\naccepted = {written}\n'
    return ('[[step]]\nid = "barley"', f'[[other_container]]\n{table}[[step]]\nid = "barley"')


def test_containers_far_apart_are_no_news() -> None:
    assert found(other("30 g"), other("60 g", name="box")) == []


def test_a_wrong_container_that_weighs_like_the_right_one_is_a_warning() -> None:
    assert found(other("20 g")) == [
        "warning: other_container 1 (tray): 18 to 22 g meets the container, 16.2 to 19.8 g: weight"
        " alone may not see the wrong one; mark it, or add a confirm"
    ]


def test_two_right_containers_that_weigh_alike_are_a_note() -> None:
    assert found(other("20 g", accepted=True)) == [
        "note: other_container 1 (tray): 18 to 22 g meets the container, 16.2 to 19.8 g: weight"
        " alone cannot say which of them it is"
    ]


def test_two_other_containers_are_held_against_each_other() -> None:
    (line,) = found(other("30 g", name="tray"), other("31 g", accepted=True, name="box"))
    assert line.startswith(
        "warning: other_container 2 (box): 27.9 to 34.1 g meets other_container 1 (tray), 27 to"
        " 33 g: weight alone"
    )


def test_containers_that_a_coarse_scale_cannot_tell_apart_are_said_so() -> None:
    # The bowl up to 19.8 g, the tray from 20.7 g: 2 u is 0.8 g at 1 g and 1.6 g at 2 g.
    assert found(other("23 g")) == []
    assert at(check_profile(sound(other("23 g")), 2.0), "other_container 1 (tray)") == [
        "warning: other_container 1 (tray): 20.7 to 25.3 g can look like the container, 16.2 to"
        " 19.8 g, on this scale (uncertain by 1.6 g): weight alone may not see the wrong one; mark"
        " it, or add a confirm"
    ]


def test_a_container_that_weighs_like_a_build_under_way_is_a_note() -> None:
    # 18 g of bowl and 118 g of barley.
    assert found(other("140 g", accepted=True)) == [
        "note: other_container 1 (tray): 126 to 154 g meets the build after step 1 (barley), 127.8"
        " to 144.2 g: set down after a lift, one can be taken for the other"
    ]


# order


def test_neighbours_that_weigh_alike_are_a_warning() -> None:
    assert found(('target = "8 g"', 'target = "25 g"'), ('"156 g"', '"173 g"'))[0] == (
        "warning: step 2 (sauce): its band of 26 to 34 g meets that of step 3 (seeds), 22 to"
        " 28 g: weight alone cannot see them swapped or the first one skipped; part them in the"
        " order, or add a confirm"
    )


def test_distant_steps_that_weigh_alike_are_a_note() -> None:
    seeds = ('target = "8 g"', 'target = "112 g"')
    lines = found(seeds, ('"156 g"', '"260 g"'), ('brimful = "300 mL"', ""))
    assert lines == [
        "note: step 1 (barley): its band of 110 to 126 g meets that of step 3 (seeds), 109 to"
        " 115 g: weight alone cannot see these two swapped"
    ]


def test_bands_closer_than_the_scale_sees_weigh_alike() -> None:
    # Sauce passes from 26 g, seeds up to 25 g: 2 u is 0.8 g at 1 g and 1.6 g at 2 g.
    changes = ('target = "8 g"', 'target = "22 g"'), ('"156 g"', '"170 g"')
    assert found(*changes, division_g=1.0) == []
    assert at(check_profile(sound(*changes), 2.0), "step 2 (sauce)") == [
        "warning: step 2 (sauce): its band of 26 to 34 g can look like that of step 3 (seeds), 19"
        " to 25 g, on this scale (uncertain by 1.6 g): weight alone cannot see them swapped or"
        " the first one skipped; part them in the order, or add a confirm"
    ]


def test_a_scoop_that_the_next_step_could_hide_is_a_note() -> None:
    # 2 of 3 scoops are 78.7 g; with 40 g of sauce 118.7 g: the target itself.
    changes = ('"30 g"', '"40 g"'), ('"1 fl oz"', '"39 mL"'), ('"156 g"', '"166 g"')
    assert found(*changes) == [
        "note: step 1 (barley), scoops: 2 of 3 scoops and step 2 (sauce) weigh 118.7 g, inside"
        " 110 to 126 g: a missing scoop could pass unseen: watch the count"
    ]


def test_a_scoop_hidden_by_the_scale_alone_is_said_so() -> None:
    # 78.7 g and 30 g of sauce are 108.7 g, 1.3 g below what passes; 2 u is 0.8 g at 1 g.
    (line,) = at(check_profile(sound(), 2.0), "step 1 (barley), scoops")
    assert line == (
        "note: step 1 (barley), scoops: 2 of 3 scoops and step 2 (sauce) weigh 108.7 g, which can"
        " look like 110 to 126 g on this scale (uncertain by 1.6 g): a missing scoop could pass"
        " unseen: watch the count"
    )


def test_a_build_that_travels_back_is_a_warning() -> None:
    assert found(('density = "1.03 g/mL"\nposition = "hot line"', 'density = "1.03 g/mL"')) == [
        "note: step 2 (sauce), position: not given, though other steps have one; say where this"
        " one belongs"
    ]
    assert found(('"cold line"', '"window"'), ('"hot line"', '"window"')) == [
        "warning: step 3 (seeds), position: the build would travel back to window; reorder the"
        " steps so that it goes one way"
    ]


def test_a_scale_at_a_position_that_the_profile_does_not_know_is_a_warning() -> None:
    assert check_post(sound(), None) == check_post(sound(), "hot line") == []
    (finding,) = check_post(sound(), "hot-line")
    assert str(finding) == (
        'warning: step, position: none is at "hot-line", so all are asked for here; there are'
        ' "hot line" or "cold line"'
    )
    nowhere = sound(('position = "hot line"', ""), ('position = "hot line"', ""),
                    ('position = "cold line"', ""))  # fmt: skip
    (finding,) = check_post(nowhere, "hot line")
    assert finding.message.endswith("there are no positions")


def test_allergens_that_nobody_confirms_are_a_warning() -> None:
    assert found(("Allergen note read", "Lid on")) == [
        "warning: confirm: the build carries gluten and no confirm asks about allergens; add one"
        " as your allergen procedure asks"
    ]


def test_no_confirm_at_all_is_a_note() -> None:
    confirm = SOUND[SOUND.index("[[confirm]]") :]
    assert found(('allergens = ["gluten"]', ""), (confirm, "")) == [
        "note: confirm: there is none; add what a scale cannot see, such as the lid"
    ]


def test_the_gravest_come_first() -> None:
    severities = [finding.severity for finding in check_profile(sound(), 5.0)]
    assert severities == sorted(severities, key=list(Severity).index)
    assert len(set(severities)) > 1


@pytest.mark.parametrize("division_g", [None, 0.1, 1.0, 5.0])
def test_a_finding_is_one_line(division_g: float | None) -> None:
    assert all(line.isprintable() for line in found(division_g=division_g))
