"""Cubital: how blood is collected for culture, from the laboratory's file to the sentence for the meeting."""

__version__ = "0.1.0"
