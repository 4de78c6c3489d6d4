"""The slice *Papers*: everything that can be printed or saved, the committee's pack, its minute, the log of actions."""
