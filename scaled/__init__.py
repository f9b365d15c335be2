"""Build-check station: a kitchen scale followed step by step against a build profile."""
