"""Small counts identify people: which cells of a table may be shown, so that nothing hidden can be worked out again."""
