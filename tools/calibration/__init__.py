"""Simulations that hold what Cubital says about chance against chance itself."""
