"""The shapes that both the map and the work sheet draw."""
