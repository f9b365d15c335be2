"""What a profile and a scale cannot do together, said before the first bowl."""

from __future__ import annotations

import pytest

from scaled.core.accuracy import Accuracy, ByClass, ByVerification
from scaled.core.check_scale import check_fit, unfit
from scaled.core.errors import ProfileError
from scaled.core.profile_check import Severity, check_profile
from scaled.core.units import parse_weight
from tests.core.sound_bowl import at, sound

CLASS_THREE = ByClass("III", 1.0)
"""In service within 1 g, u = 0.577 g; with two readings in steps of 1 g, u = 0.707 g."""


def seeds(tolerance: str) -> tuple[str, str]:
    """The step of 8 g with another tolerance."""
    written = 'target = "8 g"\nunder = "3 g"\nover = "3 g"'
    return (written, f'target = "8 g"\nunder = "{tolerance}"\nover = "{tolerance}"')


def on_seeds(tolerance: str, accuracy: Accuracy | None) -> list[str]:
    findings = check_profile(sound(seeds(tolerance)), 1.0, accuracy)
    return at(findings, "step 3 (seeds), under and over")


@pytest.mark.parametrize(
    ("tolerance", "severity"),
    [("1.9 g", "error"), ("2 g", "warning"), ("2.9 g", "warning"), ("3 g", None)],
)
def test_a_band_needs_four_divisions_and_better_six(tolerance: str, severity: str | None) -> None:
    seeds = 'target = "8 g"\nunder = "3 g"\nover = "3 g"'
    narrowed = f'target = "8 g"\nunder = "{tolerance}"\nover = "{tolerance}"'
    findings = at(check_profile(sound((seeds, narrowed)), 1.0), "step 3 (seeds), under and over")
    assert [line.partition(":")[0] for line in findings] == ([severity] if severity else [])


def test_a_division_of_5_g_cannot_judge_a_step_of_7_g() -> None:
    seeds = 'target = "8 g"\nunder = "3 g"\nover = "3 g"'
    profile = sound((seeds, 'target = "7 g"'))
    assert at(check_profile(profile, 5.0), "step 3 (seeds), under and over") == [
        "error: step 3 (seeds), under and over: a band of 1.4 g is 0.28 divisions of 5 g, too"
        " narrow to judge (two readings leave a standard uncertainty of 2 g or more); use a"
        " division of 0.2 g, or widen it to 20 g"
    ]


def test_the_finished_band_is_held_against_the_division_too() -> None:
    assert at(check_profile(sound(), 5.0), "finished, under and over") == [
        "warning: finished, under and over: a band of 21 g is 4.2 divisions of 5 g, doubtful near"
        " its limits (two readings leave a standard uncertainty of 2 g or more); use a division"
        " of 2 g, or widen it to 30 g"
    ]


def test_the_advice_is_in_the_authors_unit_and_enough() -> None:
    changes = ('target = "8 g"\nunder = "3 g"\nover = "3 g"', 'target = "0.25 oz"')
    (line,) = at(check_profile(sound(changes), 1.0), "step 3 (seeds), under and over")
    assert "a band of 0.05 oz (1.4 g)" in line
    assert line.endswith("use a division of 0.2 g, or widen it to 0.15 oz")


def test_a_division_is_told_in_the_unit_it_was_written_in() -> None:
    (line,) = at(check_profile(sound(), parse_weight("0.05oz")), "step 3 (seeds), under and over")
    assert "is 4.23 divisions of 0.05 oz, doubtful" in line
    assert "use a division of 0.02 oz, or widen it to 8.6 g" in line


def test_the_scales_own_error_counts_too() -> None:
    assert on_seeds("3 g", None) == []
    assert on_seeds("3 g", CLASS_THREE) == []
    assert on_seeds("3 g", ByClass("III", 2.0)) == [
        "warning: step 3 (seeds), under and over: a band of 6 g is 4.9 times its standard"
        " uncertainty, doubtful near its limits (two readings and the scale's own error leave a"
        " standard uncertainty of 1.2 g or more); use a scale of a better class, or widen it to"
        " 7.4 g"
    ]
    assert on_seeds("3 g", ByClass("III", 5.0))[0].startswith(
        "error: step 3 (seeds), under and over: a band of 6 g is 2.06 times its standard"
        " uncertainty, too narrow to judge (two readings and the scale's own error leave a"
    )


def test_a_scale_that_a_check_found_off_is_to_be_repaired() -> None:
    (line,) = on_seeds("3 g", ByVerification(load_g=100.0, error_g=10.0, error_u_g=1.0))
    assert "use a truer scale, or have this one repaired, or widen it to" in line


def test_a_band_of_four_uncertainties_has_no_sure_pass() -> None:
    # 4 x 0.707 g = 2.83 g (JCGM 106:2012, 7.6.3, C_m = 1), but 4 divisions are 4 g.
    (line,) = on_seeds("1.9 g", CLASS_THREE)
    assert line.startswith("error: ")
    assert "3.8 divisions of 1 g" in line
    assert "two readings and the scale's own error" in line


def test_the_budget_of_a_scale_of_known_class_is_told_with_its_sources() -> None:
    assert [str(note) for note in check_profile(sound(), 1.0, CLASS_THREE)] == [
        "note: scale: u = 0.71 g or more (barley, 118 g): division 0.41 g, two rounded readings"
        " (JCGM 100:2008, F.2.2.1); scale 0.58 g, accuracy class III with e = 1 g: within 1 g in"
        " service (OIML R 76-1:2006, Table 6 and 3.5.2)"
    ]


def test_guarded_acceptance_must_leave_the_target_itself() -> None:
    guarded = ('revision = "1"', 'revision = "1"\nacceptance = "guarded"')
    lopsided = ('under = "4 g"\nover = "4 g"', 'under = "0.5 g"\nover = "7.5 g"')
    assert check_profile(sound(guarded), 1.0) == []
    assert check_profile(sound(lopsided), 1.0) == []
    assert at(check_profile(sound(guarded, lopsided), 1.0), "step 2 (sauce), under and over") == [
        "error: step 2 (sauce), under and over: guarded acceptance keeps 0.8 g from each limit,"
        " the target is 0.5 g from one: it would not pass itself; widen that side"
    ]


def test_what_a_scale_cannot_judge_is_the_errors_between_the_two_alone() -> None:
    unbalanced = sound(('weight = "156 g"', 'weight = "174 g"'))
    assert unfit(unbalanced, None, CLASS_THREE) == []
    assert unfit(unbalanced, 1.0, None) == []
    found = unfit(unbalanced, 2.5, CLASS_THREE)
    assert [finding.where for finding in found] == [
        "step 2 (sauce), under and over",
        "step 3 (seeds), under and over",
    ]
    assert {finding.severity for finding in found} == {Severity.ERROR}
    check_fit(unbalanced, 2.5, CLASS_THREE)
    narrow = sound(('under = "10 g"\nover = "11 g"', 'under = "1 g"\nover = "1 g"'))
    assert [finding.where for finding in unfit(narrow, 1.0, None)] == ["finished, under and over"]
    check_fit(narrow, 1.0, None)


def test_a_scale_that_can_judge_no_step_is_refused() -> None:
    check_fit(sound(), None, None)
    with pytest.raises(ProfileError) as refused:
        check_fit(sound(), 5.0, None)
    assert str(refused.value) == (
        "test-bowl: the scale can judge none of its steps; step 1 (barley), under and over: a"
        " band of 16 g is 3.2 divisions of 5 g, too narrow to judge (two readings leave a"
        " standard uncertainty of 2 g or more); use a division of 2 g, or widen it to 20 g"
    )
