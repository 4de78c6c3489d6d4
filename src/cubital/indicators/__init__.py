"""Judged counts become figures: exact numerators, denominators, definitions and intervals."""
