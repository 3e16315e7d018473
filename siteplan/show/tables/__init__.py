"""plan.json and the tables."""
