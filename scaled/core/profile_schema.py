"""The build profile's contract as JSON Schema, for editors."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic.json_schema import GenerateJsonSchema

from scaled.core.profile import BuildProfile

if TYPE_CHECKING:
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import core_schema


class _TomlSchema(GenerateJsonSchema):
    """TOML has no null: an optional key is left out, never written empty."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        if schema.get("default", ...) is None:
            return self.generate_inner(schema["schema"])
        return super().default_schema(schema)


def profile_schema() -> dict[str, Any]:
    """The contract as JSON Schema (draft 2020-12), keys as the author writes them."""
    return {
        "$schema": _TomlSchema.schema_dialect,
        **BuildProfile.model_json_schema(by_alias=True, schema_generator=_TomlSchema),
        "title": "Build profile",
    }
