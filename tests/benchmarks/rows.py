"""The rows of the comparison table: what each shows of a method's figures."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from statistics import median, quantiles
from typing import Final

from tests.benchmarks.happenings import Fate, Happening
from tests.benchmarks.measure import Figures, Method
from tests.benchmarks.score import WRONG

Values = tuple[float, ...]
"""One number, or two that belong together; NaN where there is nothing to count."""

ONLINE: Final = (Method.ENGINE, Method.RULE, Method.ORACLE)
TOLD_BY: Final = (Method.ENGINE, Method.RULE, Method.SEGMENTS)


@dataclass(frozen=True)
class Row:
    """One row.

    Attributes:
        name: Its title.
        values: What it shows of a method's figures.
        digits: Decimals shown.
        methods: Those it makes sense for.
        coarse: It counts divisions from 0.5 g on only.
    """

    name: str
    values: Callable[[Figures], Values]
    digits: int = 1
    methods: Collection[Method] = tuple(Method)
    coarse: bool = False

    def text(self, figures: Figures) -> str:
        """The figures as the row shows them."""
        return pair_text(self.values(figures), self.digits)

    def ratio(self, engine: Figures, rule: Figures) -> str:
        """This engine's figures over the rule's."""
        if Method.RULE not in self.methods:
            return "-"
        pairs = zip(self.values(engine), self.values(rule), strict=True)
        return pair_text([a / b if b else math.nan for a, b in pairs], 2)


def pair_text(values: Sequence[float], digits: int) -> str:
    """Numbers side by side, a dash where there is none."""
    return " / ".join("-" if math.isnan(v) else f"{v:.{digits}f}" for v in values)


def middle_and_tail(numbers: Sequence[float]) -> Values:
    """Median and 95th percentile."""
    if len(numbers) < 2:
        return math.nan, math.nan
    return median(numbers), quantiles(numbers, n=20)[-1]


def rms(numbers: Sequence[float]) -> float:
    """Root of the mean square."""
    return math.sqrt(math.fsum(n * n for n in numbers) / len(numbers)) if numbers else math.nan


def beyond_2u(errors_u: Sequence[float]) -> float:
    """Per cent of errors larger than two standard uncertainties; about 5 when they are honest."""
    return per_cent(sum(abs(error) > 2 for error in errors_u), len(errors_u))


def per_cent(part: float, whole: float) -> float:
    """A share in per cent."""
    return 100 * part / whole if whole else math.nan


def _steps(*outcomes: str) -> Callable[[Figures], Values]:
    return lambda f: (
        per_cent(sum(f.outcomes[outcome] for outcome in outcomes), f.outcomes.total()),
    )


def _fit(f: Figures) -> Values:
    steps = f.fit.total()
    unsure = per_cent(f.fit["unsure"] + f.fit["joint"], steps)
    return unsure, per_cent(sum(f.fit[outcome] for outcome in WRONG), steps)


def _judged(f: Figures) -> Values:
    steps = f.outcomes.total()
    return per_cent(f.misjudged["false pass"], steps), per_cent(f.misjudged["false fail"], steps)


def _fates(kind: Happening) -> Callable[[Figures], Values]:
    def values(f: Figures) -> Values:
        total = sum(f.fates[kind, fate] for fate in Fate)
        seen, overlooked = f.fates[kind, Fate.RECOGNISED], f.fates[kind, Fate.OVERLOOKED]
        return per_cent(seen, total), per_cent(overlooked, total)

    return values


SETTLED: Final = Row(
    "rest told after display still, s", lambda f: middle_and_tail(f.rests.delays_s), 2, ONLINE
)
MISSED: Final = Row(
    "rests missed, %",
    lambda f: (per_cent(f.rests.asked - len(f.rests.delays_s), f.rests.asked),),
)
FALSE: Final = Row("false rests, % of told", lambda f: (per_cent(f.rests.false, f.rests.told),))
LEVEL: Final = Row(
    "level off, told / booked, rms d",
    lambda f: (rms(f.rests.errors_d), rms(f.rests.booked_d)),
    2,
    coarse=True,
)
ROUGH: Final = Row(
    "rough weight told after still, s",
    lambda f: middle_and_tail(f.rough.delays_s),
    2,
    (Method.ENGINE,),
)
BEYOND: Final = Row(
    "level beyond 2 u, told / booked, %",
    lambda f: (beyond_2u(f.rests.errors_u), beyond_2u(f.rests.booked_u)),
    methods=(Method.ENGINE,),
)
ROUGH_BEYOND: Final = Row(
    "rough weight beyond 2 u, %",
    lambda f: (beyond_2u(f.rough.errors_u),),
    methods=(Method.ENGINE,),
)
RIGHT: Final = Row("steps right, %", _steps("right", "borderline"))
UNSURE: Final = Row("steps unsure or joint, %", _steps("unsure", "joint"))
WORDLESS: Final = Row("steps without a word, %", _steps("missed"))
FALSEHOODS: Final = Row("steps wrong, %", _steps(*WRONG), 2)
FIT: Final = Row("where fit for the scale: unsure / wrong, %", _fit, 2)
WRONG_BUILDS: Final = Row(
    "builds with a wrong step, %", lambda f: (per_cent(f.wrong_builds, f.builds),)
)
JUDGED: Final = Row("false pass / false fail, % of steps", _judged, 2)

ROWS: Final = (
    SETTLED,
    ROUGH,
    Row(
        "final weight shown after still, s",
        lambda f: middle_and_tail(f.shown_s),
        2,
        (Method.ENGINE,),
    ),
    MISSED,
    FALSE,
    LEVEL,
    BEYOND,
    ROUGH_BEYOND,
    RIGHT,
    UNSURE,
    WORDLESS,
    FALSEHOODS,
    FIT,
    WRONG_BUILDS,
    JUDGED,
    *(Row(f"{kind} seen / overlooked, %", _fates(kind), methods=TOLD_BY) for kind in Happening),
    Row(
        "such events uncaused, per 100 builds",
        lambda f: (per_cent(f.uncaused, f.builds),),
        methods=TOLD_BY,
    ),
)
CELL_ROWS: Final = (
    SETTLED, ROUGH, MISSED, FALSE, LEVEL, BEYOND, ROUGH_BEYOND,
    RIGHT, UNSURE, WORDLESS, FALSEHOODS, FIT, JUDGED,
)  # fmt: skip
"""What is shown of this engine cell by cell."""
