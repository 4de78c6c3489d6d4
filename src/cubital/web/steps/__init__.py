"""The slice for looking closer at how: watched draws, fair comparisons, hours of the week."""
