"""Speed and memory, measured as ratios within one run. See ``python -m bench --help``."""
