"""Which picture lies under the drawing, and where? A photo, a scanned sketch, or one that knows its place."""
