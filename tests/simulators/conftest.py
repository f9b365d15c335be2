"""A profile that shows all a cook must know."""

from __future__ import annotations

import pytest

RECIPE = """
schema = 1
id = "test-bowl"
title = "Test bowl"
revision = "1"

[container]
name = "bowl"
tare = "20 g"
tare_tolerance = "2 g"

[[step]]
id = "grain"
ingredient = "grain"
target = "120 g"
under = "8 g"
over = "9 g"
scoops = 3
position = "hot"

[[step]]
id = "sauce"
ingredient = "sauce"
target = "2 oz"
position = "hot"

[[step]]
id = "leaves"
ingredient = "leaves"
target = "0.03 kg"
tool = { kind = "fingers" }
position = "cold"

[[step]]
id = "seeds"
ingredient = "seeds"
target = "0.02 lb"
tool = { kind = "fingers" }
position = "cold"
"""


@pytest.fixture(scope="session")
def recipe_text() -> str:
    return RECIPE
