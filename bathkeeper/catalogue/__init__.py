"""Data, not code: recipes, reagents and methods as TOML, with a source or a status beside every number."""
