"""The slice for the diary: what changed, where and when; corrected and withdrawn without writing over. Private."""
