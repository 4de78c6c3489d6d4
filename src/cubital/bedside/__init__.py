"""At the bedside: volumes, split, fill line, label, timers, next step. Pure functions of an approved policy.

Nothing here stores anything, and nothing gives a number that an approved, in-date policy does not cover.
"""
