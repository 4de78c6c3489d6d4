"""The slice of the page *People*: private, opened on purpose, for support only."""
