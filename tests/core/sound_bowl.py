"""A profile that no check finds anything in, to be spoilt one way at a time."""

from __future__ import annotations

from collections.abc import Sequence

from scaled.core.finding import Finding
from scaled.core.profile import BuildProfile, parse_profile

SOUND = """
schema = 1
id = "test-bowl"
title = "Test bowl"
revision = "1"

[container]
name = "bowl"
tare = "18 g"
brimful = "300 mL"

[[step]]
id = "barley"
ingredient = "barley"
target = "118 g"
under = "8 g"
over = "8 g"
scoops = 3
tool = { kind = "disher", number = 16, fill = "level" }
density = "0.66 g/mL"
position = "hot line"
allergens = ["gluten"]

[[step]]
id = "sauce"
ingredient = "sauce"
target = "30 g"
under = "4 g"
over = "4 g"
tool = { kind = "ladle", volume = "1 fl oz" }
density = "1.03 g/mL"
position = "hot line"

[[step]]
id = "seeds"
ingredient = "seeds"
target = "8 g"
under = "3 g"
over = "3 g"
tool = { kind = "fingers" }
density = "0.55 g/mL"
position = "cold line"

[finished]
weight = "156 g"
under = "10 g"
over = "11 g"

[[confirm]]
id = "allergens"
ask = "Allergen note read"
"""


def sound(*changes: tuple[str, str]) -> BuildProfile:
    text = SOUND
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return parse_profile(text, "bowl.toml")


def at(findings: Sequence[Finding], where: str) -> list[str]:
    return [str(finding) for finding in findings if finding.where == where]
