"""What stands on the ground of a map: walls, towers, trees, street life, wagons."""
