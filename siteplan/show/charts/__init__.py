"""Charts and colours."""
