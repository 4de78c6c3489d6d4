"""Builders of the reference pages, one module per page or two."""
