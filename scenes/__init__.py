"""Demo scenes, shipped as data: one TOML file each."""
