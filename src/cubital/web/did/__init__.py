"""The slice *Did it work?*: a change in the diary, a day and a place, or a table that is not kept. Private."""
