"""The slice *Supply* under costs and plans: when bottles run out, the tiers of a shortage, and a collector's shifts."""
