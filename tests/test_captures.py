"""Recordings with provenance, replayed: what is said of them is compared byte for byte.

``python -m tests.regenerate_captures`` writes the events anew; what the notes of a recording
say of it must hold for the new ones as well.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, Final

import pytest

from scaled.catalogue import load_profile, profile_ids
from scaled.commands import replay
from scaled.core.events import Verdict
from scaled.core.profile import BuildProfile
from scaled.core.verdict import Band
from scaled.recording import read_recording

FOLDER = Path(__file__).parent / "captures"
NAMES = sorted(folder.name for folder in FOLDER.iterdir())

OFF_U: Final = 4.0
"""A weight further off, in standard uncertainties, belongs to something else."""
LEAST_OFF_G: Final = 0.5
EDGE_U: Final = 2.0
"""So near to a limit of the tolerance a weight can honestly go either way."""
PLAIN: Final = {"build_started", "settled", "portion", "lifted", "finished"}
"""Events that every build has."""

Told = dict[str, Any]


def recording(name: str) -> Path:
    return FOLDER / name / "recording.csv"


@cache
def notes(name: str) -> dict[str, str]:
    return read_recording(recording(name)).notes


@cache
def golden(name: str) -> tuple[Told, ...]:
    return tuple(json.loads(line) for line in golden_lines(name))


def golden_lines(name: str) -> list[str]:
    return (FOLDER / name / "events.jsonl").read_text().splitlines()


def replayed(name: str, capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    """The lines the replay command prints for a capture."""
    profile = notes(name)["profile"]
    own = FOLDER / name / f"{profile}.toml"
    built = str(own) if own.exists() else profile
    parser = argparse.ArgumentParser()
    replay.add(parser.add_subparsers())
    args = parser.parse_args(["replay", str(recording(name)), "--profile", built, *options])
    assert args.run(args) == 0
    printed = capsys.readouterr()
    assert all("too narrow to judge" in line for line in printed.err.splitlines())
    return printed.out.splitlines()


def truth_g(name: str) -> dict[tuple[int, str], float]:
    """What really lay in each bowl, by build and step, g."""
    told = {}
    for key, value in notes(name).items():
        word, *place = key.split()
        if word == "truth":
            build, step = place
            told[int(build), step] = float(value.removesuffix(" g"))
    return told


def portions(name: str) -> Iterator[Told]:
    return (said for said in golden(name) if said["event"] == "portion")


def test_every_shipped_profile_has_a_capture_of_its_name() -> None:
    assert set(profile_ids()) <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_gives_its_events(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert replayed(name, capsys, "--events") == golden_lines(name)


@pytest.mark.parametrize("name", ["winter-barley-bowl", "next-bowl", "equal-targets"])
def test_without_events_only_the_final_words_are_printed(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    final = [line for line in golden_lines(name) if json.loads(line)["event"] in replay.FINAL]
    assert replayed(name, capsys) == final


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_says_where_it_comes_from_and_what_happens_in_it(name: str) -> None:
    assert notes(name)["provenance"].startswith(("simulated, seed ", "recorded "))
    assert notes(name)["case"]


# A golden file that was regenerated wrong does not pass for right.


@pytest.mark.parametrize("name", NAMES)
def test_the_events_of_a_capture_show_its_case(name: str) -> None:
    for wanted in json.loads(notes(name).get("tells", "[]")):
        assert any(wanted.items() <= told.items() for told in golden(name)), wanted


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_told_that_did_not_happen(name: str) -> None:
    tells = {wanted["event"] for wanted in json.loads(notes(name).get("tells", "[]"))}
    may_tell = set(notes(name).get("may tell", "").split(", "))
    assert {told["event"] for told in golden(name)} <= PLAIN | tells | may_tell


@pytest.mark.parametrize("name", NAMES)
def test_each_step_of_each_build_has_one_final_word(name: str) -> None:
    words = Counter((said["build"], said["step"]) for said in portions(name))
    assert words == Counter(truth_g(name).keys())
    started = [told["build"] for told in golden(name) if told["event"] == "build_started"]
    assert started == sorted({build for build, _ in truth_g(name)})


@pytest.mark.parametrize("name", NAMES)
def test_no_weight_belongs_to_another_step_and_no_verdict_is_wrong(name: str) -> None:
    """Unsure is honest; so is the sum of two, and either side of a limit close by."""
    truth = truth_g(name)
    profile = _profile(name)
    for said in portions(name):
        if said["net_g"] is None:
            assert said["verdict"] == Verdict.UNSURE
            continue
        group = [said["step"], *said["joint_with"]]
        true_g = sum(truth[said["build"], step] for step in group)
        assert abs(said["net_g"] - true_g) <= max(OFF_U * said["u_g"], LEAST_OFF_G), said
        if said["verdict"] != Verdict.UNSURE:
            assert said["verdict"] in _honest(profile, said["step"], true_g, said["u_g"]), said


def test_most_is_said_for_sure() -> None:
    said = [said["attribution"] for name in NAMES for said in portions(name)]
    assert said.count("sure") >= 0.8 * len(said)


def _profile(name: str) -> BuildProfile:
    return load_profile(notes(name)["profile"], [FOLDER / name])


def _honest(profile: BuildProfile, step: str, true_g: float, u_g: float) -> set[Verdict]:
    """The verdicts that can be given in good faith on a weight."""
    (its,) = (s for s in profile.steps if s.id == step)
    band = Band.around(its.target_g, its.under_g, its.over_g)
    return {band.judge(true_g + by * EDGE_U * u_g) for by in (-1, 0, 1)}
