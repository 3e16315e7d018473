"""What is said, and how it reaches a page safely."""
