"""The slice for receipts: keep one for an answer on a page, and compute what left again from its code."""
