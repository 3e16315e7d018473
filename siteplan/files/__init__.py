"""How a site is read and kept."""
