"""The printable work sheet."""
