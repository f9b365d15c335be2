"""A cook on a scripted scale who does what the live state asks for, whatever happens to him."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.command import Next, Undo
from scaled.core.live import Ask
from tests.core.scripted import BOWL_G, STEPS, dish

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from scaled.core.live import Live
    from tests.core.scripted import Cook

OFF: Final = 1.07
"""What this cook adds or takes is so much more than he was asked for."""
MOST: Final = 40
"""Looks at the screen; a build that takes more is led in circles."""
PATIENCE_S: Final = 20.0
READS_S: Final = 0.8


class LedCook:
    """Builds one dish as he is told.

    Args:
        cook: Has the scale and shows it to a session.

    Attributes:
        net_g: What each step truly holds.
        in_hand: Whether he holds the bowl.
    """

    def __init__(self, cook: Cook) -> None:
        self.cook = cook
        self.net_g = dict.fromkeys(STEPS, 0.0)
        self.in_hand = True
        self._goals = {step.id: step for step in dish().steps}

    def build(self, mishaps: Mapping[int, Callable[[LedCook], None]]) -> Live:
        """Do what is asked until the build may go, with mishaps instead of the answers numbered.

        Returns:
            What the screen said last; it asks to take the build away, or for the next container.
        """
        self.cook.wait(2.0)
        for look in range(MOST):
            now = self._read()
            if look in mishaps:
                mishaps[look](self)
            elif self._is_over(now):
                self.take_off()
                self.cook.wait(6.0)
                return now
            else:
                self._obey(now)
        raise AssertionError(f"led in circles: {self.cook.live.ask}")

    def set_down(self) -> None:
        """The bowl with all that is in it."""
        self.cook.put(BOWL_G + sum(self.net_g.values()), pause_s=0.0)
        self.in_hand = False

    def take_off(self) -> None:
        """The same off again."""
        self.cook.put(-BOWL_G - sum(self.net_g.values()), pause_s=0.0)
        self.in_hand = True

    def add(self, step: str, amount_g: float) -> None:
        """Of one step, below 0 to take some back; never more than there is."""
        amount_g = max(amount_g, -self.net_g[step])
        self.net_g[step] += amount_g
        self.cook.put(amount_g, pause_s=0.0)

    def outside(self) -> dict[str, float]:
        """Steps that hold too much or too little, with how much."""
        off_g = {
            step: self.net_g[step] - float(goal.target_g) for step, goal in self._goals.items()
        }
        return {
            step: by_g
            for step, by_g in off_g.items()
            if not -float(self._goals[step].under_g) <= by_g <= float(self._goals[step].over_g)
        }

    def _read(self) -> Live:
        """Look until the screen asks for one thing for long enough to be read."""
        asked, since_s = self.cook.live.ask, self.cook.scale.t
        until_s = since_s + PATIENCE_S
        while asked is Ask.WAIT or self.cook.scale.t - since_s < READS_S:
            assert self.cook.scale.t < until_s, f"left standing before {asked}"
            self.cook.wait(0.1)
            if self.cook.live.ask is not asked:
                asked, since_s = self.cook.live.ask, self.cook.scale.t
        return self.cook.live

    def _is_over(self, now: Live) -> bool:
        full = all(net_g > 0 for net_g in self.net_g.values())
        return now.ask is Ask.LIFT or (now.ask is Ask.PLACE and full)

    def _obey(self, now: Live) -> None:
        if now.ask in {Ask.PLACE, Ask.RETURN}:
            if not self.in_hand:
                self.take_off()
                self.cook.wait(2.0)
            self.set_down()
            return
        assert not self.in_hand, f"nothing is on the pan: {now.ask}"
        step = now.next_step if now.ask is Ask.NEXT else now.step
        assert step is not None
        match now.ask:
            case Ask.CHECK:
                self.cook.tell(Next() if self.net_g[step] else Undo())
            case Ask.TAKE_BACK:
                self.add(step, -OFF * now.amount_g)
            case Ask.ADD:
                self.add(step, OFF * now.amount_g / now.scoops)
            case Ask.NEXT:
                goal = self._goals[step]
                self.add(step, OFF * float(goal.target_g) / goal.scoops)
