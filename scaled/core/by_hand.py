"""What becomes of a build when it is said to be so: by a key of the screen, or as it ended."""

from __future__ import annotations

from scaled.core.belief import Belief, Mode
from scaled.core.share import Share


def closed(build: Belief) -> Belief:
    """The open step closed, with nothing in it if that is so."""
    if build.gestures:
        return build.opened(build.ahead[:1])
    nothing = Share(build.group, 0.0, build.net_u_g, build.clear)
    done = build._replace(closed=(*build.closed, nothing), group=())
    return done.opened(build.ahead[:1])


def reopened(then: Belief, now: Belief) -> Belief:
    """The open step of an earlier moment, with all that came since counted into it."""
    here = then.rezeroed(now.zero_g).at(now.level_g, now.level_u_g)
    return here._replace(gestures=then.gestures + 1, ended=None, coming=now.coming)


def joined_back(build: Belief) -> Belief:
    """The open step not begun at all: what is in it belongs to the one closed last."""
    last = build.closed[-1]
    return build._replace(
        group=last.group,
        ahead=tuple(sorted((*build.group, *build.ahead))),
        start_g=build.start_g - last.net_g,
        gestures=build.gestures + 1,
        clear=build.clear and last.clear,
        closed=build.closed[:-1],
    )


def emptied(build: Belief) -> Belief:
    """The build reported and forgotten; if it still stands on the pan it means nothing."""
    nothing = build.bare(build.zero_g, build.level_u_g)
    if build.mode is not Mode.ON:
        return nothing
    return nothing._replace(mode=Mode.REPORTED, level_g=build.level_g)
