"""The slice for people who have only month, sets and contaminated: the same answer from counts alone."""
