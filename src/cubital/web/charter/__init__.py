"""The slice of the page *Charter*: the definitions side by side, the chosen one, its signatures."""
