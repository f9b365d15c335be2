"""The contributor's guide to adding a scale, followed to the letter in a copy of the project."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from textwrap import dedent

import pytest

ROOT = Path(__file__).parents[2]
PARTS = ("scaled", "drivers", "simulators", "profiles", "tests/drivers", "tests/conftest.py",
         "README.md", "pyproject.toml")  # fmt: skip
SHAPE = "bracketed"


def steps() -> list[str]:
    _, _, rest = (ROOT / "DEVELOPERS.md").read_text().partition("## Add a scale\n")
    section, _, _ = rest.partition("\n## ")
    return re.split(r"^\d\. ", section, flags=re.MULTILINE)[1:]


def block(step: str) -> str:
    """The block of a step, as one would paste it."""
    found = re.search(r"^ *```\w*\n(.*?)^ *```$", step, re.MULTILINE | re.DOTALL)
    assert found is not None
    return dedent(found[1])


def path_in(step: str) -> str:
    found = re.search(r"`([\w/]+)/<shape>\.(\w+)`", step)
    assert found is not None
    return f"{found[1]}/{SHAPE}.{found[2]}"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A copy to add a scale to."""
    for part in PARTS:
        source, target = ROOT / part, tmp_path / part
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, target)
    return tmp_path


def run(project: Path, command: str) -> str:
    program, *words = command.split()
    assert program == "python"
    ran = subprocess.run(
        [sys.executable, *words],
        cwd=project,
        # A contributor's shell knows nothing of how this run is split up.
        env={
            **{name: value for name, value in os.environ.items() if name != "PYTEST_ADDOPTS"},
            "PYTHONPATH": str(project),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


def test_five_steps_add_a_scale(project: Path) -> None:
    record, describe, read, compare, hold = steps()
    (project / path_in(record)).write_text(block(record))
    (project / path_in(describe)).write_text(block(describe))
    run(project, block(read))
    assert (project / f"tests/drivers/captures/{SHAPE}.frames").read_text() == block(compare)
    row = f"| `{SHAPE}` | in brackets: status, number, unit | `[S   123.5g ]` |"
    assert row in (project / "README.md").read_text().splitlines()
    assert f"[{SHAPE}]" in run(project, f"{block(hold)} -v -p no:cacheprovider")


def test_a_frame_that_does_not_fit_is_named_with_its_field(project: Path) -> None:
    record, describe, read, compare, _ = steps()
    (project / path_in(record)).write_text(block(record))
    assert "width = 8" in block(describe)
    (project / path_in(describe)).write_text(block(describe).replace("width = 8", "width = 7"))
    promised = re.search(r"`(bracketed, [^`]*)`", compare)
    assert promised is not None
    assert promised[1] in run(project, block(read)).splitlines()


def test_a_step_left_out_is_noticed(project: Path) -> None:
    """A description without a capture fails the tests."""
    _, describe, _, _, hold = steps()
    (project / path_in(describe)).write_text(block(describe))
    with pytest.raises(AssertionError, match="test_every_described_format_has_a_capture"):
        run(project, f"{block(hold)} -p no:cacheprovider")
