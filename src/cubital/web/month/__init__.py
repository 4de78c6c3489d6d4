"""The slice of the page *This month*: the sentence, what stands beside it, every set behind it."""
