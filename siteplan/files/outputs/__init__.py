"""Where do the answers go, and what of hers may never be touched? See `output`."""
