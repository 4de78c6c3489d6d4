"""The use cases, and the only code that changes stored state: one transaction each, arguments by keyword."""
