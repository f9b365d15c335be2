from __future__ import annotations

import csv
import statistics
from dataclasses import replace
from typing import Any

import pytest

from scaled.recording import parse_recording
from simulators.display import GRAMS, Division, Shown, Span
from simulators.habits import CLEAN, MESSY
from simulators.recording import recording_text
from simulators.scene import Plan, Run, simulate
from simulators.truth import DisturbanceKind


def played(recipe_text: str, **changes: Any) -> Run:  # noqa: ANN401
    return simulate(Plan(recipe_text=recipe_text, **{"builds": 1, **changes}))


def test_same_plan_same_bytes(recipe_text: str) -> None:
    texts = {recording_text(played(recipe_text, seed=5, habits=MESSY)) for _ in range(2)}
    assert len(texts) == 1
    assert recording_text(played(recipe_text, seed=6, habits=MESSY)) not in texts


def test_begins_with_its_origin_and_division(recipe_text: str) -> None:
    lines = recording_text(played(recipe_text, seed=5, division="0.5 g")).splitlines()
    assert lines[:3] == [
        "# source: simulated, seed 5, profile test-bowl",
        "# division: 0.5 g",
        "t,weight,unit,stable",
    ]
    first, second = csv.reader(lines[3:5])
    assert (first[0], second[0], first[2]) == ("0.100", "0.200", "g")
    assert first[3] in {"0", "1"}


@pytest.mark.parametrize("division", ["0.5 g", "1 g", "2 g", "0.05 oz"])
def test_the_station_reads_it_back(recipe_text: str, division: str) -> None:
    run = played(recipe_text, division=division)
    recording = parse_recording(recording_text(run), "run.csv")
    assert recording.scale.division_g == pytest.approx(Division.parse(division).size_g)
    for read, shown in zip(recording.readings, run.readings, strict=True):
        assert read.t == pytest.approx(shown.t)
        assert (read.weight, str(read.unit)) == (float(shown.weight), shown.unit)
        assert read.stable == shown.stable


def test_dark_moments_leave_no_line(recipe_text: str) -> None:
    run = played(recipe_text)
    dark = Shown(t=0.0, weight=run.readings[0].weight, unit="g", span=Span.ABOVE)
    shortened = replace(run, readings=(dark, *run.readings[:2]))
    assert len(recording_text(shortened).splitlines()) == 3 + 2


def test_cook_is_the_same_on_every_scale(recipe_text: str) -> None:
    fine = played(recipe_text, seed=3, division="0.1 g", rate_hz=20)
    coarse = played(recipe_text, seed=3, division="5 g", rate_hz=5)
    assert fine.builds == coarse.builds


@pytest.mark.parametrize("seed", range(12))
def test_readings_settle_at_the_true_load(recipe_text: str, seed: int) -> None:
    """Late in a long rest the display stands at the load, within noise, drift and rounding."""
    run = played(recipe_text, seed=seed, builds=2, habits=CLEAN)
    d_g = run.make.division.size_g
    long_rests = [r for b in run.builds for r in b.rests if r.end_s - r.start_s > 2.5]
    assert long_rests
    for rest in long_rests:
        late = [s for s in run.readings if rest.end_s - 0.8 < s.t < rest.end_s - 0.05]
        shown_g = statistics.fmean(float(s.weight) * GRAMS[s.unit] for s in late)
        assert shown_g == pytest.approx(rest.load_g, abs=2.0 * d_g)


@pytest.mark.parametrize("seed", range(6))
def test_the_run_tells_where_zero_stood(recipe_text: str, seed: int) -> None:
    """Late in a long rest the display stands at load and zero, tares and drift included."""
    habits = replace(CLEAN, tares=0.5)
    run = played(recipe_text, seed=seed, builds=3, habits=habits, division="0.1 g", rate_hz=20)
    zero_g = {round(t, 3): zero_g for t, zero_g in run.zeros_g}
    keys = [d.start_s for b in run.builds for d in b.disturbances if "key" in d.kind]
    assert min(zero_g.values()) < -20
    for rest in (r for b in run.builds for r in b.rests if r.end_s - r.start_s > 2.5):
        late = [s for s in run.readings if rest.end_s - 0.8 < s.t < rest.end_s - 0.05]
        if any(late[0].t <= key <= late[-1].t for key in keys):
            continue
        errors_g = [float(s.weight) - rest.load_g - zero_g[round(s.t, 3)] for s in late]
        assert statistics.fmean(errors_g) == pytest.approx(0.0, abs=0.05)


def test_a_poor_line_is_told_with_the_run(recipe_text: str) -> None:
    run = played(recipe_text, builds=20, habits=MESSY)
    kinds = {fault.kind for fault in run.faults}
    assert kinds == {
        DisturbanceKind.DROPPED,
        DisturbanceKind.DUPLICATED,
        DisturbanceKind.GARBLED,
    }


def test_a_run_needs_an_end(recipe_text: str) -> None:
    with pytest.raises(ValueError, match="needs a number of builds"):
        simulate(Plan(recipe_text=recipe_text))
