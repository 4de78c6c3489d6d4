"""The slice *Look closer*: places, hours, sites and roles side by side, small counts hidden, sets one click away."""
