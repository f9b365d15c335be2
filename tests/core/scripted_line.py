"""Several cooks, each at a scale of one line, and a runner who does the errands between them."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from scaled.core.command import Expect
from scaled.core.errand import Scale as OnLine
from scaled.core.errand import errands
from scaled.core.session import Post, Session
from scaled.core.transit_json import parse_transit
from tests.core.scripted import STEPS, Cook, dish

if TYPE_CHECKING:
    from scaled.core.command import Command
    from scaled.core.profile import BuildProfile
    from tests.core.scripted_scale import Scale

PLACES = ("hot line", "hot line", "cold line", "cold line")


def dish_of_the_line(places: tuple[str, ...] = PLACES, *changes: tuple[str, str]) -> BuildProfile:
    """The dish of the tests, each step at a position."""
    placed = [
        (f'id = "{step}"\n', f'id = "{step}"\nposition = "{place}"\n')
        for step, place in zip(STEPS, places, strict=True)
    ]
    return dish(*placed, *changes)


class Line:
    """Scales by the position they stand at.

    Args:
        places: Positions and scales.
        profile: What is built.
        posted: Whether each scale knows its position; otherwise each stands for all of them.
    """

    def __init__(
        self, places: dict[str, Scale], profile: BuildProfile | None = None, *, posted: bool = True
    ) -> None:
        built = profile or dish_of_the_line()
        self.cooks: dict[str, Cook] = {}
        for place, scale in places.items():
            cook = Cook(built, scale, scale.division)
            post = Post(place, place if posted else None)
            cook.session = Session(built, scale.division, post=post)
            self.cooks[place] = cook

    def run(self) -> list[tuple[str, Command]]:
        """Do all errands until there are none, every build passed on as JSON; those done."""
        done: list[tuple[str, Command]] = []
        while todo := list(errands(self._sides)):
            assert len(done) < 100
            for name, command in todo:
                carried: Command = command
                if isinstance(command, Expect):
                    told = json.loads(json.dumps(asdict(command.transit)))
                    carried = Expect(parse_transit(told))
                    assert carried == command
                self.cooks[name].tell(carried)
            done += todo
        return done

    def lift(self, place: str) -> float:
        """Lift what stands on a scale; what it weighs."""
        load_g = self.cooks[place].lift()
        self.run()
        return load_g

    def set_down(self, place: str, load_g: float) -> Cook:
        """Set something down on a free scale."""
        cook = self.cooks[place].put(load_g).wait(1.0)
        self.run()
        return cook

    @property
    def _sides(self) -> list[OnLine]:
        return [OnLine(name, ("dish", "1"), cook.session) for name, cook in self.cooks.items()]
