"""Where something is wrong in a file, spelt as its author sees it."""

from __future__ import annotations

from typing import Annotated

import pytest
from pydantic import BaseModel, StringConstraints, ValidationError

from scaled.core.profile_error import explain


class Words(BaseModel):
    words: dict[Annotated[str, StringConstraints(max_length=2)], str]


def test_a_key_of_the_authors_own_is_named_by_itself() -> None:
    data = {"words": {"long": "stable"}}
    with pytest.raises(ValidationError) as raised:
        Words.model_validate(data)
    assert explain(raised.value, data, {(): Words})[0] == "words, long"
