"""What the property is: its features, its frame, its ground."""
