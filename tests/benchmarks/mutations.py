"""What becomes of damaged frames, per wire format.

    python -m tests.benchmarks.mutations

Every frame of every capture, with every damage at every place, between whole frames.
"changed" were read as another weight, unit or mark: nothing in such a frame tells.
"""

from __future__ import annotations

from tests.drivers.capturing import names
from tests.drivers.mutation import run


def main() -> None:
    row = "{:<18}{:>8}{:>9}{:>7}{:>9}  {}"
    print(row.format("format", "cases", "dropped", "same", "changed", "by what"))
    cases = 0
    for name in names():
        found = run(name)
        cases += found.cases
        by = ", ".join(f"{kind} {count}" for kind, count in found.changed.most_common())
        numbers = (found.cases, found.dropped, found.same, found.changed.total())
        print(row.format(name, *numbers, by or "-"))
    print(f"{cases} cases")


if __name__ == "__main__":
    main()
