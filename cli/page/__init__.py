"""The page of a pack: HTML and SVG drawn from its document, self-contained."""
