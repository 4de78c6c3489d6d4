"""The slice for costs and plans: is it worth it, what does one contaminated set cost, and what leaves of it."""
