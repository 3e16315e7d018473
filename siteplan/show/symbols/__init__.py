"""What map and work sheet draw alike."""
