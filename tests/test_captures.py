"""Recordings with provenance, replayed: what is said of them is compared byte for byte.

``python -m tests.regenerate_captures`` writes the events anew.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from scaled.catalogue import profile_ids
from scaled.commands import replay
from scaled.recording import read_recording

FOLDER = Path(__file__).parent / "captures"
NAMES = sorted(folder.name for folder in FOLDER.iterdir())


def replayed(name: str, capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    """The lines the replay command prints for a capture."""
    path = FOLDER / name / "recording.csv"
    profile = read_recording(path).notes["profile"]
    parser = argparse.ArgumentParser()
    replay.add(parser.add_subparsers())
    args = parser.parse_args(["replay", str(path), "--profile", profile, *options])
    assert args.run(args) == 0
    return capsys.readouterr().out.splitlines()


def golden(name: str) -> list[str]:
    return (FOLDER / name / "events.jsonl").read_text().splitlines()


def test_every_shipped_profile_has_a_capture_of_its_name() -> None:
    assert set(profile_ids()) <= set(NAMES)


@pytest.mark.parametrize(
    ("name", "event", "times"),
    [
        ("take-back", "taken_back", 1),
        ("lift-and-return", "returned", 1),
        ("next-bowl", "build_started", 2),
        ("units-mixed", "unit_changed", 3),
        ("tare-at-start", "build_started", 1),
        ("press", "build_started", 1),
    ],
)
def test_every_hard_case_has_a_capture_that_shows_it(name: str, event: str, times: int) -> None:
    assert [json.loads(line)["event"] for line in golden(name)].count(event) == times


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_says_where_it_comes_from(name: str) -> None:
    notes = read_recording(FOLDER / name / "recording.csv").notes
    assert notes["provenance"].startswith(("simulated, seed ", "recorded "))


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_gives_its_events(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert replayed(name, capsys, "--events") == golden(name)


@pytest.mark.parametrize("name", NAMES)
def test_without_events_only_the_final_words_are_printed(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    final = [line for line in golden(name) if json.loads(line)["event"] in {"portion", "finished"}]
    assert replayed(name, capsys) == final


@pytest.mark.parametrize("name", NAMES)
def test_the_events_of_a_capture_are_true(name: str) -> None:
    """A golden file that was regenerated wrong does not pass for right."""
    notes = read_recording(FOLDER / name / "recording.csv").notes
    truth_g = {
        key.removeprefix("truth "): float(value.removesuffix(" g"))
        for key, value in notes.items()
        if key.startswith("truth ")
    }
    portions = [said for line in golden(name) if (said := json.loads(line))["event"] == "portion"]
    assert {f"{said['build']} {said['step']}" for said in portions} == set(truth_g)
    sure = [said for said in portions if said["attribution"] == "sure"]
    assert len(sure) >= len(portions) / 2
    for said in sure:
        off_g = abs(said["net_g"] - truth_g[f"{said['build']} {said['step']}"])
        assert off_g <= max(4 * said["u_g"], 0.5)
