"""The screen as a person sees it: compared with the kept pictures, in text and in colour."""

from __future__ import annotations

from itertools import combinations

import pytest
from rich.style import Style
from textual.pilot import Pilot

from scaled.core.live import Ask
from scaled.screens import palette
from scaled.screens.contrast import contrast
from scaled.screens.scene import Scene
from tests.screens import golden
from tests.screens.eventually import eventually
from tests.screens.picture import svg
from tests.screens.scenes import BOWL, PICTURED, STATES, live, scene, state
from tests.screens.stage import drawn, segments, staged, text

MOMENTS = {name: (moment, size) for name, moment, size in golden.moments()}


@pytest.mark.parametrize("name", MOMENTS)
async def test_the_screen_is_the_kept_one_in_readable_colours(name: str) -> None:
    moment, size = MOMENTS[name]
    async with staged(moment, size) as pilot:
        assert text(pilot) == golden.file_of(name).read_text(encoding="utf-8")
        pairs = _pairs(pilot)
    assert pairs
    for ink, ground in pairs:
        # WCAG 2.2, success criterion 1.4.3 (AA): 4.5, on what is really drawn.
        assert contrast(ink, ground) >= 4.5, (ink, ground)


async def test_the_readme_picture_is_the_programs_own() -> None:
    async with staged(Scene(state(PICTURED), BOWL), golden.PICTURE) as pilot:
        drawn = svg(pilot)
    assert drawn == (golden.FOLDER / "bench.svg").read_text(encoding="utf-8")
    assert "url(" not in drawn
    assert drawn.count("http") == 1  # the namespace; nothing is fetched


def test_every_moment_can_be_told_from_every_other_without_colour() -> None:
    banners = {}
    for name in STATES:
        lines = golden.file_of(name).read_text(encoding="utf-8").splitlines()
        banners[name] = (lines[17:23], lines[0])
    for one, other in combinations(banners, 2):
        assert banners[one] != banners[other], (one, other)


@pytest.mark.parametrize("keys", [["b"], ["b", "tab"], ["c"], ["c", "tab"], ["s"], ["s", "tab"]])
async def test_questions_have_the_contrast_wcag_asks(keys: list[str]) -> None:
    async with staged(scene("add"), golden.USUAL) as pilot:
        await pilot.press(*keys)
        await eventually(lambda: len(pilot.app.screen_stack) == 2)
        await drawn(pilot)
        for ink, ground in _pairs(pilot):
            assert contrast(ink, ground) >= 4.5, (ink, ground)


@pytest.mark.parametrize("name", ["add", "take-back", "next", "check", "lift-amiss"])
async def test_only_the_palettes_colours_are_used(name: str) -> None:
    async with staged(scene(name), golden.USUAL) as pilot:
        used = {
            _hex(piece.style, part)
            for row in segments(pilot)
            for piece in row
            for part in ("color", "bgcolor")
            if piece.text.strip()
        }
    assert used <= {colour.lower() for colour in palette.ROLES.values()}


@pytest.mark.parametrize("name", ["add", "next", "lift-amiss", "lost"])
async def test_no_color_leaves_no_colour(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with staged(scene(name), golden.USUAL) as pilot:
        for row in segments(pilot):
            for piece in row:
                assert piece.style is None or _is_default(piece.style)
        assert text(pilot) == golden.file_of(name).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("size", "rows"), [((60, 18), 5), ((80, 24), 5), ((120, 40), 10), ((200, 60), 15)]
)
async def test_the_digits_grow_with_the_window(size: tuple[int, int], rows: int) -> None:
    eights = Scene(state(live(BOWL, 0, Ask.ADD, net_g=88.0, amount_g=30.0)), BOWL)
    async with staged(eights, size) as pilot:
        number = pilot.app.query_one("BigNumber")
        drawn = [
            line[number.region.x : number.region.right]
            for line in text(pilot).splitlines()[number.region.y : number.region.bottom]
        ]
    assert sum("██" in line for line in drawn) == rows


async def test_a_caution_is_never_cut() -> None:
    profile = BOWL.profile
    long = "Never " + "reach over the open well, " * 6 + "nor into it."
    step = profile.steps[0].model_copy(update={"never": long, "say": long})
    dish = type(BOWL)(
        profile.model_copy(update={"steps": (step, *profile.steps[1:])}), BOWL.writing
    )
    async with staged(
        Scene(state(live(dish, 0, Ask.ADD, amount_g=118.0)), dish), (80, 24)
    ) as pilot:
        width = pilot.app.query_one("Ingredient").region.right
        left = " ".join(line[:width].strip() for line in text(pilot).splitlines())
    assert f"! {long}" in left


async def test_a_long_ladder_shows_what_is_around_the_current_step() -> None:
    profile = BOWL.profile
    steps = tuple(
        profile.steps[0].model_copy(update={"id": f"s{place}", "ingredient": f"food {place}"})
        for place in range(40)
    )
    dish = type(BOWL)(profile.model_copy(update={"steps": steps}), BOWL.writing)
    async with staged(
        Scene(state(live(dish, 25, Ask.ADD, amount_g=9.0)), dish), (80, 24)
    ) as pilot:
        seen = text(pilot)
    assert "► food 25" in seen
    assert "● food 24" in seen
    assert "· food 30" in seen
    assert "food 2 " not in seen


async def test_words_in_a_profile_are_not_taken_for_markup() -> None:
    profile = BOWL.profile
    step = profile.steps[0].model_copy(update={"ingredient": "[red]peas[/red]", "say": "[b]so"})
    dish = type(BOWL)(
        profile.model_copy(update={"steps": (step, *profile.steps[1:])}), BOWL.writing
    )
    async with staged(Scene(state(live(dish, 0, Ask.ADD, amount_g=9.0)), dish), (80, 24)) as pilot:
        seen = text(pilot)
    assert "[red]peas[/red]" in seen
    assert "[b]so" in seen


def _pairs(pilot: Pilot[None]) -> set[tuple[str, str]]:
    """Colours of everything written, each with the one behind it."""
    return {
        (_hex(piece.style, "color"), _hex(piece.style, "bgcolor"))
        for row in segments(pilot)
        for piece in row
        if piece.text.strip()
    }


def _hex(style: Style | None, part: str) -> str:
    assert style is not None
    colour = getattr(style, part)
    assert colour is not None
    return str(colour.get_truecolor().hex)


def _is_default(style: Style) -> bool:
    return all(colour is None or colour.is_default for colour in (style.color, style.bgcolor))
