"""The things a scene file can name; each module registers its kinds."""

from importlib import import_module

__all__ = ["MODULES", "load_kinds"]

#: Modules that register kinds.
MODULES = (
    *("solids", "houses.house", "plants", "people", "busts", "street"),
    *("vehicles.cars", "vehicles.heavy", "vehicles.buses", "vehicles.bicycles"),
    *("boats", "play", "roadway", "rails", "waving"),
    *("indoors.rooms", "indoors.tools", "indoors.furniture", "indoors.pictures"),
    "indoors.halls",
    *("outdoors.beach", "outdoors.harbour", "outdoors.snow", "outdoors.sport"),
    *(
        "outdoors.camp",
        "outdoors.freight",
        "outdoors.fairs",
        "outdoors.company",
        "outdoors.tracks",
        "outdoors.yards",
    ),
)


def load_kinds() -> None:
    """Make every kind known."""
    for module in MODULES:
        import_module(f"render.world.things.{module}")
