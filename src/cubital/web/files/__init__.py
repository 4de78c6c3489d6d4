"""The slice of the page *Files*: what came in, what it was read as, what became of every row."""
